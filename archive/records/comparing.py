"""What a record states beside what was measured on its sheets, and where the two disagree.

Either may be the one that is wrong, so that every finding tells both. Only what a sheet would
be certain to show is missed on it: a gimp, for one, leaves no holes. Reads no files.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from archive.records.attachment import Attachment
from archive.records.byhand import tell_place
from archive.records.entry import Entry
from archive.records.finding import Finding
from archive.records.measurement import BENT, DOUBTED, Measurement
from archive.records.pattern import PairCount, Pattern
from archive.records.settings import Checking
from archive.records.thickness import estimated_wraps_per_cm, main_threads, stated_wraps_per_cm
from archive.resolution import MM_PER_INCH
from archive.threads import Estimate
from archive.vocabulary import techniques

FINDINGS = {
    "not-measured": (
        "“{file}” has not been measured as it stands now, so nothing was compared with it.",
        "Measure it with “prickings measure --all”.",
    ),
    "no-pinholes": (
        "No pinholes were found on “{file}”, so nothing was compared with it.",
        "If it is a pricking, scan it again, sharp and with 300 dots per inch or more. If not, "
        'say what it is: “prickings attach "{shelfmark}" FILE --role photograph”, for one.',
    ),
    "scale-unknown": (
        "The resolution of “{file}” is not known, so no lengths were compared{guess}.",
        'Say it with “prickings attach "{shelfmark}" FILE --dpi N”, FILE being the same scan, and '
        "measure again: width, repeat and thread are then told in millimetres.",
    ),
    "sheet-bent": (
        "“{file}” is {how}: it shows things up to {percent:.1f} % larger in one place than in "
        "another. It was measured as if it lay flat.",
        "If the sheet lies flat without being forced, lay it flat and scan it again, or photograph "
        "it from straight above. Leave old parchment as it lies; the figures stand, but a print of "
        "this picture is not true to size everywhere.",
    ),
    "sheet-stretched": (
        "The two sides of the corner on “{file}” differ: the sheet seems stretched by "
        "{percent:.1f} % along one of them. No figure was corrected for it.",
        "Scan the sheet again, with no scaling of the scanner or copier. If it comes out the same, "
        "the sheet itself is a stretched copy.",
    ),
    "pairs-differ": (
        "{count} pairs are {how}; by its pins the sheet needs between {low} and {high}. {reasons}",
        "Count once more, on the sheet or in the book. The range rests on house rules: where your "
        "count is right, leave it as it is.",
    ),
    "width-differs": (
        "The record says {stated:g} mm wide; the pins are {measured:.1f} mm from side to side. "
        "Up to {percent:g} % apart would pass.",
        "Measure the lace once more. Where the repeat is off by the same part, the sheet is a "
        "copy in another size, or its resolution is wrong.",
    ),
    "repeat-differs": (
        "The record says a repeat of {stated:g} mm; on the sheet the pins repeat every "
        "{measured:.1f} mm, and the nearest whole number of these is {nearest:.1f} mm. Up to "
        "{percent:g} % apart would pass.",
        "Measure one repeat along the footside. Where the width is off by the same part, the "
        "sheet is a copy in another size, or its resolution is wrong.",
    ),
    "corner-not-seen": (
        "The record speaks of a corner; on the sheet no two footsides meet at a right angle.",
        "If the corner has a sheet of its own, attach that too.",
    ),
    "corner-not-recorded": (
        "On the sheet two footsides meet at a right angle; the record {says}.",
        'If it is a corner, record it with “prickings edit "{shelfmark}" --set corner=yes”.',
    ),
    "honeycomb-not-seen": (
        "The record names {named}; on the sheet there is neither a honeycomb net nor a ring.",
        "See whether it is worked on this sheet at all, and where.",
    ),
    "honeycomb-not-recorded": (
        "The sheet looks like honeycomb: in {areas}, {pins} pins together, every fourth place of "
        "the ground is empty. The record names no honeycomb.",
        "If it is honeycomb, add the technique. A title or a book may call it otherwise, as rose "
        "ground for one: keep that name as a title.",
    ),
    "thread-differs": (
        "For the footside on the sheet the house rule asks for {low:.0f} to {high:.0f} wraps per "
        "cm; {threads}.",
        "Work a sample: it decides, not the rule. Perhaps the sheet is a copy in another size.",
    ),
    "doubts-left": (
        "{doubts} on “{file}” {look} doubtful and the record has {corrections}: {places}.",
        "Look at the sheet. Record a fault of the pricking as a correction; where the scan was "
        'misread, say so with “prickings measure "{shelfmark}" --hole PLACE” or --no-hole.',
    ),
}
"""Code → what is found, and what to do. The words in curly brackets are filled in."""

LEAST_WIDTH_MM = 2.0
LEAST_REPEAT_MM = 0.5
"""Lists state whole millimetres, and a picot's thread stands off its pin. Common practice, no
source."""

ABOUT_PAIRS = 3
"""A number given as about is one of fives or tens. Common practice, no source."""

COUNTED_WRAPS = 1.0
"""Wraps counted over one centimetre may be one out. Common practice, no source."""

MOST_PLACES = 12
"""Doubtful places told one by one; from here on a picture tells more."""

_LIKE_HONEYCOMB = frozenset({"kat_stitch", "mayflower"})
"""Worked on the honeycomb's pricking, though no honeycomb by name. Source: the vocabulary."""


