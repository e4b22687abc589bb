"""The public fields of the records as plain data, for other programs and later readers.

A list of what may go out: a field that is not named here stays in the collection.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from archive.records import Entry, PairCount, Right
from archive.vocabulary import rights

_to_json = json.JSONEncoder(ensure_ascii=False).encode


def public_record(entry: Entry) -> dict[str, Any]:
    """The fields of a record that may be published, without those that say nothing."""
    told: dict[str, Any] = {
        "shelfmark": entry.shelfmark,
        "title": entry.title,
        "other_titles": list(entry.other_titles),
        "families": list(entry.families),
        "kind": entry.kind,
        "techniques": [{"technique": use.technique, "role": use.role} for use in entry.techniques],
        "pairs": _without_empty(
            {
                "stated": _pairs(entry.pairs.stated),
                "counted": _pairs(entry.pairs.counted),
                "estimated": entry.pairs.estimated
                and {
                    "value": entry.pairs.estimated.value,
                    "low": entry.pairs.estimated.low,
                    "high": entry.pairs.estimated.high,
                },
            }
        ),
        "gimps": entry.gimps and {"singles": entry.gimps.singles, "pairs": entry.gimps.pairs},
        "threads": [
            _without_empty(
                {
                    "label": thread.label,
                    "system": thread.system,
                    "count": thread.count,
                    "plies": thread.plies,
                    "fibre": thread.fibre,
                    "use": thread.use,
                    "wraps_per_cm": thread.wraps_per_cm,
                }
            )
            for thread in entry.threads
        ],
        "difficulty": _without_empty(
            {"stated": entry.difficulty.stated, "level": entry.difficulty.level}
        ),
        "size": _without_empty(
            {
                "width_mm": entry.size.width_mm,
                "length_mm": entry.size.length_mm,
                "repeat_mm": entry.size.repeat_mm,
            }
        ),
        "corner": entry.corner,
        "designer": _without_empty(
            {
                "status": entry.designer.status,
                "name": entry.designer.name,
                "evidence": entry.designer.evidence,
            }
        ),
        "source": _without_empty(
            {
                "title": entry.source.title,
                "edition": entry.source.edition,
                "page": entry.source.page,
                "issue": entry.source.issue,
            }
        ),
        "period": entry.period,
        "material": entry.material,
        "related": [
            {"kind": relation.kind, "shelfmark": relation.shelfmark} for relation in entry.related
        ],
        "working_notes": [{"about": note.about, "text": note.text} for note in entry.working_notes],
        "corrections": [
            _without_empty(
                {
                    "fault": found.fault,
                    "remedy": found.remedy,
                    "date": found.date.isoformat() if found.date else None,
                }
            )
            for found in entry.corrections
        ],
        "rights": _without_empty(
            {
                part: _right(getattr(entry.rights, part))
                for part in ("design", "working_up", "pricking", "photograph")
            }
        ),
        "measured": _measured(entry),
    }
    return _without_empty(told)


def record_line(entry: Entry) -> bytes:
    """The line of a record in `records.json`."""
    return _to_json(public_record(entry)).encode()


def records_file(lines: Iterable[bytes], name: str, holder: str) -> Iterator[bytes]:
    """`records.json`: a line for each public record, which plain tools can read and compare."""
    told = {"collection": name, "holder": holder}
    opening = json.dumps(told, ensure_ascii=False).removesuffix("}")
    yield opening.encode() + b', "records": [\n'
    between = b""
    for line in lines:
        yield between + line
        between = b",\n"
    yield b"\n]}\n"


def lines_of(file: Iterable[bytes]) -> Iterator[bytes]:
    """The lines that `records_file` was told."""
    return (line.rstrip(b",\n") for line in islice(file, 1, None) if line != b"]}\n")


def _measured(entry: Entry) -> dict[str, Any] | None:
    found = entry.measured
    if found is None:
        return None
    return _without_empty(
        {
            "pins": found.pins,
            "width_mm": found.width_mm,
            "length_mm": found.length_mm,
            "foot_side": found.foot_side,
            "foot_pitch_mm": found.foot_pitch_mm,
            "ground_angle_deg": found.ground_angle_deg,
            "ground_angle_sd_deg": found.ground_angle_sd_deg,
            "repeat_mm": found.repeat_mm,
            "repeat_rows": found.repeat_rows,
            "symmetry": found.symmetry,
            "head_pins": found.head_pins,
            "scallops": found.scallops,
            "like_parts": found.like_parts,
            "pins_per_10cm": found.pins_per_10cm,
            "wraps_per_cm_low": found.wraps_per_cm_low,
            "wraps_per_cm_high": found.wraps_per_cm_high,
            "doubts": found.doubts,
        }
    )


def _pairs(count: PairCount | None) -> dict[str, Any] | None:
    if count is None:
        return None
    return _without_empty(
        {
            "start": count.start,
            "most": count.most,
            "corner_extra": count.corner_extra,
            "about": count.about or None,
            "words": count.words,
        }
    )


def _right(right: Right | None) -> dict[str, Any] | None:
    if right is None:
        return None
    return _without_empty(
        {
            "statement": right.statement,
            "uri": rights()[right.statement].uri,
            "holder": right.holder,
            "basis": right.basis,
        }
    )


def _without_empty(told: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in told.items() if value not in (None, "", [], {})}
