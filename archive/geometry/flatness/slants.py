"""The slant of a sheet, fitted to pins of which the places are known.

Positions are (n, 2) float64 as `(x, y)`, y down, in whatever unit the pins have.
"""

from __future__ import annotations

import numpy as np

from archive.geometry.flatness.likeness import Sides
from archive.geometry.neighbours import Points


def fit_slant(
    p: Points,
    design: Points,
    slant: Points,
    likely: float = np.inf,
    sides: Sides | None = None,
) -> tuple[Points, Points, Points]:
    """Lattice, slant and its covariance by least squares, pins far off their places left out.

    Args:
        p: (n, 2) positions on the sheet, from the middle.
        design: (n, m) what each flat position is made of: origins and place numbers.
        slant: (2,) a first guess.
        likely: standard deviation of the slant that is expected beforehand.
        sides: the two sides of a corner in the design.

    Returns:
        (m, 2) how much each part of the design counts; (2,) slant; (2, 2) its covariance.
    """
    weight = np.ones(len(p))
    for _ in range(4):
        weighed = design * weight[:, None]
        own, _ = np.linalg.qr(weighed)

        def left(values: Points, own: Points = own, weight: Points = weight) -> Points:
            values = values * weight[:, None]
            beside: Points = values - own @ (own.T @ values)
            return beside

        along = 1 + p @ slant
        flat = p / along[:, None]
        moves = -p[:, :, None] * p[:, None, :] / (along**2)[:, None, None]
        pushed = np.stack([left(moves[:, :, k]) for k in (0, 1)], axis=-1).reshape(-1, 2)
        rest = left(flat).reshape(-1)
        spread = max(float((rest**2).sum()) / max(2 * (len(p) - design.shape[1]) - 2, 1), 1e-18)
        normal = pushed.T @ pushed + np.eye(2) * (spread / likely**2)
        towards = -pushed.T @ rest - slant * (spread / likely**2)
        if sides is not None:
            more = sides.pull(weighed, flat * weight[:, None], moves * weight[:, None, None])
            normal, towards = normal + more[0], towards + more[1]
        slant = slant + np.linalg.solve(normal, towards)
        flat = p / (1 + p @ slant)[:, None]
        solved = np.linalg.lstsq(weighed, flat * weight[:, None], rcond=None)[0]
        off = np.hypot(*(flat - design @ solved).T)
        sigma = max(float(np.median(off)) / 1.1774, 1e-9)  # median of a Rayleigh distribution
        weight = (off < 3.5 * sigma).astype(np.float64) if sigma > 1e-9 else weight
    return np.asarray(solved), slant, np.linalg.inv(normal) * spread
