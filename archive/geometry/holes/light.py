"""How light a sheet is, place by place.

A mark takes away a share of the light that falls on it: in the shadow of a book's fold or of a
cockle it stands out by less than in full light, and is the same mark. Strengths are therefore
told as a share of the light.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Floats = NDArray[np.float64]
Grey = NDArray[np.float32]

CELLS = 16
"""Cells along the shorter side of a picture: far larger than a hole, smaller than a shadow."""

SAMPLED_PX = 4
"""Of the pixels of a cell, every fourth each way is looked at: some 1500 at 300 dpi."""

DARKEST_SHARE = 0.2
"""Light, as a share of the sheet's usual, below which nothing is told: the scanner's black lid."""


@dataclass(frozen=True)
class Light:
    """The light in square cells.

    Attributes:
        cells: (rows, columns) the mean, from above 0 to 1.
        bare: (rows, columns) that of the bare sheet: the median, since ink covers less than half.
        cell_px: The side of a cell.
    """

    cells: Grey
    bare: Grey
    cell_px: float

    def at_level(self, level: int) -> Light:
        """The same light over the picture halved so many times."""
        return replace(self, cell_px=self.cell_px / 2**level)

    def at(self, positions_px: Floats) -> Floats:
        """(n,) the light at (n, 2) positions, between the middles of cells in proportion."""
        return self._between(self.cells, positions_px)

    def bare_at(self, positions_px: Floats) -> Floats:
        """(n,) the light of the bare sheet at (n, 2) positions."""
        return self._between(self.bare, positions_px)

    def _between(self, cells: Grey, positions_px: Floats) -> Floats:
        across, down = ((positions_px + 0.5) / self.cell_px - 0.5).T
        return ndimage.map_coordinates(
            cells, [down, across], output=np.float64, order=1, mode="nearest"
        )


def light_of(grey: Grey) -> Light:
    """The light of a picture; what is left over at its right and lower edge is left out."""
    side = max(1, min(grey.shape) // CELLS)
    rows, columns = (size // side for size in grey.shape)
    whole = grey[: rows * side, : columns * side].reshape(rows, side, columns, side)
    cells = whole.mean(axis=(1, 3))
    bare = np.median(whole[:, ::SAMPLED_PX, :, ::SAMPLED_PX], axis=(1, 3))
    darkest = np.float32(max(DARKEST_SHARE * float(np.median(cells)), 1e-3))
    return Light(np.maximum(cells, darkest), np.maximum(bare, darkest), float(side))
