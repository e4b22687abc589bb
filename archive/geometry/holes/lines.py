"""What lines lay round a blob: gimps, pencil lines and the strokes of digits.

A straight stroke from one place on a circle to another, inked all the way, is part of a line,
whatever marks lie on it: a mark that touches a line does not reach the circle. So the strokes
show how the line goes on under the mark.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes.marks import Ink

CIRCLE_RADII = 2.4
"""Radius of the circle in radii of a mark: beyond a mark that was taken for a radius aside."""

PLACES = 32
"""Places on the circle."""


def ink_of_lines(share: Ink, radius_px: float) -> Ink:
    """(n, side, side) the ink that lines lay within the circle round each blob; 0 elsewhere.

    Args:
        share: (n, side, side) all ink, with room for the circle.
        radius_px: Half the width of a mark.
    """
    side = share.shape[1]
    flat = np.ascontiguousarray(share.reshape(len(share), side**2).T)
    lines = np.zeros_like(flat)
    for stroke in _strokes(side // 2, CIRCLE_RADII * radius_px):
        lines[stroke] = np.maximum(lines[stroke], flat[stroke].min(axis=0))
    return np.ascontiguousarray(lines.T).reshape(share.shape)


def _strokes(reach: int, circle_px: float) -> list[NDArray[np.intp]]:
    """The numbers of the pixels on each stroke across the circle."""
    turns = 2 * np.pi * np.arange(PLACES) / PLACES
    places = circle_px * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    strokes = []
    for one, other in combinations(places, 2):
        steps = np.linspace(0, 1, int(np.hypot(*(other - one)) * 1.5) + 2)[:, None]
        across, down = np.rint(one + steps * (other - one)).astype(int).T + reach
        strokes.append(np.unique(down * (2 * reach + 1) + across))
    return strokes
