"""The centre of each hole to a fraction of a pixel.

The mark that all holes of a sheet have in common is laid over each of them and shifted until it
fits best. Pixels that do not fit, such as a gimp line that touches the hole, count for little.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes_judging import patches

Floats = NDArray[np.float64]

ROUNDS = 2
REWEIGHTINGS = 2

FARTHEST_SHARE = 0.3
"""How far a centre may move from where the blob was strongest, as a share of the radius."""


def centre_holes(ink: NDArray[np.float32], rough_px: Floats, radius_px: float) -> Floats:
    """(n, 2) centres as (x, y) in px, from rough ones."""
    reach = int(np.ceil(1.6 * radius_px)) + 1
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1].astype(np.float64)
    disc = np.hypot(across, down) <= 1.5 * radius_px + 0.5
    farthest = FARTHEST_SHARE * radius_px
    moved = np.zeros_like(rough_px)
    for _ in range(ROUNDS):
        around = patches(ink, rough_px + moved, reach)
        model = np.median(around[:3000], axis=0)
        model = (model + model[::-1] + model[:, ::-1] + model[::-1, ::-1]) / 4
        slope_down, slope_across = np.gradient(model)
        design = np.stack(
            [slope_across[disc], slope_down[disc], model[disc], np.ones(disc.sum())], axis=1
        )
        moved += _robust_shift(around[:, disc], design.astype(np.float32))
        far = np.hypot(*moved.T)[:, None]
        moved *= np.minimum(1, farthest / np.maximum(far, 1e-9))
    return rough_px + moved


def _robust_shift(values: NDArray[np.float32], design: NDArray[np.float32]) -> Floats:
    """(n, 2) shift of the model that explains each row best, misfitting pixels counting little."""
    left = np.abs(values - design[:, 2])
    pairs = np.stack([design[:, i] * design[:, j] for i in range(4) for j in range(4)], axis=1)
    for _ in range(REWEIGHTINGS):
        scale = 1.5 * np.median(left, axis=1)[:, None] + 1e-3
        weight = 1 / (1 + (left / scale) ** 2)
        normal = (weight @ pairs).reshape(-1, 4, 4) + 1e-6 * np.eye(4)
        right = (weight * values) @ design
        solution = np.linalg.solve(normal, right[..., None])[..., 0]
        left = np.abs(values - solution @ design.T)
    amplitude = np.maximum(np.abs(solution[:, 2:3]), 0.2)
    return -solution[:, :2] / amplitude
