"""Gimp lines round sets of sites, offsets of lines, evenly spaced points.

Knows lattices and plain coordinates (mm); nothing of pairs or recipes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Collection

import numpy as np

from demo_collection.drawing.canvas import Points
from demo_collection.drawing.lattice import Lattice, Site


def contours(
    lattice: Lattice,
    inside: Collection[Site],
    *,
    within: Callable[[Site], bool],
    counted: Callable[[Site], bool] = lambda site: True,
) -> list[tuple[Points, bool]]:
    """Lines half-way between a set of sites and its surroundings, and whether each closes.

    Args:
        lattice: Gives triangles and places.
        inside: The sites to go round.
        within: Triangles with a corner that is not `within` are left out, so lines end there.
        counted: Sites outside for which this is false do not part from the set.
    """
    members = set(inside)
    cells = sorted({cell for site in members for cell in lattice.cells_round(site)})
    links: dict[frozenset[Site], list[frozenset[Site]]] = defaultdict(list)
    for triangle in sorted({t for cell in cells for t in lattice.triangles(cell)}):
        if not all(within(corner) for corner in triangle):
            continue
        parted = [
            frozenset((p, q))
            for p, q in ((triangle[0], triangle[1]), (triangle[1], triangle[2]), (triangle[2], triangle[0]))
            if (p in members) != (q in members) and counted(q if p in members else p)
        ]
        if len(parted) == 2 and parted[0] != parted[1]:
            links[parted[0]].append(parted[1])
            links[parted[1]].append(parted[0])
    lines = []
    unused = set(links)
    ends = sorted((edge for edge in links if len(links[edge]) == 1), key=sorted)
    for first in [*ends, *sorted(links, key=sorted)]:
        if first not in unused:
            continue
        chain = [first]
        unused.discard(first)
        while following := [edge for edge in links[chain[-1]] if edge in unused]:
            chain.append(min(following, key=sorted))
            unused.discard(chain[-1])
        closed = len(chain) > 2 and first in links[chain[-1]]
        middles = [np.mean([lattice.place(site) for site in edge], axis=0) for edge in chain]
        lines.append((np.array(middles), closed))
    return lines


def smoothed(points: Points, *, closed: bool, passes: int = 1) -> Points:
    """The line with each point drawn towards the middle of its neighbours; ends stay."""
    for _ in range(passes):
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
        drawn = 0.5 * points + 0.25 * (before + after)
        if not closed:
            drawn[0], drawn[-1] = points[0], points[-1]
        points = drawn
    return points


def curve_controls(points: Points, *, closed: bool) -> list[tuple[Points, Points, Points]]:
    """Bezier pieces (first control, second control, end) of a smooth curve through points.

    Source: the uniform Catmull-Rom spline; controls lie a sixth of the neighbours' distance away.
    """
    count = len(points)
    pieces = []
    for i in range(count if closed else count - 1):
        if closed:
            p0, p1, p2, p3 = (points[(i + j) % count] for j in (-1, 0, 1, 2))
        else:
            p0, p1 = points[max(i - 1, 0)], points[i]
            p2, p3 = points[i + 1], points[min(i + 2, count - 1)]
        pieces.append((p1 + (p2 - p0) / 6, p2 - (p3 - p1) / 6, p2))
    return pieces


def flattened(points: Points, *, closed: bool, steps: int = 8) -> Points:
    """Points along the smooth curve through `points`, `steps` to a piece."""
    t = np.linspace(0, 1, steps + 1)[1:, None]
    drawn = [points[:1]]
    start = points[0]
    for first, second, end in curve_controls(points, closed=closed):
        drawn.append(
            (1 - t) ** 3 * start + 3 * t * (1 - t) ** 2 * first + 3 * t**2 * (1 - t) * second + t**3 * end
        )
        start = end
    return np.concatenate(drawn)


def spaced(line: Points, count: int) -> Points:
    """`count + 1` points at equal distances along a line, both ends included."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.linspace(0, along[-1], count + 1)
    return np.column_stack([np.interp(wanted, along, line[:, 0]), np.interp(wanted, along, line[:, 1])])


def length(line: Points) -> float:
    """Length of a line."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def hull_left(points: Points) -> Points:
    """The outermost points of a line that runs with its outer side to the right of travel.

    Seen down the sheet the outer side is the left one. Keeps the first and last point.
    """
    kept: list[Points] = []
    for point in points:
        while len(kept) >= 2:
            (ax, ay), (bx, by) = kept[-1] - kept[-2], point - kept[-1]
            if ax * by - ay * bx < 0:
                break
            kept.pop()
        kept.append(point)
    return np.array(kept)


def offset_outwards(line: Points, reach: float) -> Points:
    """A line at a distance outside another (to the right of travel), with rounded corners."""
    drawn = []
    directions = np.diff(line, axis=0)
    angles = np.unwrap(np.arctan2(directions[:, 1], directions[:, 0]))
    for i, point in enumerate(line):
        first, last = angles[max(i - 1, 0)], angles[min(i, len(angles) - 1)]
        steps = max(1, math.ceil(abs(last - first) / 0.1))
        for angle in np.linspace(first, last, steps + 1):
            drawn.append(point + reach * np.array([-math.sin(angle), math.cos(angle)]))
    return np.array(drawn)
