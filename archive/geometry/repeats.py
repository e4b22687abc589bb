"""The repeat: the smallest step along the footside that brings the pins onto themselves.

Knows the grid of taken places. A place is compared with the places whole repeats above and
below it; how full its column is anyway says nothing about the repeat, so it is taken out first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.geometry.occupancy import Grid

Mask = NDArray[np.bool_]

MISSED = 0.06
"""Share of pricked places that show no pin, as the folding expects it: worn and doubtful sheets."""

STRAY = 0.02
"""Share of empty places that show one."""

LEAST_LIKENESS = 0.15
"""Autocorrelation below which a step is not weighed at all."""

NEAR_BEST = 0.7
"""Steps whose autocorrelation reaches this part of the best one are weighed."""


@dataclass(frozen=True)
class Folding:
    """The pattern of one repeat.

    Attributes:
        rows: repeat in pitches.
        pricked: (columns, 2 * rows) bool, places the design pricks; half row 0 is the grid's.
        seen: whole repeats on the sheet.
        mirrored: the second half is the first, reversed or turned over.
    """

    rows: int
    pricked: Mask
    seen: int
    mirrored: bool


def find_folding(grid: Grid) -> Folding | None:
    """The repeat of the grid, or None where less than two repeats can be seen.

    Plain ground repeats with every row.
    """
    half_rows = grid.taken.shape[1]
    longest = half_rows // 4
    if longest < 1:
        return None
    likeness = _autocorrelation(grid, longest)
    filled = _filled(grid)
    best = float(likeness[1:].max())
    weighed = {1}
    if best > LEAST_LIKENESS:
        weighed.update((np.flatnonzero(likeness[1:] >= NEAR_BEST * best) + 1).tolist())
    evidence, rows = max((_evidence(grid, step, filled), -step) for step in weighed)
    rows = -rows
    if evidence <= _evidence(grid, half_rows, filled):
        return None
    pricked = _fold(grid, rows)
    seen = (half_rows + 1) // (2 * rows)
    return Folding(rows, pricked, seen, _is_mirrored(grid, pricked, rows))


def _filled(grid: Grid) -> NDArray[np.float64]:
    """(columns,) share of each column's places that hold a pin, never quite 0 or 1."""
    places = grid.exists.sum(axis=1)
    share: NDArray[np.float64] = (grid.taken.sum(axis=1) + 0.5) / (places + 1)
    return share


def _autocorrelation(grid: Grid, longest: int) -> NDArray[np.float64]:
    """(longest + 1,) likeness of the grid to itself moved by 0, 1, … pitches, column means out."""
    means = grid.taken.sum(axis=1) / np.maximum(grid.exists.sum(axis=1), 1)
    centred = np.where(grid.exists, grid.taken - means[:, None], 0.0)
    likeness = np.zeros(longest + 1)
    for rows in range(longest + 1):
        ahead, behind = centred[:, 2 * rows :], centred[:, : centred.shape[1] - 2 * rows]
        size = np.sqrt((ahead**2).sum() * (behind**2).sum())
        likeness[rows] = (ahead * behind).sum() / size if size > 0 else 0.0
    return likeness


def _counts(grid: Grid, rows: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(columns, 2 * rows) how often each place of the repeat exists, and is taken."""
    period = 2 * rows
    padding = -grid.taken.shape[1] % period
    folded = []
    for cells in (grid.exists, grid.taken):
        padded = np.pad(cells, ((0, 0), (0, padding)))
        folded.append(padded.reshape(len(cells), -1, period).sum(axis=1))
    return folded[0], folded[1]


def _evidence(grid: Grid, rows: int, filled: NDArray[np.float64]) -> float:
    """Log probability of the grid if it repeats after so many rows.

    Each place of the repeat is pricked or not, as likely as its column is full; pins are then
    missed and strayed at the expected shares. Longer repeats pay for every place they add.
    """
    exists, taken = _counts(grid, rows)
    empty = exists - taken
    pricked = taken * np.log(1 - MISSED) + empty * np.log(MISSED)
    bare = taken * np.log(STRAY) + empty * np.log(1 - STRAY)
    share = filled[:, None]
    return float(np.logaddexp(np.log(share) + pricked, np.log(1 - share) + bare)[exists > 0].sum())


def _fold(grid: Grid, rows: int) -> Mask:
    exists, taken = _counts(grid, rows)
    majority: Mask = 2 * taken > exists
    return majority


def _is_mirrored(grid: Grid, pricked: Mask, rows: int) -> bool:
    """Whether the repeat, reversed or turned over, is itself again."""
    parity = grid.exists[:, : 2 * rows]
    means = pricked.sum(axis=1) / np.maximum(parity.sum(axis=1), 1)
    centred = np.where(parity, pricked - means[:, None], 0.0)
    size = (centred**2).sum()
    if size == 0:
        return True
    reversed_ = centred[:, ::-1]
    likeness = [
        (np.roll(reversed_, step, axis=1) * centred).sum() / size for step in range(2 * rows)
    ]
    likeness.append((np.roll(centred[::-1], rows, axis=1) * centred).sum() / size)
    return bool(max(likeness) > 0.9)
