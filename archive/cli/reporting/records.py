"""A record with everything that is known of it, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import get_args

import click

from archive.cli.printing import Line, print_lines
from archive.cli.reporting.sheets import tell_by_hand, tell_head
from archive.records import Entry, PairCount, Pattern, Source, Thread
from archive.records.measurement import SYMMETRIES
from archive.records.rights import Part
from archive.vocabulary import families, kinds, levels, rights, techniques


def print_entry(entry: Entry) -> None:
    """Print everything that is known of a record."""
    click.echo(f"{entry.shelfmark}  {entry.heading}")
    print_lines(_entry_lines(entry))
    for correction in entry.corrections:
        when = f" ({correction.date})" if correction.date else ""
        click.echo(f"\nCORRECTION{when}: {correction.fault} {correction.remedy}".rstrip())
    if entry.working_notes:
        click.echo("\nWorking notes")
        for number, note in enumerate(entry.working_notes, start=1):
            mark = "Easily wrong: " if note.about == "easily wrong" else ""
            click.echo(click.wrap_text(mark + note.text, 88, f"{number:>3}. ", "     "))
    if entry.unparsed:
        click.echo("\nKept as written, not understood")
        for kept in entry.unparsed:
            click.echo(click.wrap_text(kept.words, 88, f"  {kept.field}: ", "      "))


def _entry_lines(entry: Entry) -> Iterator[Line]:
    yield "also called", "; ".join(entry.other_titles)
    yield "family", ", ".join(families()[family].name for family in entry.families)
    yield "kind", kinds()[entry.kind].name if entry.kind else ""
    for role in ("taught", "practised", "optional"):
        used = [techniques()[use.technique].name for use in entry.techniques if use.role == role]
        yield role, ", ".join(used)
    yield "pairs", _tell_pairs(entry)
    yield "gimps", _tell_gimps(entry)
    for thread in entry.threads:
        yield "thread", _tell_thread(thread)
    yield "difficulty", tell_difficulty(entry)
    yield "width", _mm(entry.size.width_mm)
    yield "length", _mm(entry.size.length_mm)
    yield "repeat", _mm(entry.size.repeat_mm)
    yield "corner", {True: "yes", False: "no", None: ""}[entry.corner]
    yield "designer", entry.designer.name or entry.designer.status
    yield "source", _tell_source(entry.source)
    yield "period", entry.period
    yield "material", entry.material
    for relation in entry.related:
        yield relation.kind, relation.shelfmark
    yield from _rights_lines(entry)
    for attachment in entry.attachments:
        yield attachment.role, attachment.file_name
    yield from _measured_lines(entry)
    yield "condition", entry.condition.state
    yield "place (internal)", entry.internal.location
    yield "donor (internal)", entry.internal.donor
    yield "provenance (internal)", entry.internal.provenance
    yield "valuation (internal)", entry.internal.valuation
    yield "notes (internal)", entry.internal.private_notes


def _tell_source(source: Source) -> str:
    page = f"p. {source.page}" if source.page[:1].isdigit() else source.page
    return ", ".join(filter(None, (source.title, source.edition, source.issue, page)))


def _rights_lines(entry: Entry) -> Iterator[Line]:
    parts = {part: getattr(entry.rights, part) for part in get_args(Part)}
    if not any(parts.values()):
        yield "rights", "Nobody has looked into them: ask before copying."
    for part, right in parts.items():
        if right is not None:
            statement = rights()[right.statement]
            held = f"{statement.name}, {right.holder}" if right.holder else statement.name
            yield (
                f"rights, {part.replace('_', ' ')}",
                f"{held.removesuffix('.')}. {statement.plain}",
            )


def _measured_lines(entry: Entry) -> Iterator[Line]:
    measured = entry.measured
    if measured is None:
        return
    yield (
        "measured",
        f"{measured.pins} pinholes"
        + (
            f", {_mm(measured.width_mm)} wide, {_mm(measured.length_mm)} long"
            if measured.width_mm and measured.length_mm
            else ""
        ),
    )
    if measured.ground_angle_deg is not None:
        spread = measured.ground_angle_sd_deg
        yield (
            "ground angle",
            f"{measured.ground_angle_deg:.1f}° from the footside"
            + (f" (± {max(spread, 0.1):.1f}°)" if spread is not None else ""),
        )
    yield "foot pitch", _mm(measured.foot_pitch_mm, digits=2)
    yield "repeat, measured", _mm(measured.repeat_mm)
    if measured.symmetry is not None:
        yield "symmetry", f"{SYMMETRIES[measured.symmetry]} ({measured.symmetry})"
    if measured.scallops is not None and measured.head_pins is not None:
        yield "headside", tell_head(measured.scallops, measured.head_pins)
    if measured.like_parts is not None:
        yield "round", f"{measured.like_parts} like parts about a centre"
    if measured.pins_per_10cm is not None:
        yield "effort", f"{measured.pins_per_10cm:.0f} pins in 10 cm of lace"
    if measured.by_hand is not None:
        yield "by hand", tell_by_hand(measured.by_hand)
    if measured.doubts:
        yield "to look at", f"{measured.doubts} places where a hole seems missing, extra or off"


def _tell_pairs(pattern: Pattern) -> str:
    """The pairs, each kind of number named for what it is."""
    told = []
    if pattern.pairs.counted is not None:
        told.append(f"{_tell_count(pattern.pairs.counted)} counted")
    if pattern.pairs.stated is not None:
        told.append(f"{_tell_count(pattern.pairs.stated)} stated")
    if (estimate := pattern.pairs.estimated) is not None:
        told.append(f"about {estimate.value} estimated ({estimate.low} to {estimate.high})")
    return "; ".join(told)


def _tell_count(count: PairCount) -> str:
    if count.start is not None and count.most not in (None, count.start):
        told = f"{count.start} at the start, {count.most} at most"
    else:
        told = count.words if count.needed is None else str(count.needed)
    if count.corner_extra:
        told += f" (+{count.corner_extra} for the corner)"
    return ("about " if count.about else "") + told


def tell_difficulty(pattern: Pattern) -> str:
    """The difficulty as stated, and the level it stands for."""
    stated, level = pattern.difficulty.stated, pattern.difficulty.level
    if level is None:
        return stated
    name = levels()[str(level)].name
    told = f"{level} of 5, {name}"
    return told if stated in ("", str(level), name) else f"{stated} ({told})"


def _tell_gimps(pattern: Pattern) -> str:
    if pattern.gimps is None:
        return ""
    told = []
    if pattern.gimps.singles:
        told.append(f"{pattern.gimps.singles} single")
    if pattern.gimps.pairs:
        told.append(f"{pattern.gimps.pairs} in pairs")
    return ", ".join(told) or "none"


def _tell_thread(thread: Thread) -> str:
    wraps = f", {thread.wraps_per_cm:g} wraps per cm" if thread.wraps_per_cm else ""
    return thread.label + wraps + (f" ({thread.use})" if thread.use else "")


def _mm(length: float | None, digits: int = 1) -> str:
    return "" if length is None else f"{length:.{digits}f} mm"
