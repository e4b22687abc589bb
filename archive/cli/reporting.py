"""Records and measurements in words a librarian can read aloud."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import get_args

import click

from archive.cli.printing import counted
from archive.records import Entry, PairCount, Pattern, Source, Thread
from archive.records.byhand import tell_place
from archive.records.comparing import BENT, DOUBTED
from archive.records.measurement import (
    SYMMETRIES,
    MeasuredBend,
    MeasuredByHand,
    MeasuredEffort,
    MeasuredStretch,
    Measurement,
)
from archive.records.rights import Part
from archive.vocabulary import (
    LANGUAGES,
    Technique,
    Term,
    families,
    kinds,
    levels,
    rights,
    techniques,
)

Line = tuple[str, str]

_FOOT_SIDES = {
    "left": "on the left",
    "right": "on the right",
    "both": "on both sides",
    "none": "on neither side",
}


def print_lines(lines: Iterable[Line]) -> None:
    """Print labelled lines, the labels in a column of their own."""
    told = [(label, text) for label, text in lines if text]
    width = max((len(label) for label, _ in told), default=0)
    for label, text in told:
        click.echo(click.wrap_text(text, 88, f"{label:<{width}}  ", " " * (width + 2)))


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
    yield "pairs", tell_pairs(entry)
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
        yield "headside", _tell_head(measured.scallops, measured.head_pins)
    if measured.like_parts is not None:
        yield "round", f"{measured.like_parts} like parts about a centre"
    if measured.pins_per_10cm is not None:
        yield "effort", f"{measured.pins_per_10cm:.0f} pins in 10 cm of lace"
    if measured.by_hand is not None:
        yield "by hand", _tell_by_hand(measured.by_hand)
    if measured.doubts:
        yield "to look at", f"{measured.doubts} places where a hole seems missing, extra or off"


def tell_pairs(pattern: Pattern) -> str:
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


def print_measurement(measurement: Measurement) -> None:
    """Print a short report of a measured sheet, estimates marked as such."""
    print_lines(_measurement_lines(measurement))


def _measurement_lines(found: Measurement) -> Iterator[Line]:
    def length(mm: float | None, px: float | None, digits: int = 1) -> str:
        if mm is not None:
            return f"{mm:.{digits}f} mm"
        return "" if px is None else f"{px:.1f} pixels (the scale is not known)"

    if found.source is not None and found.source.pages > 1:
        yield "page", f"{found.source.page} of {found.source.pages}"
    yield "pinholes", str(found.pins.count)
    yield (
        "scale",
        {
            "embedded": "as the file says",
            "given": "as given",
            "drawing-units": "from the drawing's own units",
            "unknown": "not known: give --dpi to get millimetres",
        }[found.scale.how],
    )
    if found.extent_mm:
        yield "size", f"{found.extent_mm[0]:.1f} mm wide, {found.extent_mm[1]:.1f} mm long"
    if found.bend is not None:
        yield "sheet", _tell_bend(found.bend)
    foot = found.foot
    yield (
        "footside",
        ("none found" if foot.side == "none" else _FOOT_SIDES[foot.side])
        + (
            f", {foot.pins} pins, one every {length(foot.pitch_mm, foot.pitch_px, 2)}"
            if foot.side != "none" and foot.pitch_px
            else ""
        )
        + (
            "; one of them may be a straight headside, which the pins do not tell: if you know, "
            "say it with --foot"
            if foot.perhaps_head
            else ""
        ),
    )
    if found.ground is None:
        yield "ground", "no lattice found"
    else:
        yield (
            "ground",
            (
                f"{found.ground.angle_deg:.2f}° from the footside "
                f"(± {max(found.ground.angle_sd_deg, 0.01):.2f}°), "
                f"pitch {length(found.ground.pitch_mm, found.ground.pitch_px, 2)}; "
                f"{found.ground.share_on_lattice:.0%} of the pins stand on it"
            ),
        )
    if found.stretch is not None:
        yield "stretch", _tell_stretch(found.stretch)
    yield from _area_lines(found)
    if found.rings.four_pin or found.rings.six_pin:
        yield "rings", f"{found.rings.four_pin} of four pins, {found.rings.six_pin} of six"
    if found.repeat:
        rows = f", {counted(found.repeat.rows, 'row')}" if found.repeat.rows else ""
        yield (
            "repeat",
            (
                f"{length(found.repeat.length_mm, found.repeat.length_px)}{rows}, "
                f"{found.repeat.pins} pins, {found.repeat.count} on the sheet"
            ),
        )
        if found.repeat.symmetry:
            yield "symmetry", f"{SYMMETRIES[found.repeat.symmetry]} ({found.repeat.symmetry})"
    if found.round:
        parts, pins = found.round.parts, found.round.pins_per_part
        across = length(found.round.across_mm, found.round.across_px)
        yield "round", f"{parts} like parts about a centre, {pins} pins each; {across} across"
    if found.head:
        yield "headside", _tell_head(found.head.scallops_per_repeat, found.head.pins_per_repeat)
    if found.corner.present:
        yield "corner", "yes"
    if found.pairs:
        yield (
            "pairs",
            (
                f"about {found.pairs.estimate}, between {found.pairs.low} and {found.pairs.high}. "
                f"{' '.join(found.pairs.reasons)}"
            ),
        )
    if found.thread:
        yield (
            "thread",
            (
                f"{found.thread.wraps_per_cm_low:.0f} to {found.thread.wraps_per_cm_high:.0f} "
                f"wraps per cm. {found.thread.reason}"
            ),
        )
    if found.effort:
        yield "effort", _tell_effort(found.effort)
    if found.by_hand is not None:
        yield "by hand", _tell_by_hand(found.by_hand)
    for doubt in found.doubts:
        place = tell_place(doubt.x_px, doubt.y_px, found.scale.px_per_mm)
        yield "look at", f"{DOUBTED[doubt.kind]} at {place}"


def _tell_head(scallops: int, pins: int) -> str:
    """The headside, in one repeat."""
    shape = f"{counted(scallops, 'scallop')} a repeat" if scallops else "straight"
    outside = f"{counted(pins, 'pin')} a repeat outside" if pins else "no pins outside"
    return f"{shape}, {outside} the ground"


def _area_lines(found: Measurement) -> Iterator[Line]:
    kinds = [area.kind for area in found.areas]
    told = ", ".join(f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds))
    if "honeycomb net" in kinds:
        told += "; kat stitch is pricked in the same way: the holes do not tell which is worked"
    yield "areas", told
    opens = [area for area in found.areas if area.kind == "open"]
    if opens:
        told = f"{_range([area.pins for area in opens])} pins round each"
        sizes = [round(area.area_mm2) for area in opens if area.area_mm2 is not None]
        yield "open figures", told + (f", {_range(sizes)} mm² large" if sizes else "")


def _range(numbers: list[int]) -> str:
    low, high = min(numbers), max(numbers)
    return str(low) if low == high else f"{low} to {high}"


def _tell_effort(effort: MeasuredEffort) -> str:
    told = []
    if effort.pins_per_10cm is not None:
        told.append(f"{effort.pins_per_10cm:.0f} pins in 10 cm of lace.")
    if effort.pair_path_cm is not None:
        low, high = (
            f"{(bound or 0) / 100:.1f}"
            for bound in (effort.pair_path_cm_low, effort.pair_path_cm_high)
        )
        told.append(f"The pairs go about {effort.pair_path_cm / 100:.1f} m ({low} to {high} m).")
        told.append(effort.reason)
    return " ".join(told)


def _tell_bend(bend: MeasuredBend) -> str:
    ends = [
        (bend.down_percent, bend.down_sd_percent, "bottom", "top"),
        (bend.across_percent, bend.across_sd_percent, "right", "left"),
    ]
    changes = [
        f"{abs(change):.1f} % (± {sd:.2f}) larger at the {there} than at the {here}"
        for change, sd, *sides in ends
        for there, here in [sides if change > 0 else reversed(sides)]
        if abs(change) >= 0.05
    ]
    slant = "" if bend.kind == "cockled" else f"; the scan is {' and '.join(changes)}"
    return (
        f"{BENT[bend.kind]}{slant}. It was measured as if made flat: lengths are those of its "
        f"middle, on the scan they run from {-bend.smallest_percent:.1f} % less to "
        f"{bend.largest_percent:.1f} % more"
    )


def _tell_stretch(stretch: MeasuredStretch) -> str:
    amount = f"{abs(stretch.along_percent):.1f} % (± {stretch.sd_percent:.2f})"
    longer = "along" if stretch.along_percent > 0 else "across"
    if stretch.told_by == "corner":
        return (
            f"the two sides of the corner differ: the sheet seems stretched by {amount} {longer} "
            "the first side, and no figure was corrected for it"
        )
    return (
        f"is this a ground of 45°? Then the sheet is stretched by {amount} {longer} the lace; "
        "if not, it is as measured"
    )


def _tell_by_hand(said: MeasuredByHand) -> str:
    told = [
        f"{counted(number, one)} {done}"
        for number, one, done in (
            (said.added, "hole", "added"),
            (said.taken_away, "hole", "taken away"),
            (said.confirmed, "place", "as found"),
        )
        if number
    ]
    if said.foot is not None:
        told.append(f"the footside {_FOOT_SIDES[said.foot]}")
    return ", ".join(told)


def print_technique(term: Technique) -> None:
    """Print what a technique is, what others call it and what to know first."""
    click.echo(term.name)
    names = [techniques()[before].name for before in term.prerequisites]
    print_lines(
        [("", term.definition), *_names_lines(term)]
        + (
            [("", "(some of the names in other languages are from memory: ask a lacemaker)")]
            if term.other_languages and term.other_languages_from_memory
            else []
        )
        + [("know first", ", ".join(names))]
    )


def print_term(term: Term, called: str) -> None:
    """Print what others call a term, and what it is a term for."""
    click.echo(f"{term.name} ({called})")
    print_lines(_names_lines(term))


def _names_lines(term: Term) -> Iterator[Line]:
    yield "also", ", ".join(term.also)
    for code, words in term.other_languages.items():
        yield LANGUAGES.get(code, code), ", ".join(words)
    known = {"en", *term.other_languages}
    unnamed = [language for code, language in LANGUAGES.items() if code not in known]
    yield "no name known in", ", ".join(unnamed)
