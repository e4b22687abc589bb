"""Rings: four or six pins that a closed line goes round, or that stand by themselves.

Knows pins, closed lines and the grid of taken places. A ring set into a net stands on the net's
own pins, and six pins round an empty place may as well be a tally or a hole that was never
pricked: only the gimp that is drawn round a ring tells it. What no line goes round is counted
only where its pins have no lattice neighbour beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, cKDTree

from archive.geometry.areas import CONNECTED, label_parts
from archive.geometry.neighbours import NO_POINTS, Points, nearest, nearest_distance
from archive.geometry.occupancy import Grid, count_around

TOUCHING = 0.25
"""Pins this near a line, in distances of neighbours, belong to what it encloses: a gimp may be
drawn through the pins that it passes, and stays further than this from the next ones."""

WIDEST = 6.0
"""No line round a ring is longer across than this, in distances of neighbours."""

EVEN = 0.35
"""How far, in distances of neighbours, two opposite pins may be from facing each other."""

EMPTY_MIDDLE = {4: 0.4, 6: 0.75}
"""How far at least, in distances of neighbours, the pins of a ring stand from its middle. Two
rows of three stand at half."""

ONE_ROUND = 1.9
"""No pin of a ring about one empty place stands further from its middle than this, in distances of
neighbours: at two a second round of pins begins."""

ROUND_NOT_THROUGH = 1.25
"""A line round pins encloses at least so many times the area between them: lines from pin to pin,
as they are drawn for rose ground, show how to work and not where a gimp goes."""


@dataclass(frozen=True)
class Ring:
    """A ring of so many pins, four or six, about its (2,) middle."""

    pins: int
    middle: Points


def find_rings(
    points: Points, grids: Sequence[Grid] = (), outlines: Sequence[Points] = ()
) -> list[Ring]:
    """All rings that a sheet shows, each once.

    Args:
        points: (n, 2) the pins, and the places where one is missing.
        grids: the places of each strip with a ground.
        outlines: (k, 2) corners of each closed line drawn on the sheet.
    """
    spacing = nearest_distance(points)
    rings: list[Ring] = []
    for ring in (*_outlined(points, outlines, spacing), *_alone(grids)):
        if all(np.hypot(*(ring.middle - other.middle)) > spacing / 2 for other in rings):
            rings.append(ring)
    return rings


def _outlined(points: Points, outlines: Sequence[Points], spacing: float) -> Iterator[Ring]:
    """Rings with a line round them."""
    if spacing == 0:
        return
    tree = cKDTree(points)
    for outline in outlines:
        low, high = outline.min(axis=0), outline.max(axis=0)
        if not spacing < np.ptp(outline, axis=0).max() < WIDEST * spacing:
            continue
        reach = float(np.hypot(*(high - low))) / 2 + spacing
        near = points[tree.query_ball_point((low + high) / 2, reach)]
        held = near[enclosed(near, outline, TOUCHING * spacing)]
        if len(held) not in EMPTY_MIDDLE or not _is_round(held, spacing):
            continue
        if ConvexHull(outline).volume >= ROUND_NOT_THROUGH * ConvexHull(held).volume:
            yield Ring(len(held), held.mean(axis=0))


def find_middles(points: Points, outlines: Sequence[Points]) -> Points:
    """(m, 2) empty places that a line goes round together with one round of pins and no more.

    Such a place is the middle of a ring, however the pins of the ring are counted, and nothing is
    missing from it.

    Args:
        points: (n, 2) the pins.
        outlines: (k, 2) corners of each closed line drawn on the sheet.
    """
    spacing = nearest_distance(points)
    found = [NO_POINTS]
    for outline in outlines if spacing else ():
        held = points[enclosed(points, outline, TOUCHING * spacing)]
        middle = (outline.min(axis=0) + outline.max(axis=0)) / 2
        away = np.hypot(*(held - middle).T)
        if len(held) and EMPTY_MIDDLE[6] * spacing < away.min() <= away.max() < ONE_ROUND * spacing:
            found.append(middle[None, :])
    return np.concatenate(found)


def enclosed(points: Points, outline: Points, touching: float) -> NDArray[np.bool_]:
    """(n,) bool, points inside a closed line or within `touching` of it.

    Source: even-odd rule, W3C, Scalable Vector Graphics (SVG) 2, 13.4.2.
    """
    start, end = outline, np.roll(outline, -1, axis=0)
    x, y = points[:, 0, None], points[:, 1, None]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(spans, end[:, 1] - start[:, 1], 1.0)
    crossing = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / rise
    inside = (spans & (x < crossing)).sum(axis=1) % 2 == 1
    along = end - start
    length = np.maximum((along**2).sum(axis=1), 1e-300)
    away = points[:, None, :] - start
    part = np.clip((away * along).sum(axis=2) / length, 0, 1)
    distance = np.hypot(*np.moveaxis(away - part[:, :, None] * along, 2, 0)).min(axis=1)
    return np.asarray(inside | (distance < touching))


def _is_round(pins: Points, spacing: float) -> bool:
    """Whether every pin faces another across an empty middle."""
    middle = pins.mean(axis=0)
    facing, _ = nearest(cKDTree(pins), 2 * middle - pins)
    away = float(np.hypot(*(pins - middle).T).min())
    flat = float(np.linalg.svd(pins - middle, compute_uv=False)[1]) < spacing / 2
    return bool(
        facing.max() < EVEN * spacing and away > EMPTY_MIDDLE[len(pins)] * spacing and not flat
    )


def _alone(grids: Sequence[Grid]) -> Iterator[Ring]:
    """Rings on the places of a lattice, none of whose pins has a neighbour outside the ring.

    Four fill one mesh; six surround one empty place.
    """
    for grid in grids:
        around = count_around(grid, grid.taken)
        labels, number = label_parts(grid.taken, CONNECTED)
        for part in range(1, number + 1):
            cells = np.argwhere(labels == part)
            spread = tuple(np.ptp(cells, axis=0).tolist())
            middle = cells.mean(axis=0)
            hollow = len(cells) == 6 and spread == (2, 4)
            if hollow:
                column, half_row = np.rint(middle).astype(int)
                hollow = bool(around[column, half_row] == 6 and not grid.taken[column, half_row])
            if hollow or (len(cells) == 4 and spread == (2, 2)):
                yield Ring(len(cells), grid.position(middle[None, :])[0])
