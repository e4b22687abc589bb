"""What the cells of each field do for a record: how they are read and where the value goes.

A record is filled as plain data and validated once, when its row is complete.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from archive.lists.amounts import (
    GimpsCell,
    PairsCell,
    length_reader,
    read_bobbins,
    read_difficulty,
    read_gimps,
    read_pair_number,
    read_pairs,
    read_size,
    read_wraps_per_cm,
)
from archive.lists.cells import (
    CellReader,
    Reading,
    read_date,
    read_yes_no,
)
from archive.lists.headings import Column
from archive.lists.lacework import (
    TechniquesCell,
    read_families,
    read_kind,
    techniques_reader,
    threads_reader,
    use_of,
)
from archive.lists.problems import remark
from archive.lists.texts import (
    read_condition,
    read_corrections,
    read_designer,
    read_relations,
    read_right,
    read_source,
    working_notes_reader,
)
from archive.records import Gimps, PairCount, Right, UnparsedNote
from archive.records.faults import tell_fault

R = TypeVar("R", bound=BaseModel)

Draft = dict[str, Any]
"""The fields of one record so far, as plain data or as finished parts of a record."""

Put = Callable[[Draft, Any], bool]
"""Puts a value into the draft; False if another cell has said something else before."""

LINE, TEXT = 500, 20_000
"""Most characters of a field of one line and of a field of text, as the records have them."""

WHOLE_SHEET = ("design", "working_up", "pricking")
"""The rights that a list speaks of where it has a single column for them."""


@dataclass(frozen=True)
class Filling:
    """How a field is filled.

    Attributes:
        reader: Reads a cell of usual length.
        put: Puts its value into the draft.
        most: Most characters of a cell.
        takes_days: Whether a day that the spreadsheet holds as a date is meant as one.
    """

    reader: CellReader
    put: Put
    most: int = TEXT
    takes_days: bool = False

    def read(self, words: str) -> Reading[Any]:
        """What the words say; never fails."""
        if len(words) > self.most:
            return Reading(None, (remark("too-long", words, kept=words, most=str(self.most)),))
        try:
            return self.reader(words)
        except ValidationError as fault:
            limit = tell_fault(fault.errors()[0])
            return Reading(None, (remark("out-of-range", words, kept=words, limit=limit),))


def filling_for(column: Column) -> Filling:
    """How the column's field is filled; KeyError if `column` has no field of a record."""
    if column.unit_mm is not None:
        return _filling_of_length(column.field or "", column.unit_mm)
    return _FILLINGS[column.field or ""]


def _words(text: str) -> Reading[str]:
    return Reading(text.strip())


def _titles(text: str) -> Reading[tuple[str, ...]]:
    return Reading(tuple(title.strip() for title in text.split(";") if title.strip()))


def _one(name: str) -> Put:
    def put(draft: Draft, value: Any) -> bool:
        known = draft.setdefault(name, value)
        return known is value or bool(known == value)

    return put


def _part(group: str, name: str) -> Put:
    def put(draft: Draft, value: Any) -> bool:
        parts = draft.get(group)
        if parts is None:
            draft[group] = {name: value}
            return True
        known = parts.setdefault(name, value)
        return known is value or bool(known == value)

    return put


def _parts(group: str) -> Put:
    def put(draft: Draft, value: dict[str, Any]) -> bool:
        parts = draft.get(group)
        if parts is None:
            draft[group] = {**value}
            return True
        agreed = [parts.setdefault(name, said) == said for name, said in value.items()]
        return all(agreed)

    return put


def _more(name: str) -> Put:
    def put(draft: Draft, value: tuple[Any, ...]) -> bool:
        known = draft.setdefault(name, value)
        if known is not value:
            draft[name] = known + tuple(one for one in value if one not in known)
        return True

    return put


