"""What was found on a sheet becomes a measurement: figures with their units, rounded.

Knows the analysis and the records.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from archive.geometry.analysing import Analysis, rings_of
from archive.geometry.distortions import tell_bend, tell_stretch
from archive.geometry.estimates import (
    effort_of,
    pairs_of_ground,
    pairs_of_strip,
    path_of_pairs,
    thread_for,
)
from archive.geometry.heads import find_head
from archive.geometry.strips import Strip
from archive.geometry.traits import (
    edged_alike,
    feet_off_ground,
    foot_side,
    ground_columns,
    has_shaped_head,
    is_plain_patch,
    pins_along,
    starting_pins,
)
from archive.records.house import HouseRules
from archive.records.measurement import (
    Area,
    Doubt,
    Foot,
    Ground,
    MeasuredCorner,
    MeasuredEffort,
    MeasuredHead,
    MeasuredPairs,
    MeasuredRepeat,
    MeasuredRound,
    MeasuredThread,
    Measurement,
    Pins,
    Rings,
    Scale,
    SourceFile,
)

ANALYSER = "6"
"""Raised whenever the same sheet would be measured differently."""

WIDE_GAP = 1.5
"""Gaps of a footside, in pitches of the ground, from which it holds every second pin."""

How = Literal["embedded", "given", "drawing-units", "unknown"]
Points = NDArray[np.float64]


def tell_analysis(
    analysis: Analysis,
    outlines: Sequence[Points],
    px_per_mm: float | None,
    how: How,
    source: SourceFile | None,
    settings: HouseRules,
) -> Measurement:
    """Everything that was found, as it is told.

    Args:
        analysis: what was found on the sheet.
        outlines: (k, 2) corners of each closed line on the sheet, as it lies.
        px_per_mm: pixels to the millimetre, or None.
        how: where that figure comes from.
        source: the file the pins were found in.
        settings: house rules for pairs and thread.
    """
    strip = analysis.main
    ground = _ground(strip, px_per_mm)
    foot = _foot(strip, px_per_mm)
    pairs = _pairs(strip, settings)
    return Measurement(
        analyser=ANALYSER,
        source=source,
        scale=Scale(px_per_mm=px_per_mm, how=how if px_per_mm else "unknown"),
        tilt_deg=_rounded(analysis.tilt_deg, 4),
        pins=_pins(analysis.bend.on_sheet(analysis.points), px_per_mm),
        extent_mm=_extent(analysis, px_per_mm),
        foot=foot,
        ground=ground,
        areas=_areas(analysis, px_per_mm),
        rings=_rings(analysis, outlines),
        repeat=_repeat(analysis, px_per_mm),
        bend=tell_bend(analysis.bend, analysis.points),
        stretch=tell_stretch(analysis),
        corner=MeasuredCorner(present=analysis.corner is not None),
        pairs=pairs,
        thread=_thread(foot, ground, settings),
        doubts=tuple(
            Doubt(x_px=x, y_px=y, kind=doubt.kind)
            for doubt in analysis.doubts
            for x, y in _listed(analysis.bend.on_sheet(doubt.position[None, :]), 2)
        ),
        head=_head(strip),
        effort=_effort(strip, pairs, px_per_mm),
        round=_round(analysis, px_per_mm),
    )


def _thread(foot: Foot, ground: Ground | None, settings: HouseRules) -> MeasuredThread | None:
    """The thread by the house rule; None where a footside of every second pin makes its gaps wide.

    So ends a honeycomb, for which there is no rule.
    """
    if ground is None or foot.pitch_px is None or foot.pitch_px > WIDE_GAP * ground.pitch_px:
        return None
    return thread_for(foot.pitch_mm, ground.angle_deg, settings)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _mm(length_px: float, px_per_mm: float | None, digits: int = 5) -> float | None:
    return None if px_per_mm is None else round(float(length_px) / px_per_mm, digits)


def _listed(positions: Points, digits: int) -> tuple[tuple[float, float], ...]:
    return tuple((round(x, digits), round(y, digits)) for x, y in positions.tolist())


def _pins(points: Points, px_per_mm: float | None) -> Pins:
    return Pins(
        count=len(points),
        positions_px=_listed(points, 3),
        positions_mm=None if px_per_mm is None else _listed(points / px_per_mm, 4),
    )


def _extent(analysis: Analysis, px_per_mm: float | None) -> tuple[float, float] | None:
    if px_per_mm is None:
        return None
    if len(analysis.points) == 0:
        return (0.0, 0.0)
    width, length = np.ptp(analysis.main.upright(analysis.points), axis=0).tolist()
    return (round(width / px_per_mm, 3), round(length / px_per_mm, 3))


def _foot(strip: Strip, px_per_mm: float | None) -> Foot:
    feet = strip.feet
    side = foot_side(strip)
    if not feet:
        return Foot(side=side, pitch_mm=None, pitch_px=None, pitch_sd_mm=None, pins=0)
    weights = [len(foot.pins) for foot in feet]
    pitch = float(np.average([foot.pitch for foot in feet], weights=weights))
    spread = float(np.sqrt(np.average([foot.gap_sd**2 for foot in feet], weights=weights)))
    return Foot(
        side=side,
        pitch_mm=_mm(pitch, px_per_mm),
        pitch_px=round(pitch, 4),
        pitch_sd_mm=_mm(spread, px_per_mm),
        pins=sum(weights),
        perhaps_head=edged_alike(strip),
    )


def _ground(strip: Strip, px_per_mm: float | None) -> Ground | None:
    if strip.ground is None:
        return None
    lattice = strip.ground.lattice
    return Ground(
        angle_deg=round(lattice.angle_deg, 4),
        angle_sd_deg=round(lattice.angle_sd_deg, 5),
        pitch_mm=_mm(lattice.pitch, px_per_mm),
        pitch_px=round(lattice.pitch, 4),
        column_mm=_mm(lattice.column, px_per_mm),
        column_px=round(lattice.column, 4),
        rms_px=round(lattice.rms, 4),
        share_on_lattice=round(float(lattice.on.mean()), 4),
    )


def _areas(analysis: Analysis, px_per_mm: float | None) -> tuple[Area, ...]:
    return tuple(
        Area(
            kind=net.kind,
            pins=net.pins,
            area_mm2=None if px_per_mm is None else round(net.area / px_per_mm**2, 3),
            outline_px=_listed(analysis.bend.on_sheet(net.loops[0]), 2),
        )
        for strip in analysis.strips
        if strip.ground is not None
        for net in strip.ground.areas
    )


def _rings(analysis: Analysis, outlines: Sequence[Points]) -> Rings:
    pins = [ring.pins for ring in rings_of(analysis, outlines)]
    return Rings(four_pin=pins.count(4), six_pin=pins.count(6))


def _repeat(analysis: Analysis, px_per_mm: float | None) -> MeasuredRepeat | None:
    repeat = analysis.main.repeat
    if repeat is None:
        return None
    length = float(np.hypot(*repeat.step))
    return MeasuredRepeat(
        length_mm=_mm(length, px_per_mm),
        length_px=round(length, 4),
        rows=repeat.rows,
        pins=repeat.pins,
        count=repeat.seen,
        mirrored=repeat.mirrored,
        # one side of a corner ends in the mitre, which breaks every symmetry
        symmetry=repeat.frieze if analysis.corner is None else None,
    )


def _pairs(strip: Strip, settings: HouseRules) -> MeasuredPairs | None:
    if strip.ground is None:
        pins = starting_pins(strip)
        return pairs_of_strip(pins) if pins else None
    off = len(feet_off_ground(strip))
    return pairs_of_ground(
        ground_columns(strip),
        feet_off_ground=off,
        feet_on_ground=0 if is_plain_patch(strip) else len(strip.feet) - off,
        shaped_head=has_shaped_head(strip),
        settings=settings,
    )


def _head(strip: Strip) -> MeasuredHead | None:
    head = find_head(strip)
    if head is None:
        return None
    return MeasuredHead(pins_per_repeat=head.pins, scallops_per_repeat=head.scallops)


def _effort(
    strip: Strip, pairs: MeasuredPairs | None, px_per_mm: float | None
) -> MeasuredEffort | None:
    path = None
    if strip.ground is not None and pairs is not None:
        path = path_of_pairs(pairs, ground_columns(strip), strip.ground.lattice.angle_deg)
    pins_per_px = pins_along(strip)
    if pins_per_px is None or px_per_mm is None:
        return effort_of(None, path)
    return effort_of(pins_per_px * px_per_mm, path)


def _round(analysis: Analysis, px_per_mm: float | None) -> MeasuredRound | None:
    found = analysis.round
    if found is None:
        return None
    return MeasuredRound(
        parts=found.parts,
        pins_per_part=found.pins,
        across_mm=_mm(2 * found.radius, px_per_mm, 3),
        across_px=round(2 * found.radius, 2),
        centre_px=_listed(found.centre[None, :], 2)[0],
    )
