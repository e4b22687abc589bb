"""What was measured on a sheet, in words; estimates are marked as such."""

from __future__ import annotations

from collections.abc import Iterator

from archive.cli.printing import Line, counted, print_lines
from archive.records.byhand import tell_place
from archive.records.measurement import (
    BENT,
    DOUBTED,
    SYMMETRIES,
    Foot,
    Ground,
    MeasuredBend,
    MeasuredByHand,
    MeasuredEffort,
    MeasuredStretch,
    Measurement,
)

_FOOT_SIDES = {
    "left": "on the left",
    "right": "on the right",
    "both": "on both sides",
    "none": "on neither side",
}
_SCALES = {
    "embedded": "as the file says",
    "given": "as given",
    "drawing-units": "from the drawing's own units",
    "unknown": "not known: say it with --dpi, here or where the file is attached",
}
_NO_PINHOLES = (
    "none found. If there are some, scan the sheet again, sharp and with 300 dots per inch or more."
)


def print_measurement(measurement: Measurement) -> None:
    """Print a short report of a measured sheet, estimates marked as such."""
    print_lines(_measurement_lines(measurement))


def _measurement_lines(found: Measurement) -> Iterator[Line]:
    if found.source is not None and found.source.pages > 1:
        yield (
            "page",
            f"{found.source.page} of {found.source.pages}; of a file --page N measures another",
        )
    if found.pins.count:
        yield from _sheet_lines(found)
        yield from _net_lines(found)
        yield from _repeat_lines(found)
        yield from _estimate_lines(found)
    else:
        yield "pinholes", _NO_PINHOLES
    if found.by_hand is not None:
        yield "by hand", tell_by_hand(found.by_hand)
    for doubt in found.doubts:
        place = tell_place(doubt.x_px, doubt.y_px, found.scale.px_per_mm)
        yield "look at", f"{DOUBTED[doubt.kind]} at {place}"


def _sheet_lines(found: Measurement) -> Iterator[Line]:
    yield "pinholes", str(found.pins.count)
    yield "scale", _SCALES[found.scale.how]
    if found.extent_mm:
        yield "size", f"{found.extent_mm[0]:.1f} mm wide, {found.extent_mm[1]:.1f} mm long"
    if found.bend is not None:
        yield "sheet", _tell_bend(found.bend)


def _net_lines(found: Measurement) -> Iterator[Line]:
    yield "footside", _tell_foot(found.foot)
    yield "ground", _tell_ground(found.ground) if found.ground else "no lattice found"
    if found.stretch is not None:
        yield "stretch", _tell_stretch(found.stretch)
    yield from _area_lines(found)
    if found.rings.four_pin or found.rings.six_pin:
        yield "rings", f"{found.rings.four_pin} of four pins, {found.rings.six_pin} of six"


def _repeat_lines(found: Measurement) -> Iterator[Line]:
    if found.repeat:
        length = _length(found.repeat.length_mm, found.repeat.length_px)
        rows = f", {counted(found.repeat.rows, 'row')}" if found.repeat.rows else ""
        yield (
            "repeat",
            f"{length}{rows}, {found.repeat.pins} pins, {found.repeat.count} on the sheet",
        )
        if found.repeat.symmetry:
            yield "symmetry", f"{SYMMETRIES[found.repeat.symmetry]} ({found.repeat.symmetry})"
    if found.round:
        parts, pins = found.round.parts, found.round.pins_per_part
        across = _length(found.round.across_mm, found.round.across_px)
        yield "round", f"{parts} like parts about a centre, {pins} pins each; {across} across"
    if found.head:
        yield "headside", tell_head(found.head.scallops_per_repeat, found.head.pins_per_repeat)
    if found.corner.present:
        yield "corner", "yes"


def _estimate_lines(found: Measurement) -> Iterator[Line]:
    if found.pairs:
        low, high = found.pairs.low, found.pairs.high
        reasons = " ".join(found.pairs.reasons)
        yield "pairs", f"about {found.pairs.estimate}, between {low} and {high}. {reasons}"
    if found.thread:
        fewest, most = found.thread.wraps_per_cm_low, found.thread.wraps_per_cm_high
        yield "thread", f"{fewest:.0f} to {most:.0f} wraps per cm. {found.thread.reason}"
    if found.effort:
        yield "effort", _tell_effort(found.effort)


def _length(mm: float | None, px: float | None, digits: int = 1) -> str:
    if mm is not None:
        return f"{mm:.{digits}f} mm"
    return "" if px is None else f"{px:.1f} pixels"


def _tell_foot(foot: Foot) -> str:
    if foot.side == "none":
        return "none found"
    told = _FOOT_SIDES[foot.side]
    if foot.pitch_px:
        told += f", {foot.pins} pins, one every {_length(foot.pitch_mm, foot.pitch_px, 2)}"
    if foot.perhaps_head:
        told += (
            "; one of them may be a straight headside, which the pins do not tell: if you know, "
            "say it with --foot"
        )
    return told


def _tell_ground(ground: Ground) -> str:
    return (
        f"{ground.angle_deg:.2f}° from the footside (± {max(ground.angle_sd_deg, 0.01):.2f}°), "
        f"pitch {_length(ground.pitch_mm, ground.pitch_px, 2)}; "
        f"{ground.share_on_lattice:.0%} of the pins stand on it"
    )


def tell_head(scallops: int, pins: int) -> str:
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


def tell_by_hand(said: MeasuredByHand) -> str:
    """What a person said of the sheet."""
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