def _joined(group: str, name: str) -> Put:
    def put(draft: Draft, value: str) -> bool:
        known = draft.setdefault(group, {})
        known[name] = f"{known[name]}\n{value}" if name in known else value
        return True

    return put


def _put_pairs(how: str) -> Put:
    put_count = _part("pairs", how)

    def put(draft: Draft, value: PairsCell) -> bool:
        agreed = put_count(draft, value.pairs)
        return _put_said_gimps(draft, value.gimps) and agreed

    return put


def _put_said_gimps(draft: Draft, gimps: Gimps | None) -> bool:
    return gimps is None or bool(draft.setdefault("gimps", gimps) == gimps)


def _put_gimps(draft: Draft, value: GimpsCell) -> bool:
    if value.used:
        return _put_uses(draft, TechniquesCell((use_of("gimp", "practised"),)))
    return _put_said_gimps(draft, value.gimps)


_RANK = {"taught": 0, "practised": 1, "optional": 2}


def _put_uses(draft: Draft, value: TechniquesCell) -> bool:
    """A technique that is named twice keeps its strongest role."""
    known = draft.get("techniques")
    if known is None:
        draft["techniques"] = value.uses
    else:
        roles = {use.technique: use for use in known}
        for use in value.uses:
            before = roles.get(use.technique)
            if before is None or _RANK[use.role] < _RANK[before.role]:
                roles[use.technique] = use
        draft["techniques"] = tuple(roles.values())
    return _put_said_gimps(draft, value.gimps)


def _put_rights(draft: Draft, value: Any) -> bool:
    return _parts("rights")(draft, dict.fromkeys(WHOLE_SHEET, value))


def complete(draft: Draft) -> None:
    """Bring what stands in columns of its own to the part of the record it belongs to."""
    if draft.get("kind") == "corner_edging":
        draft.setdefault("corner", True)
    if "corner_extra" in draft:
        pairs = draft.setdefault("pairs", {})
        stated = pairs.get("stated", PairCount())
        pairs["stated"] = _with(stated, corner_extra=draft.pop("corner_extra"))
    if "wraps_per_cm" in draft:
        _give_wraps(draft, draft.pop("wraps_per_cm"))
    if "right_details" in draft:
        _give_right_details(draft, draft.pop("right_details"))


def _give_wraps(draft: Draft, wraps_per_cm: float) -> None:
    """The wraps belong to the first thread, which is the one the lace is made of."""
    first, *others = draft.get("threads", (None,))
    if first is None:
        _keep(draft, "wraps per cm", f"{wraps_per_cm:g}")
    else:
        draft["threads"] = (_with(first, wraps_per_cm=wraps_per_cm), *others)


def _give_right_details(draft: Draft, details: dict[str, str]) -> None:
    """Holder, basis and letter hold for each of the row's rights that does not name its own."""
    named = draft.get("rights")
    if not named:
        for name, words in details.items():
            _keep(draft, f"rights {name.replace('_', ' ')}", words)
        return
    draft["rights"] = {
        part: Right.model_validate(details | right.model_dump(exclude_defaults=True))
        for part, right in named.items()
    }


def _with(record: R, **changes: Any) -> R:
    """The part of a record with some of its fields changed, validated anew."""
    return type(record).model_validate(record.model_dump(exclude_defaults=True) | changes)


def _keep(draft: Draft, field: str, words: str) -> None:
    draft["unparsed"] = (*draft.get("unparsed", ()), UnparsedNote(field=field, words=words))


def _filling_of_length(field: str, unit_mm: float | None) -> Filling:
    if field != "size":
        name = field.removeprefix("size.")
        return Filling(length_reader(unit_mm), _part("size", name), LINE)

    def read_sizes(text: str) -> Reading[dict[str, float]]:
        size, remarks = read_size(text, unit_mm=unit_mm)
        return Reading(size.model_dump(exclude_none=True) if size else None, remarks)

    return Filling(read_sizes, _parts("size"), LINE)


