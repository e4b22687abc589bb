"""Closed lines of a scan: where a drawn line goes all the way round a few pins.

Knows the picture and the pins found in it. What shows is not the line but the patch of paper it
shuts in: such a patch ends nowhere but at ink. A worn line has gaps; a second look, for which the
pins are taken off the paper, asks where a disc as wide as such a gap could roll.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import ConvexHull

from archive.geometry.neighbours import Points, nearest_distance

FINEST_PX = 20.0
"""Pixels from pin to pin that are enough: a finer picture is looked at more coarsely, the darkest
of its pixels kept, so that a thin line stays whole."""

BRIDGED = 0.5
"""Gaps in a line that are narrower than this part of the distance of neighbours are bridged. A line
is led round pins at about that distance, so that a wider gap may as well be its beginning and its
end, and two lines that run side by side are further from each other."""

LEAST_DRAWN, BESIDE_PX = 0.9, 1.5
"""Part of the way round that a line with a gap must be drawn, and how near it must lie: the way
round a ring is five distances of neighbours or more, and bits of working lines between pins leave
more open."""

FINE_ENOUGH_PX = 10.0
"""Pixels from pin to pin that are enough to bridge gaps in."""

SMALLEST, LARGEST = 0.4, 6.0
"""Sides of the patches that are looked at, in distances of neighbours: a mesh at the least."""

INK_SHARE = 0.4
"""What is darker than the paper by this part of the pins' own darkness is ink: a gimp is drawn
with a pen, and photographed paler than a hole."""

PAPER_SIDE = 1.0
"""The paper round a place is the brightest within half of this many distances of neighbours."""


def find_outlines(grey: NDArray[np.float32], pins: Points) -> list[Points]:
    """(k, 2) corners in pixels of the convex hull of each patch of paper that ink shuts in.

    What a line with a gap shuts in comes last; most patches come twice.

    Args:
        grey: (rows, columns) luminance, 0 black to 1 white.
        pins: (n, 2) positions found in it, as (x, y) in pixels.
    """
    spacing = nearest_distance(pins)
    if spacing < 4:
        return []
    low = np.maximum(np.floor(pins.min(axis=0) - 2 * spacing), 0).astype(int)
    high = np.ceil(pins.max(axis=0) + 2 * spacing).astype(int)
    factor = max(int(spacing / FINEST_PX), 1)
    ink = _ink(grey[low[1] : high[1], low[0] : high[0]], pins - low, spacing, factor)
    halved = max(int(spacing / factor / FINE_ENOUGH_PX), 1)
    coarser = factor * halved
    coarse = np.asarray(_blocks(ink, halved).any(axis=(1, 3)))
    lines = _without_pins(coarse, (pins - low) / coarser)
    reach = BRIDGED * spacing / coarser / 2
    away = np.asarray(ndimage.distance_transform_edt(~lines))
    shut = [(hull, factor) for hull in _patches(~ink, spacing / factor, 0.0)]
    shut += [
        (hull, coarser)
        for hull in _patches(away > reach, spacing / coarser, reach)
        if _share_drawn(hull, away) >= LEAST_DRAWN
    ]
    return [(hull + 0.5) * scale - 0.5 + low for hull, scale in shut]


def _share_drawn(hull: Points, away: Points) -> float:
    """Part of the way round a hull that runs beside ink, `away` being how far ink is."""
    steps = np.linspace(0, 1, 8, endpoint=False)[:, None, None]
    way = (hull + steps * (np.roll(hull, -1, axis=0) - hull)).reshape(-1, 2)
    lengths = np.tile(np.hypot(*(np.roll(hull, -1, axis=0) - hull).T), len(steps))
    beside = ndimage.map_coordinates(away, way.T[::-1], order=1, mode="nearest") <= BESIDE_PX
    return float(lengths[beside].sum() / lengths.sum())


def _patches(paper: NDArray[np.bool_], spacing: float, margin: float) -> Iterator[Points]:
    """(k, 2) corners of the convex hull of each patch as large as one round pins may be.

    Args:
        paper: (rows, columns) where the patches lie.
        spacing: distance of neighbouring pins.
        margin: how much further each patch reaches than it lies here.
    """
    labels, _ = ndimage.label(paper)
    turns = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    further = margin * np.column_stack([np.cos(turns), np.sin(turns)])
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        sides = [(part.stop - part.start + 2 * margin) / spacing for part in box]
        if not (max(sides) < LARGEST and min(sides) > SMALLEST):
            continue
        inside = np.argwhere(labels[box] == number)[:, ::-1] + [box[1].start, box[0].start]
        if margin:
            inside = (inside[:, None] + further).reshape(-1, 2)
        if np.ptp(inside, axis=0).min() > 0:
            yield inside[ConvexHull(inside).vertices]


def _without_pins(ink: NDArray[np.bool_], pins: Points) -> NDArray[np.bool_]:
    """The ink without the pins' own: what is left are lines, words and marks."""
    inside = np.array(ink.shape)[::-1] - 1
    column, row = np.clip(pins.round().astype(int), 0, inside).T
    depth = np.asarray(ndimage.distance_transform_edt(ink))
    radius = float(np.median(ndimage.maximum_filter(depth, 3)[row, column]))
    elsewhere = np.ones(ink.shape, dtype=bool)
    elsewhere[row, column] = False
    lines: NDArray[np.bool_] = ink & (
        np.asarray(ndimage.distance_transform_edt(elsewhere)) > radius + 1
    )
    return lines


def _blocks(pixels: NDArray[Any], factor: int) -> NDArray[Any]:
    """(rows // factor, factor, columns // factor, factor) the pixels in squares."""
    rows, columns = (side // factor for side in pixels.shape)
    return pixels[: rows * factor, : columns * factor].reshape(rows, factor, columns, factor)


def _ink(grey: NDArray[np.float32], pins: Points, spacing: float, factor: int) -> NDArray[np.bool_]:
    """(rows // factor, columns // factor) bool, where ink lies."""
    blocks = _blocks(grey, factor)
    rows, columns = blocks.shape[0], blocks.shape[2]
    darkest, lightest = blocks.min(axis=(1, 3)), blocks.max(axis=(1, 3))
    column, row = np.clip((pins / factor).astype(int).T, 0, [[columns - 1], [rows - 1]])
    side = 2 * int(PAPER_SIDE * spacing / factor / 2) + 1
    paper = ndimage.uniform_filter(ndimage.maximum_filter(darkest, side), side)
    ground = ndimage.uniform_filter(ndimage.minimum_filter(lightest, side), side)
    dark = float(np.median(paper[row, column] - darkest[row, column]))
    light = float(np.median(lightest[row, column] - ground[row, column]))
    inked: NDArray[np.bool_] = paper - darkest > INK_SHARE * dark
    if light > dark:
        inked = lightest - ground > INK_SHARE * light
    return inked
