"""Closed shapes and dots of a drawing, by what may make them pins: place, size, roundness.

Knows plane figures and nothing of the file they were read from.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Matrix = NDArray[np.float64]

CURVE_STEPS = 8
"""Straight pieces for one curve: the centre of a round dot stays exact by its symmetry."""

FARTHEST_PX = 1e9
"""Beyond this nothing is drawn: matrices can be stacked until their numbers overflow."""


@dataclass(frozen=True)
class Mark:
    """One closed shape or dot, in CSS pixels of the whole drawing.

    Attributes:
        centre: (2,) its centre.
        radius: of the circle of equal area.
        roundness: 1 for a circle, less the longer or the more jagged it is.
        corners: (k, 2) of a polygon, the last one joined to the first; (0, 2) for an ellipse.
        gap: how far the ends of its line are from each other; 0 where it is closed or filled.
    """

    centre: Points
    radius: float
    roundness: float
    corners: Points = field(default_factory=lambda: np.empty((0, 2)))
    gap: float = 0.0

    @property
    def outline(self) -> Points:
        """(k, 2) the line round the mark; of an ellipse, the circle of equal area."""
        if len(self.corners):
            return self.corners
        turn = np.linspace(0, 2 * np.pi, 4 * CURVE_STEPS, endpoint=False)
        return self.centre + self.radius * np.column_stack([np.cos(turn), np.sin(turn)])


def ellipse_mark(centre: Points, radii: tuple[float, float], matrix: Matrix) -> Iterator[Mark]:
    """An ellipse with axes along x and y, placed by a (3, 3) matrix; none if it is flat."""
    if not _is_usable(matrix):
        return
    axes = np.linalg.svd(matrix[:2, :2] * radii, compute_uv=False)
    if axes[1] > 0:
        placed = matrix[:2, :2] @ centre + matrix[:2, 2]
        yield Mark(placed, float(np.sqrt(axes[0] * axes[1])), float(axes[1] / axes[0]))


def polygon_mark(corners: Points, matrix: Matrix, *, closed: bool = True) -> Iterator[Mark]:
    """A polygon, by its area, its centre of area and how round it is; none if it is flat.

    An open line is one if its ends are nearer to each other than it is wide.

    Args:
        corners: (n, 2), the last one joined to the first.
        matrix: (3, 3), places them on the page.
        closed: whether a line or a filling joins the ends, too.
    """
    if len(corners) < 3 or not _is_usable(matrix):
        return
    placed = corners @ matrix[:2, :2].T + matrix[:2, 2]
    middle = placed.mean(axis=0)
    x, y = (placed - middle).T
    x_next, y_next = np.roll(x, -1), np.roll(y, -1)
    cross = x * y_next - x_next * y
    area = cross.sum() / 2
    outline = np.hypot(x_next - x, y_next - y).sum()
    if outline == 0 or abs(area) < 1e-6 * outline**2:
        return
    centre = middle + np.array([(x + x_next) @ cross, (y + y_next) @ cross]) / (6 * area)
    radius, roundness = np.sqrt(abs(area) / np.pi), 4 * np.pi * abs(area) / outline**2
    gap = 0.0 if closed else float(np.hypot(*(placed[-1] - placed[0])))
    if gap < 2 * radius:
        yield Mark(centre, float(radius), float(roundness), placed, gap)


def _is_usable(matrix: Matrix) -> bool:
    return bool((np.abs(matrix) < FARTHEST_PX).all())


def affine(a: float, b: float, c: float, d: float, e: float, f: float) -> Matrix:
    """(3, 3) matrix of the six numbers that SVG and PDF write it with."""
    return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])


def bend(start: Points, first: Points, second: Points, end: Points) -> Points:
    """(n, 2) points of a cubic curve with two controls, without its start."""
    t = np.linspace(0, 1, CURVE_STEPS + 1)[1:, None]
    return np.asarray(
        (1 - t) ** 3 * start
        + 3 * (1 - t) ** 2 * t * first
        + 3 * (1 - t) * t**2 * second
        + t**3 * end
    )