@dataclass(frozen=True)
class Sheet:
    """A pricking of the record; `found` is None while it is not measured as it stands."""

    attachment: Attachment
    found: Measurement | None


def compare(entry: Entry, sheets: Sequence[Sheet], tolerance: Checking) -> list[Finding]:
    """What disagrees between a record and its prickings, or cannot be compared yet.

    The record is compared with the first sheet that has pinholes measured; a corner may be on any.
    """
    findings: list[Finding] = []
    for sheet in sheets:
        findings += _look_at(entry, sheet)
    measured = [found for sheet in sheets if (found := sheet.found) and found.pins.count]
    if measured:
        main = measured[0]
        findings += _compare_pairs(entry, main)
        if not entry.has_corner and not main.corner.present:
            findings += _compare_width(entry, main, tolerance.width_percent)
        findings += _compare_repeat(entry, main, tolerance.repeat_percent)
        if len(measured) == len(sheets):
            findings += _compare_corner(entry, measured)
        findings += _compare_honeycomb(entry, main)
        findings += _compare_thread(entry, main)
    return findings


def _finding(entry: Pattern, code: str, **facts: object) -> Finding:
    found, advice = FINDINGS[code]
    return Finding(
        code=code,
        shelfmark=entry.shelfmark,
        found=found.format(**facts),
        advice=advice.format(shelfmark=entry.shelfmark),
    )


# -- the sheet by itself ----------------------------------------------------------------------


def _look_at(entry: Entry, sheet: Sheet) -> Iterator[Finding]:
    name, found = sheet.attachment.file_name, sheet.found
    if found is None:
        yield _finding(entry, "not-measured", file=name)
        return
    if not found.pins.count:
        yield _finding(entry, "no-pinholes", file=name)
        return
    if found.scale.px_per_mm is None:
        yield _finding(entry, "scale-unknown", file=name, guess=_guess_scale(entry, found))
    if found.bend is not None:
        yield _finding(
            entry,
            "sheet-bent",
            file=name,
            how=BENT[found.bend.kind],
            percent=found.bend.largest_percent - found.bend.smallest_percent,
        )
    if found.stretch is not None and found.stretch.told_by == "corner":
        yield _finding(
            entry,
            "sheet-stretched",
            file=name,
            percent=abs(found.stretch.along_percent),
        )
    if len(found.doubts) > len(entry.corrections):
        yield _finding(
            entry,
            "doubts-left",
            file=name,
            doubts=_counted(len(found.doubts), "place"),
            look="looks" if len(found.doubts) == 1 else "look",
            corrections=_counted(len(entry.corrections), "correction"),
            places="; ".join(_tell_doubts(found)),
        )


def _tell_doubts(found: Measurement) -> Iterator[str]:
    for doubt in found.doubts[:MOST_PLACES]:
        place = tell_place(doubt.x_px, doubt.y_px, found.scale.px_per_mm)
        yield f"{DOUBTED[doubt.kind]} at {place}"
    if len(found.doubts) > MOST_PLACES:
        yield f"and {len(found.doubts) - MOST_PLACES} more"


def _guess_scale(entry: Entry, found: Measurement) -> str:
    """What the resolution would be if the pins were as wide as the lace is said to be."""
    width_mm, width_px = entry.size.width_mm, _pinned_width_px(found)
    if width_mm is None or width_px is None or entry.has_corner or found.corner.present:
        return ""
    dpi = width_px / width_mm * MM_PER_INCH
    return f"; for a lace {width_mm:g} mm wide, as the record says, it would be about {dpi:.0f} dpi"


def _pinned_width_px(found: Measurement) -> float | None:
    """How far the pins reach from side to side, the footside upright; None without direction."""
    if found.tilt_deg is None or not found.pins.positions_px:
        return None
    tilt = math.radians(found.tilt_deg)
    across = [x * math.cos(tilt) - y * math.sin(tilt) for x, y in found.pins.positions_px]
    return max(across) - min(across)


