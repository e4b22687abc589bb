"""How positions on a bent sheet and on the flat go over into each other.

Knows nothing of pins or how a bend is found. Positions on the sheet and on the flat agree in the
middle of the pinned surface, and so does the scale there.

Positions are (n, 2) float64 as `(x, y)`, y down, in whatever unit the pins have.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from archive.geometry.neighbours import Points


@dataclass(frozen=True)
class Cockles:
    """A smooth field of shifts: products of cosines, less what a lattice would take up itself.

    Attributes:
        low: (2,) corner of the box of which every wave has a whole number of halves.
        size: (2,) its sides.
        waves: (m, 2) half waves across and down.
        weights: (3 + m, 2) shifts a constant, x, y and each wave count for.
    """

    low: Points
    size: Points
    waves: Points
    weights: Points

    def shifts(self, flat: Points) -> Points:
        """(n, 2) how far from its flat place a pin lies."""
        shifted: Points = cockle_columns(flat, self.low, self.size, self.waves) @ self.weights
        return shifted


@dataclass(frozen=True)
class Bend:
    """How positions on the sheet and on the flat go over into each other.

    Attributes:
        middle: (2,) the middle of the pinned surface, where both agree.
        slant: (2,) a flat position q and one on the sheet p, both from the middle, are
            p = q / (1 - slant·q): the projective map, its affine part left to the lattice.
        slant_sd: (2,) standard errors of `slant`.
        cockles: the field that is left, or None.
        cockles_sd: standard error of the local scale by the cockles.
    """

    middle: Points
    slant: Points
    slant_sd: Points
    cockles: Cockles | None = None
    cockles_sd: float = 0.0

    def flatten(self, sheet: Points) -> Points:
        """(n, 2) where positions on the sheet lie on the flat."""
        p = sheet - self.middle
        flat: Points = p / (1 + p @ self.slant)[:, None]
        if self.cockles is not None:
            flat = flat - self.cockles.shifts(flat)
        return flat + self.middle

    def on_sheet(self, flat: Points) -> Points:
        """(n, 2) where positions on the flat lie on the sheet."""
        q = target = flat - self.middle
        if self.cockles is not None:
            for _ in range(8):  # each round leaves a few hundredths of the error before
                q = target + self.cockles.shifts(q)
        placed: Points = q / (1 - q @ self.slant)[:, None] + self.middle
        return placed

    def local_scales(self, sheet: Points) -> Points:
        """(n,) how much larger the sheet shows things at these positions than at its middle."""
        step = 1e-3 * float(np.ptp(sheet, axis=0).max() or 1.0)
        across, down = (
            (self.flatten(sheet + way) - self.flatten(sheet - way)) / (2 * step)
            for way in (np.array([step, 0.0]), np.array([0.0, step]))
        )
        scales: Points = np.abs(across[:, 0] * down[:, 1] - across[:, 1] * down[:, 0]) ** -0.5
        return scales


FLAT = Bend(np.zeros(2), np.zeros(2), np.zeros(2))
"""A sheet on which every position stays what it is."""


def cockle_columns(flat: Points, low: Points, size: Points, waves: Points) -> Points:
    """(n, 3 + m) a constant, x, y and the product of cosines of each wave."""
    phase = np.pi * (flat - low) / size
    products = np.cos(phase[:, :1] * waves[:, 0]) * np.cos(phase[:, 1:] * waves[:, 1])
    return np.column_stack([np.ones(len(flat)), flat, products])
