"""What a person says of a sheet, put into effect: holes given and taken, the footside's side.

Knows pins and strips, and what `ByHand` says of them. Knows nothing of files.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from archive.errors import InputError
from archive.geometry.analysing import Analysis
from archive.geometry.doubts import doubts_of_ground
from archive.geometry.footsides import FootLine, find_foot
from archive.geometry.neighbours import Points, nearest_distance
from archive.geometry.strips import Strip, rightwards
from archive.records.byhand import ByHand, FootSide
from archive.records.measurement import MeasuredByHand, Measurement, SourceFile

REACH = 0.5
"""A mark means the hole within this part of the distance of neighbouring holes: further away
another hole would be as near. Source: geometry."""


@dataclass(frozen=True)
class Mended:
    """Pins as a person says they are.

    Attributes:
        points: (n, 2) the pins.
        marks: (m, 2) the places of `told.marks`.
        reach: how far a mark reaches, in pixels.
        told: what came of the marks.
    """

    points: Points
    marks: Points
    reach: float
    told: MeasuredByHand


def mend_pins(
    points: Points, by_hand: ByHand, *, px_per_mm: float | None, source: SourceFile | None
) -> Mended:
    """The found pins, with those added and taken away that a person says.

    Args:
        points: (n, 2) float64 the pins found, as (x, y) in pixels.
        by_hand: the marks, obeyed in their order.
        px_per_mm: the scale, for marks in millimetres.
        source: the sheet, on which every mark must lie.

    Raises:
        InputError: a mark lies beside the sheet, or is in millimetres without a scale.
    """
    reach = REACH * nearest_distance(points)
    said = by_hand.in_px(px_per_mm).marks
    marks = [(np.array([mark.x, mark.y]), mark.hole) for mark in said]
    kept = np.ones(len(points), dtype=bool)
    added = np.empty((0, 2))
    confirmed = 0
    for place, is_hole in marks:
        _check_on_sheet(place, source)
        near = _near(points, place, reach)
        by_hand_near = _near(added, place, reach)
        there = bool((kept & near).any() or by_hand_near.any())
        confirmed += there == is_hole
        if not is_hole:
            kept &= ~near
            added = added[~by_hand_near]
        elif not there and near.any():
            kept |= near
        elif not there:
            added = np.concatenate([added, [place]])
    told = MeasuredByHand(
        added=len(added),
        taken_away=int((~kept).sum()),
        confirmed=confirmed,
        foot=by_hand.foot,
        marks=said,
    )
    places = np.array([place for place, _ in marks]).reshape(-1, 2)
    return Mended(np.concatenate([points[kept], added]), places, reach, told)


def heed(analysis: Analysis, mended: Mended) -> Analysis:
    """The analysis with the footside where a person says, and without doubts they settled."""
    strips = analysis.strips
    doubts = analysis.doubts
    if mended.told.foot is not None:
        main = _with_foot(analysis.main, mended.told.foot)
        strips = [main, *strips[1:]]
        doubts = main.doubts if analysis.corner is None else doubts
    marks = analysis.bend.flatten(mended.marks)
    open_doubts = [
        doubt for doubt in doubts if not _near(marks, doubt.position, mended.reach).any()
    ]
    return replace(analysis, strips=strips, doubts=open_doubts)


def tell_by_hand(found: Measurement, mended: Mended) -> Measurement:
    """The measurement with what came of the marks; the footside is where a person says."""
    foot = found.foot
    if mended.told.foot is not None:
        foot = foot.model_copy(update={"side": mended.told.foot, "perhaps_head": False})
    return found.model_copy(update={"by_hand": mended.told, "foot": foot})


def _check_on_sheet(place: Points, source: SourceFile | None) -> None:
    if source is None:
        return
    x, y = place.tolist()
    if x > source.width_px or y > source.height_px:
        raise InputError(
            f"“{x:.0f},{y:.0f} px” lies beside the sheet, which is {source.width_px:.0f} by "
            f"{source.height_px:.0f} pixels.",
            "Measure from its top left corner, across and then down.",
        )


def _near(points: Points, place: Points, reach: float) -> NDArray[np.bool_]:
    """(n,) which of the points lie within reach of a place."""
    near: NDArray[np.bool_] = np.hypot(*(points - place).T) <= reach
    return near


def _with_foot(strip: Strip, side: FootSide) -> Strip:
    """The strip with its footside on the side a person says, as far as pins lie in line there."""
    if strip.along is None:
        return strip
    right = rightwards(strip.along)
    wanted = {"left": [-right], "right": [right], "both": [-right, right], "none": []}[side]
    found = [_foot_towards(strip, strip.along, outward) for outward in wanted]
    feet = [foot for foot in found if foot is not None]
    doubts = strip.doubts
    if strip.ground is not None:
        ground = strip.ground
        doubts = doubts_of_ground(
            strip.points,
            ground.lattice,
            ground.grid,
            ground.surface,
            ground.folding,
            feet,
            strip.middles,
        )
    return replace(strip, feet=feet, doubts=doubts)


def _foot_towards(strip: Strip, along: Points, outward: Points) -> FootLine | None:
    """The footside that was found on a side, or else the best line of pins there, or None."""
    for foot in strip.feet:
        if foot.outward @ outward > 0:
            return foot
    pitches = [foot.pitch for foot in strip.feet]
    if strip.ground is not None:
        pitches += [strip.ground.lattice.pitch * times for times in (1, 2)]
    lines = (find_foot(strip.points, along, outward, pitch) for pitch in pitches)
    return next((line for line in lines if line is not None), None)