# -- the record beside the sheet --------------------------------------------------------------


def _compare_pairs(entry: Entry, found: Measurement) -> Iterator[Finding]:
    for how, count in (("counted", entry.pairs.counted), ("stated", entry.pairs.stated)):
        if count is None or count.needed is None or found.pairs is None:
            continue
        needed = count.needed
        margin = ABOUT_PAIRS if count.about else 0
        if not found.pairs.low - margin <= needed <= found.pairs.high + margin:
            yield _finding(
                entry,
                "pairs-differ",
                count=_tell_count(count, needed),
                how=how,
                low=found.pairs.low,
                high=found.pairs.high,
                reasons=" ".join(found.pairs.reasons),
            )


def _tell_count(count: PairCount, needed: int) -> str:
    return f"About {needed}" if count.about else str(needed)


def _compare_width(entry: Entry, found: Measurement, percent: float) -> Iterator[Finding]:
    stated, px_per_mm = entry.size.width_mm, found.scale.px_per_mm
    width_px = _pinned_width_px(found)
    if stated is None or px_per_mm is None or width_px is None:
        return
    measured = width_px / px_per_mm
    if abs(measured - stated) > max(LEAST_WIDTH_MM, stated * percent / 100):
        yield _finding(entry, "width-differs", stated=stated, measured=measured, percent=percent)


def _compare_repeat(entry: Entry, found: Measurement, percent: float) -> Iterator[Finding]:
    """Pins may repeat more often than the lace, where the same pins are worked in two ways."""
    stated = entry.size.repeat_mm
    if stated is None or found.repeat is None or found.repeat.length_mm is None:
        return
    measured = found.repeat.length_mm
    nearest = max(1, round(stated / measured)) * measured
    if abs(nearest - stated) > max(LEAST_REPEAT_MM, stated * percent / 100):
        yield _finding(
            entry,
            "repeat-differs",
            stated=stated,
            measured=measured,
            nearest=nearest,
            percent=percent,
        )


def _compare_corner(entry: Entry, measured: Sequence[Measurement]) -> Iterator[Finding]:
    seen = any(found.corner.present for found in measured)
    if seen and not entry.has_corner:
        says = "speaks of none" if entry.corner is None else "says that there is none"
        yield _finding(entry, "corner-not-recorded", says=says)
    elif entry.has_corner and not seen and all(f.foot.side != "none" for f in measured):
        yield _finding(entry, "corner-not-seen")


def _compare_honeycomb(entry: Entry, found: Measurement) -> Iterator[Finding]:
    if found.ground is None:
        return
    names = techniques().with_narrower("honeycomb_ground")
    named = names & set(entry.technique_ids)
    nets = [area.pins for area in found.areas if area.kind == "honeycomb net"]
    if nets and not named and _LIKE_HONEYCOMB.isdisjoint(entry.technique_ids):
        areas = _counted(len(nets), "area")
        yield _finding(entry, "honeycomb-not-recorded", areas=areas, pins=sum(nets))
    # Rings, chains and single stitches within the ground stand on its own pins.
    counts = any(
        use.technique == "honeycomb_ground" and use.role != "optional" for use in entry.techniques
    )
    if counts and named == {"honeycomb_ground"} and not nets and not _rings(found):
        yield _finding(entry, "honeycomb-not-seen", named=techniques()["honeycomb_ground"].name)


def _rings(found: Measurement) -> int:
    return found.rings.four_pin + found.rings.six_pin


def _compare_thread(entry: Entry, found: Measurement) -> Iterator[Finding]:
    """The threads of a record are a choice: it is enough that one of them suits the sheet."""
    asked = found.thread
    told = []
    for thread in main_threads(entry):
        known, said = stated_wraps_per_cm(thread), estimated_wraps_per_cm(thread)
        if known is not None:
            said = Estimate(known, known - COUNTED_WRAPS, known + COUNTED_WRAPS)
        if asked is None or said is None:
            continue
        if said.low <= asked.wraps_per_cm_high and said.high >= asked.wraps_per_cm_low:
            return
        told.append(
            f"“{thread.label}” has {known:g}"
            if known is not None
            else f"“{thread.label}” has about {said.value:.0f} by its number "
            f"({said.low:.0f} to {said.high:.0f}, an estimate)"
        )
    if asked is not None and told:
        yield _finding(
            entry,
            "thread-differs",
            low=asked.wraps_per_cm_low,
            high=asked.wraps_per_cm_high,
            threads=", ".join(told),
        )


def _counted(number: int, one: str) -> str:
    return f"{number or 'no'} {one if number == 1 else one + 's'}"
