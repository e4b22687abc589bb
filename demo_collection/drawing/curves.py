"""Gimp lines round sets of sites, offsets of lines, evenly spaced points.

Knows lattices and plain coordinates (mm); nothing of pairs or recipes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass
from itertools import pairwise, permutations

import numpy as np

from demo_collection.drawing.canvas import Points
from demo_collection.drawing.lattice import Lattice, Site

Gap = tuple[Site, Site]
"""Between a site inside and a neighbouring site outside."""


@dataclass(frozen=True)
class Contour:
    """A line that parts a set of sites from its surroundings.

    Each of its points lies between a site inside and a neighbouring site outside.
    """

    inside: list[Site]
    outside: list[Site]
    closed: bool


def contours(
    lattice: Lattice,
    members: Collection[Site],
    *,
    within: Callable[[Site], bool],
    counted: Callable[[Site], bool],
) -> list[Contour]:
    """The lines that part a set of sites from its surroundings.

    Args:
        lattice: Tells which sites are neighbours.
        members: The sites to go round.
        within: Triangles with a corner that is not `within` are left out, so lines end there.
        counted: Sites outside for which this is false do not part from the set.
    """
    links = _links(lattice, set(members), within=within, counted=counted)
    unused = set(links)
    lines = []
    ends = sorted(gap for gap in links if len(links[gap]) == 1)
    for first in [*ends, *sorted(links)]:
        if first not in unused:
            continue
        chain = [first]
        unused.discard(first)
        while following := [gap for gap in links[chain[-1]] if gap in unused]:
            chain.append(min(following))
            unused.discard(chain[-1])
        closed = len(chain) > 2 and first in links[chain[-1]]
        lines.append(Contour([p for p, _ in chain], [q for _, q in chain], closed))
    return lines


def _links(
    lattice: Lattice,
    inner: set[Site],
    *,
    within: Callable[[Site], bool],
    counted: Callable[[Site], bool],
) -> dict[Gap, list[Gap]]:
    """The gaps between a site inside and one outside, each with those that a line reaches next.

    A line goes from gap to gap through the triangles of sites.
    """
    cells = {cell for site in inner for cell in lattice.cells_round(site)}
    links: dict[Gap, list[Gap]] = defaultdict(list)
    for triangle in sorted({t for cell in cells for t in lattice.triangles(cell)}):
        if not all(within(corner) for corner in triangle):
            continue
        parted = [
            (p, q)
            for p, q in permutations(triangle, 2)
            if p in inner and q not in inner and counted(q)
        ]
        if len(parted) == 2:
            links[parted[0]].append(parted[1])
            links[parted[1]].append(parted[0])
    return links


_PARALLEL = 1e-12
_PASSES = 60
_NEAREST = 0.3
"""A gimp keeps away from every pin by this share of the gap it runs through."""


def taut(
    lattice: Lattice, contour: Contour, *, tension: float, fixed: Callable[[Site], bool]
) -> Points:
    """The contour drawn straight, as a thread is, without leaving the gaps between the pins.

    Args:
        lattice: Gives the places of the pins.
        contour: The line to draw.
        tension: From 0 (half-way in every gap) to 1 (as straight as the pins allow).
        fixed: Gaps towards these outer sites are passed half-way: there two gimps meet.
    """
    start = np.array([lattice.place(site) for site in contour.inside])
    gap = np.array([lattice.place(site) for site in contour.outside]) - start
    held = np.array([fixed(site) for site in contour.outside])
    share = np.full(len(start), 0.5)
    for _ in range(_PASSES):
        points = start + share[:, None] * gap
        middle = (np.roll(points, 1, axis=0) + np.roll(points, -1, axis=0)) / 2
        straight = np.sum((middle - start) * gap, axis=1) / np.sum(gap * gap, axis=1)
        drawn = 0.5 * share + 0.5 * (tension * straight + (1 - tension) * 0.5)
        drawn = np.clip(drawn, _NEAREST, 1 - _NEAREST)
        drawn[held] = 0.5
        if not contour.closed:
            drawn[0], drawn[-1] = 0.5, 0.5
        share = drawn
    return np.asarray(start + share[:, None] * gap)


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
            (1 - t) ** 3 * start
            + 3 * t * (1 - t) ** 2 * first
            + 3 * t**2 * (1 - t) * second
            + t**3 * end
        )
        start = end
    return np.concatenate(drawn)


def spaced(line: Points, count: int) -> Points:
    """`count + 1` points at equal distances along a line, both ends included."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    wanted = np.linspace(0, along[-1], count + 1)
    return np.column_stack(
        [np.interp(wanted, along, line[:, 0]), np.interp(wanted, along, line[:, 1])]
    )


def length(line: Points) -> float:
    """Length of a line."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def hull_outwards(points: Points) -> Points:
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


def meeting(other: Points, line: Points) -> tuple[int, Points]:
    """Where a line first crosses another: the piece of the line, and the point.

    Raises:
        ValueError: they do not cross.
    """
    for i, (p, q) in enumerate(pairwise(line)):
        for r, s in pairwise(other):
            (px, py), (rx, ry), (dx, dy) = q - p, s - r, r - p
            across = px * ry - py * rx
            if abs(across) < _PARALLEL:
                continue
            t, u = (dx * ry - dy * rx) / across, (dx * py - dy * px) / across
            if 0 <= t <= 1 and 0 <= u <= 1:
                return i, p + t * (q - p)
    raise ValueError("the scallops are too shallow to meet in a hollow")
