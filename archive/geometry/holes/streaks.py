"""The streaks that a scanner or copier draws along a picture.

Dust on the glass or a worn drum makes a line, often a broken one, exactly along the rows or the
columns of a picture. Its pieces look like holes and are in good order, but only along the line;
a row of holes lies neither so straight nor so square to the picture.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes.light import Floats

HALF_WIDTH_PX = 0.75
NEAR_PX = 4.0
BESIDE_PX = 100.0
"""Blobs within so many pixels of a line lie on it. Those within the second are compared with it,
because a row of holes is wider than a streak, and those within the third, because both are denser
than what is strewn over the sheet."""

FEWEST_ON_STREAK = 12
SURELY_MORE = 4.0
"""How many blobs a streak has at least, and by how many standard deviations, those of a count, it
has more than as narrow a strip beside it. Chosen on 100 rendered scans; with ten blobs, single
holes of a sheet drawn exactly upright were lost."""

ALONE_SHARE = 0.2
"""Share of the blobs of a streak that nothing beside it vouches for. Two streaks of like rhythm
vouch for many of each other's blobs: on one rendered scan for all but a sixth to a quarter."""


def on_streaks(positions_px: Floats, *, alone: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """(n,) which of the positions lie on a streak, upright or level.

    Args:
        positions_px: (n, 2) blobs.
        alone: (n,) which of them no neighbour off their line vouches for.
    """
    return _on_lines(positions_px[:, 0], alone) | _on_lines(positions_px[:, 1], alone)


def _on_lines(places_px: Floats, alone: NDArray[np.bool_]) -> NDArray[np.bool_]:
    all_on_line = _within(HALF_WIDTH_PX, places_px, places_px)
    alone_on_line = _within(HALF_WIDTH_PX, places_px, places_px[alone])
    return (
        (alone_on_line >= FEWEST_ON_STREAK)
        & (alone_on_line > ALONE_SHARE * all_on_line)
        & _surely_denser(all_on_line, _within(NEAR_PX, places_px, places_px), NEAR_PX)
        & _surely_denser(alone_on_line, _within(BESIDE_PX, places_px, places_px[alone]), BESIDE_PX)
    )


def _within(far_px: float, places_px: Floats, among_px: Floats) -> NDArray[np.intp]:
    """(n,) how many of the others lie so near to each place."""
    ordered = np.sort(among_px)
    low, high = (np.searchsorted(ordered, places_px + way * far_px) for way in (-1, 1))
    return np.asarray(high - low)


def _surely_denser(
    on_line: NDArray[np.intp], around: NDArray[np.intp], far_px: float
) -> NDArray[np.bool_]:
    """(n,) whether a line holds more than its share of the blobs around it."""
    expected = (around - on_line) * HALF_WIDTH_PX / (far_px - HALF_WIDTH_PX)
    denser: NDArray[np.bool_] = on_line > expected + SURELY_MORE * np.sqrt(expected)
    return denser
