"""The headside: the pins outside the ground on the side that has no footside, and its scallops.

Knows one strip. A lace without a ground has no border between its pins and those of the head, an
insertion has no headside: neither is asked.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.geometry.neighbours import Points
from archive.geometry.occupancy import count_around
from archive.geometry.repeats import fold_points
from archive.geometry.strips import Strip, on_feet

Mask = NDArray[np.bool_]

LEVEL = 0.75
"""The ground's outermost pin is sought so many pitches up and down from a pin of the head."""

IN_NET = 2
"""Lattice neighbours of a pin of the ground; a picot that stands on a place by chance has fewer."""

SAME_LEVEL, HIDDEN = 0.55, 1.0
"""A pin that has another one so many pitches outside it, at its own level, belongs to a figure that
lies open towards the head."""

LEAST_DEPTH = 0.35
"""Depth of a scallop at least, in pitches: less is an uneven line of picots."""

OF_DEEPEST = 0.4
"""And this part of the deepest one's: hollows within a scallop are no ends of it."""


@dataclass(frozen=True)
class Head:
    """Pins of the headside and scallops, in one repeat."""

    pins: int
    scallops: int


def find_head(strip: Strip) -> Head | None:
    """The headside of an edging with a ground; None where there is none or no repeat shows."""
    if strip.ground is None or strip.repeat is None or len(strip.feet) != 1:
        return None
    pitch, step = strip.ground.lattice.pitch, strip.repeat.step
    outward = -strip.feet[0].outward
    head = strip.points[_beyond_ground(strip, outward)]
    places, pins = fold_points(head, step)
    along = step / np.hypot(*step)
    side = float(np.sign(outward @ np.array([along[1], -along[0]])))
    outer = _outermost(places * (side, 1), pitch, float(np.hypot(*step)))
    places, pins = places[outer], pins[outer]
    outline = side * places[np.argsort(places[:, 1]), 0]
    if len(outline) == 0:
        outline = _edge_of_ground(strip, side)
    depth = max(LEAST_DEPTH * pitch, OF_DEEPEST * float(np.ptp(outline)))
    return Head(int(pins.sum()), _count_waves(outline, depth))


def _beyond_ground(strip: Strip, outward: Points) -> Mask:
    """(n,) true for pins further out than every ground pin near their level."""
    assert strip.ground is not None
    grid, points = strip.ground.grid, strip.points
    net = np.zeros(len(points), dtype=bool)
    net[grid.pin[grid.taken & (count_around(grid, grid.taken) >= IN_NET)]] = True
    loose = ~net & ~on_feet(strip.feet, len(points))
    along = strip.ground.lattice.along / strip.ground.lattice.pitch
    out, down = points @ outward, points @ along
    level = np.abs(down[loose][:, None] - down[net]) < LEVEL * strip.ground.lattice.pitch
    edge = np.where(level, out[net], -np.inf).max(axis=1, initial=-np.inf)
    beyond = np.zeros(len(points), dtype=bool)
    beyond[np.flatnonzero(loose)[np.isfinite(edge) & (out[loose] > edge)]] = True
    return beyond


def _outermost(places: Points, pitch: float, length: float) -> Mask:
    """(k,) true for places (outwards, down a repeat) that no other at their level hides."""
    apart = places[:, None] - places
    apart[:, :, 1] = np.abs((apart[:, :, 1] + length / 2) % length - length / 2)
    hidden = (apart[:, :, 0] < -HIDDEN * pitch) & (apart[:, :, 1] < SAME_LEVEL * pitch)
    outermost: Mask = np.logical_not(hidden.any(axis=1))
    return outermost


def _edge_of_ground(strip: Strip, side: float) -> Points:
    """How far out the ground reaches in each half row of a repeat, or in the one below it."""
    assert strip.ground is not None
    assert strip.ground.folding is not None
    pricked = strip.ground.folding.pricked
    columns = side * np.arange(len(pricked))
    reach = np.where(pricked, columns[:, None], -np.inf).max(axis=0)
    both = np.maximum(reach, np.roll(reach, -1))
    edge: Points = np.where(np.isfinite(both), both, columns.min()) * strip.ground.lattice.column
    return edge


def _count_waves(heights: Points, depth: float) -> int:
    """How often a closed round of heights rises by `depth` from a low and falls again by it."""
    start = int(heights.argmin())
    low = high = float(heights[start])
    rising, waves = True, 0
    for height in [*heights[start:].tolist(), *heights[: start + 1].tolist()]:
        if rising:
            high = max(high, height)
            if high - low >= depth and high - height >= depth:
                waves, rising, low = waves + 1, False, height
        else:
            low = min(low, height)
            if height - low >= depth:
                rising, high = True, height
    return waves
