"""Which lattice places hold a pin: the pricking as a grid.

Knows a fitted lattice and its pins. A place is named by its column (from left to right) and its
half row (downwards, two to a pitch); only places where both numbers are even or both are odd
exist. Everything is stored in arrays `[column, half row]`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.geometry.lattice import Lattice
from archive.geometry.neighbours import Points

Mask = NDArray[np.bool_]

SIX_AROUND = ((0, -2), (1, -1), (1, 1), (0, 2), (-1, 1), (-1, -1))
"""The six neighbours of a place, clockwise from the one above, as (columns, half rows)."""


@dataclass(frozen=True)
class Grid:
    """The places of a lattice around its pins.

    Attributes:
        exists: (columns, half rows) bool, cells that are places of the lattice.
        taken: the same shape, places that hold a pin.
        pin: the same shape, int64, the pin on each place, -1 where there is none.
        first_column: number of column 0 in the lattice's own count.
        first_half_row: the same for half row 0.
    """

    exists: Mask
    taken: Mask
    pin: NDArray[np.int64]
    first_column: int
    first_half_row: int
    lattice: Lattice

    def around(self, cells: Mask, step: tuple[int, int]) -> Mask:
        """`cells` as seen from each cell `step` before it; nothing outside the grid."""
        return shifted(cells, (-step[0], -step[1]))

    def position(self, cells: NDArray[np.int64]) -> Points:
        """(m, 2) positions of (m, 2) cells given as (column, half row)."""
        return self.lattice.position(
            cells[:, 0] + self.first_column, cells[:, 1] + self.first_half_row
        )


def lay_grid(lattice: Lattice) -> Grid:
    """The grid that just holds every pin on the lattice."""
    columns, half_rows = lattice.columns[lattice.on], lattice.half_rows[lattice.on]
    first_column, first_half_row = int(columns.min()), int(half_rows.min())
    shape = (int(np.ptp(columns)) + 1, int(np.ptp(half_rows)) + 1)
    column, half_row = np.indices(shape)
    exists = (column + first_column + half_row + first_half_row) % 2 == 0
    pin = np.full(shape, -1, dtype=np.int64)
    pin[columns - first_column, half_rows - first_half_row] = np.flatnonzero(lattice.on)
    return Grid(exists, pin >= 0, pin, first_column, first_half_row, lattice)


def shifted(cells: Mask, step: tuple[int, int]) -> Mask:
    """The cells moved by `step`, what leaves the grid lost, what enters it False."""
    moved = np.zeros_like(cells)
    into, outof = [], []
    for by, size in zip(step, cells.shape, strict=True):
        by = max(-size, min(size, by))
        into.append(slice(max(by, 0), size + min(by, 0)))
        outof.append(slice(max(-by, 0), size - max(by, 0)))
    moved[tuple(into)] = cells[tuple(outof)]
    return moved


def count_around(grid: Grid, cells: Mask) -> NDArray[np.int64]:
    """How many of the six neighbours of each cell are among `cells`."""
    total: NDArray[np.int64] = np.sum(
        [grid.around(cells, step) for step in SIX_AROUND], axis=0, dtype=np.int64
    )
    return total
