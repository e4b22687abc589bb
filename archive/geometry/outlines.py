"""Closed lines of a scan: where a drawn line goes all the way round a few pins.

Knows the picture and the pins found in it. What shows is not the line but the patch of paper it
shuts in: such a patch ends nowhere but at ink. A line with a gap shuts nothing in and is not
found.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import ConvexHull

from archive.geometry.neighbours import Points, nearest_distance

FINEST_PX = 20.0
"""Pixels from pin to pin that are enough: a finer picture is looked at more coarsely, the darkest
of its pixels kept, so that a thin line stays whole."""

SMALLEST, LARGEST = 0.4, 6.0
"""Sides of the patches that are looked at, in distances of neighbours: a mesh at the least."""

INK_SHARE = 0.4
"""What is darker than the paper by this part of the pins' own darkness is ink: a gimp is drawn
with a pen, and photographed paler than a hole."""

PAPER_SIDE = 1.0
"""The paper round a place is the brightest within half of this many distances of neighbours."""


def find_outlines(grey: NDArray[np.float32], pins: Points) -> list[Points]:
    """(k, 2) corners in pixels of the convex hull of each patch of paper that ink shuts in.

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
    labels, _ = ndimage.label(~ink)
    outlines = []
    for number, box in enumerate(ndimage.find_objects(labels), start=1):
        sides = [(part.stop - part.start) * factor / spacing for part in box]
        if not (max(sides) < LARGEST and min(sides) > SMALLEST):
            continue
        inside = np.argwhere(labels[box] == number)[:, ::-1] + [box[1].start, box[0].start]
        if np.ptp(inside, axis=0).min() == 0:
            continue
        hull = inside[ConvexHull(inside).vertices]
        outlines.append((hull + 0.5) * factor - 0.5 + low)
    return outlines


def _ink(grey: NDArray[np.float32], pins: Points, spacing: float, factor: int) -> NDArray[np.bool_]:
    """(rows // factor, columns // factor) bool, where ink lies."""
    rows, columns = (side // factor for side in grey.shape)
    blocks = grey[: rows * factor, : columns * factor].reshape(rows, factor, columns, factor)
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