_FILLINGS: dict[str, Filling] = {
    "shelfmark": Filling(_words, _one("shelfmark")),
    "title": Filling(_words, _one("title"), LINE),
    "other_titles": Filling(_titles, _more("other_titles"), LINE),
    "families": Filling(read_families, _more("families")),
    "kind": Filling(read_kind, _one("kind")),
    "techniques": Filling(techniques_reader("practised"), _put_uses),
    "techniques.taught": Filling(techniques_reader("taught"), _put_uses),
    "techniques.practised": Filling(techniques_reader("practised"), _put_uses),
    "techniques.optional": Filling(techniques_reader("optional"), _put_uses),
    "pairs": Filling(read_pairs, _put_pairs("stated"), LINE),
    "pairs.counted": Filling(read_pairs, _put_pairs("counted"), LINE),
    "pairs.corner_extra": Filling(read_pair_number, _one("corner_extra"), LINE),
    "bobbins": Filling(read_bobbins, _put_pairs("stated"), LINE),
    "gimps": Filling(read_gimps, _put_gimps, LINE),
    "threads": Filling(threads_reader(None), _more("threads"), LINE),
    "threads.gimp": Filling(threads_reader("gimp"), _more("threads"), LINE),
    "wraps_per_cm": Filling(read_wraps_per_cm, _one("wraps_per_cm"), LINE),
    "difficulty": Filling(read_difficulty, _one("difficulty"), LINE),
    "size": _filling_of_length("size", None),
    "size.width_mm": _filling_of_length("size.width_mm", None),
    "size.length_mm": _filling_of_length("size.length_mm", None),
    "size.repeat_mm": _filling_of_length("size.repeat_mm", None),
    "corner": Filling(read_yes_no, _one("corner"), LINE),
    "designer": Filling(read_designer, _one("designer"), LINE),
    "source": Filling(read_source, _parts("source"), LINE),
    "source.edition": Filling(_words, _part("source", "edition"), LINE),
    "source.page": Filling(_words, _part("source", "page"), LINE),
    "source.issue": Filling(_words, _part("source", "issue"), LINE),
    "period": Filling(_words, _one("period"), LINE, takes_days=True),
    "material": Filling(_words, _one("material"), LINE),
    "related": Filling(read_relations, _more("related")),
    "working_notes": Filling(working_notes_reader("order"), _more("working_notes")),
    "working_notes.start": Filling(working_notes_reader("start"), _more("working_notes")),
    "working_notes.easily_wrong": Filling(
        working_notes_reader("easily wrong"), _more("working_notes")
    ),
    "working_notes.tip": Filling(working_notes_reader("tip"), _more("working_notes")),
    "corrections": Filling(read_corrections, _more("corrections")),
    "rights": Filling(read_right, _put_rights, LINE),
    "rights.design": Filling(read_right, _part("rights", "design"), LINE),
    "rights.working_up": Filling(read_right, _part("rights", "working_up"), LINE),
    "rights.pricking": Filling(read_right, _part("rights", "pricking"), LINE),
    "rights.photograph": Filling(read_right, _part("rights", "photograph"), LINE),
    "rights.holder": Filling(_words, _part("right_details", "holder"), LINE),
    "rights.basis": Filling(_words, _part("right_details", "basis"), 2000),
    "rights.permission_letter": Filling(_words, _part("right_details", "permission_letter"), 200),
    "condition": Filling(read_condition, _parts("condition"), LINE),
    "condition.checked": Filling(read_date, _part("condition", "checked"), LINE, takes_days=True),
    "internal.provenance": Filling(_words, _part("internal", "provenance")),
    "internal.donor": Filling(_words, _part("internal", "donor"), LINE),
    "internal.location": Filling(_words, _part("internal", "location"), LINE),
    "internal.valuation": Filling(_words, _part("internal", "valuation"), LINE),
    "internal.private_notes": Filling(_words, _joined("internal", "private_notes")),
}
