"""What is told of one pattern: what a maker needs, its shape, where it comes from."""

from __future__ import annotations

from collections.abc import Iterator

from archive.records import Entry, Thread
from archive.records.measurement import SYMMETRIES
from archive.records.thickness import estimated_wraps_per_cm, stated_wraps_per_cm
from archive.site import figures
from archive.site.pages import Compared, Fact

UNKNOWN = "not known"
MEASURED = "measured on the sheet"
WIDTH_AGREES = 0.05
"""A stated width and a measured one that differ by no more than this part are called equal."""


def needed(entry: Entry) -> Iterator[Fact]:
    """What a maker must have at hand: pairs, gimps, threads."""
    best = figures.pairs_needed(entry.pairs)
    how = {"counted": "counted on the sheet", "stated": "as stated"}.get(entry.pairs.how or "", "")
    yield Fact("Pairs", best or UNKNOWN, how)
    stated = entry.pairs.counted or entry.pairs.stated
    if stated is not None and stated.start is not None and stated.most not in (None, stated.start):
        yield Fact("Pairs at the start", str(stated.start))
    if stated is not None and stated.corner_extra:
        yield Fact("More for the corner", figures.counted(stated.corner_extra, "pair"))
    if entry.gimps is not None:
        yield Fact("Gimp", figures.gimps(entry.gimps))
    elif entry.has_gimp:
        yield Fact("Gimp", "yes, how many is not known")
    for place, thread in enumerate(entry.threads):
        yield Fact(
            "Thread" if place == 0 else "Another thread",
            figures.thread(thread),
            _expected_wraps(thread),
        )
    if not entry.threads:
        yield Fact("Thread", UNKNOWN, _thread_advice(entry))


def _expected_wraps(thread: Thread) -> str:
    """What the number of a thread lets expect, where its wraps are not stated."""
    expected = estimated_wraps_per_cm(thread)
    if stated_wraps_per_cm(thread) or expected is None:
        return ""
    span = figures.span(expected.low, expected.high)
    return f"{span} wraps per cm, estimated from its number"


def _thread_advice(entry: Entry) -> str:
    found = entry.measured
    if found is None or found.wraps_per_cm_low is None or found.wraps_per_cm_high is None:
        return ""
    wraps = figures.span(found.wraps_per_cm_low, found.wraps_per_cm_high)
    return f"by the distance of its pins perhaps {wraps} wraps per cm (estimate); try a sample"


def shape(entry: Entry) -> Iterator[Fact]:
    """How large the lace is and how it is built, measured where nothing is stated."""
    found = entry.measured
    width = found and found.width_mm
    if entry.size.width_mm is None and width:
        yield Fact("Width", figures.millimetres(width), f"from pin to pin, {MEASURED}")
    else:
        yield Fact("Width", figures.millimetres(entry.size.width_mm) or UNKNOWN)
    repeat = entry.size.repeat_mm or (found and found.repeat_mm)
    if repeat:
        note = "" if entry.size.repeat_mm else MEASURED
        yield Fact("One repeat", figures.millimetres(repeat), note)
    if found is not None and found.symmetry is not None:
        yield Fact("Symmetry", SYMMETRIES[found.symmetry], MEASURED)
    if found is not None and found.scallops is not None and found.head_pins is not None:
        yield Fact("Headside", figures.headside(found.scallops, found.head_pins), MEASURED)
    if found is not None and found.like_parts is not None:
        yield Fact("About its centre", f"{found.like_parts} like parts", MEASURED)
    if entry.size.length_mm:
        yield Fact("Length", figures.millimetres(entry.size.length_mm))
    if entry.corner is not None:
        yield Fact("Corner", "yes" if entry.corner else "no")


def compared(entry: Entry) -> Iterator[Compared]:
    """What is stated beside what was counted or measured on the sheet.

    Width, repeat and thread stand there only where they are stated: else what was measured of
    them is told in their place.
    """
    found = entry.measured
    pairs = entry.pairs
    if pairs.counted or pairs.estimated:
        stated = figures.pair_count(pairs.stated)
        counted = figures.pair_count(pairs.counted)
        estimate = figures.pair_estimate(pairs.estimated)
        best = (pairs.counted or pairs.stated) and pairs.best
        differs = bool(
            best and pairs.estimated and not pairs.estimated.low <= best <= pairs.estimated.high
        ) or bool(
            pairs.stated and pairs.counted and pairs.stated.needed is not None
            and pairs.stated.needed != pairs.counted.needed
        )  # fmt: skip
        found_pairs = "; ".join(
            part for part in (f"{counted} counted" if counted else "", estimate) if part
        )
        yield Compared("Pairs", stated, found_pairs, differs)
    if found is None:
        return
    for what, said, seen in (
        ("Width", entry.size.width_mm, found.width_mm),
        ("One repeat", entry.size.repeat_mm, found.repeat_mm),
    ):
        if said is not None and seen is not None:
            differs = abs(said - seen) > max(1.0, WIDTH_AGREES * seen)
            yield Compared(what, figures.millimetres(said), figures.millimetres(seen), differs)
    low, high = found.wraps_per_cm_low, found.wraps_per_cm_high
    if entry.threads and low is not None and high is not None:
        said = next((thread.wraps_per_cm for thread in entry.threads if thread.wraps_per_cm), None)
        yield Compared(
            "Thread, wraps per cm",
            figures.number(said) if said else "",
            f"{figures.span(low, high)} (estimate)",
            said is not None and not low <= said <= high,
        )
    if found.ground_angle_deg is not None:
        yield Compared("Angle of the ground", "", figures.angle(found))
    if found.foot_pitch_mm is not None:
        yield Compared(
            "Distance of footside pins", "", f"{figures.number(found.foot_pitch_mm, places=2)} mm"
        )
    yield Compared("Pinholes on the sheet", "", str(found.pins))
    if found.pins_per_10cm is not None:
        yield Compared("Pins in 10 cm of lace", "", f"{found.pins_per_10cm:.0f}")
    if found.doubts:
        yield Compared("Places to look at", "", str(found.doubts))


def origin(entry: Entry) -> Iterator[Fact]:
    """Who made it, and where and when."""
    designer = entry.designer
    if designer.status == "named" and designer.name:
        yield Fact("Designer", designer.name, designer.evidence)
    else:
        said = "traditional" if designer.status == "traditional" else UNKNOWN
        yield Fact("Designer", said, designer.evidence)
    source = figures.source(entry.source)
    if source:
        yield Fact("Printed in", source)
    if entry.period:
        yield Fact("Period", entry.period)
    if entry.material:
        yield Fact("The sheet", entry.material)
