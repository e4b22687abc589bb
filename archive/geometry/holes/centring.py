"""The centre of each hole to a fraction of a pixel.

The mark that all holes of a sheet have in common is laid over each of them and shifted until it
fits best. A pixel that differs from the mark more than it does elsewhere on the sheet, or on which
a gimp or another line lies, counts for little. Where the middle of the mark itself
lies is told by its edge: light that falls on one rim of a pricked hole moves its weight, but not
the place where it is steepest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from archive.geometry.holes.light import Floats
from archive.geometry.holes.marks import Ink, Mark, patches

ROUNDS = 2
"""Times the mark is fitted; the second round starts from the first's centres."""

REWEIGHTINGS = 2
"""Least-squares solutions a round, each counting misfits of the one before for less."""

MISFIT_DEVIATIONS = 3.0
"""Deviations from the mark at which a pixel counts half."""

FARTHEST_SHARE = 0.3
FARTHEST_RING_SHARE = 0.5
"""How far a centre may move from where the blob was strongest, as a share of the radius: a filled
ring is flat, and its blob less well placed."""

LINE_INK = 0.2
"""Ink of a line, as a share of a hole's, at which a pixel counts half."""

MODEL_HOLES = 3000
"""Holes that the mark is made from, strongest first."""

RAYS = 36
"""Directions in which the edge of the mark is looked for."""


def centre_holes(
    ink: Ink,
    rough_px: Floats,
    mark: Mark,
    examples: NDArray[np.bool_],
    lines: Ink,
) -> Floats:
    """(n, 2) centres as (x, y) in px, from rough ones.

    Args:
        ink: The picture with its margin.
        rough_px: (n, 2) in order of strength.
        mark: What a hole looks like.
        examples: (n,) which of them are holes for sure; at least one.
        lines: (n, side, side) ink of lines round each, as a share of a hole's, from two radii to
            each side.
    """
    radius_px = mark.radius_px
    model_holes = np.flatnonzero(examples)[:MODEL_HOLES]
    reach = int(np.ceil(1.6 * radius_px)) + 1
    down, across = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    disc = np.hypot(across, down) <= 1.5 * radius_px + 0.5
    farthest_px = (FARTHEST_RING_SHARE if mark.hollow else FARTHEST_SHARE) * radius_px
    edge = lines.shape[1] // 2 - reach
    lines = lines[:, edge : edge + 2 * reach + 1, edge : edge + 2 * reach + 1]
    clear = (1 / (1 + (lines[:, disc] / LINE_INK) ** 2)).astype(np.float32)
    moved = np.zeros_like(rough_px)
    for _ in range(ROUNDS):
        around = patches(ink, rough_px + moved, reach)
        model = np.median(around[model_holes], axis=0)
        slope_down, slope_across = np.gradient(model)
        larger = -(across * slope_across + down * slope_down)
        even = np.ones_like(model)
        design = np.stack([slope_across, slope_down, model, larger, even], axis=-1)[disc]
        design = design.astype(np.float32)
        moved += _robust_shift(around[:, disc], clear, design, model_holes)
        far = np.hypot(*moved.T)[:, None]
        moved *= np.minimum(1, farthest_px / np.maximum(far, 1e-9))
    settled = np.median(patches(ink, (rough_px + moved)[model_holes], reach), axis=0)
    return rough_px + moved + _middle_of(settled, radius_px)


def _robust_shift(values: Ink, clear: Ink, design: Ink, examples: NDArray[np.intp]) -> Floats:
    """(n, 2) how far the mark must be moved to explain each row of values best.

    Args:
        values: (n, p) ink round each hole.
        clear: (n, p) how far each pixel is free of lines, from 0 to 1.
        design: (p, 5) the mark's slopes across and down, the mark, what a larger mark adds (the
            holes of a sheet differ in size), and ones.
        examples: Rows that show how far a hole differs from the mark.
    """
    terms = design.shape[1]
    products = (design[:, :, None] * design[:, None, :]).reshape(-1, terms**2)
    left = values - design[:, 2]
    left -= np.median(left, axis=1)[:, None]
    spread = 1.4826 * np.median(np.abs(left[examples]), axis=0)
    reach = (MISFIT_DEVIATIONS * np.maximum(spread, np.median(spread)) + 1e-3).astype(np.float32)
    for _ in range(REWEIGHTINGS):
        weight = clear / (1 + (left / reach) ** 2)
        normal = (weight @ products).reshape(-1, terms, terms)
        normal += 1e-6 * np.eye(terms, dtype=np.float32)
        right = (weight * values) @ design
        solution = np.linalg.solve(normal, right[..., None])[..., 0]
        left = values - solution @ design.T
    height = np.maximum(np.abs(solution[:, 2:3]), 0.2)
    return (-solution[:, :2] / height).astype(np.float64)


def _middle_of(model: Ink, radius_px: float) -> Floats:
    """(2,) the middle of the mark as (x, y) from the middle of the array.

    On rays from the middle outwards the place of steepest fall is the edge, whatever lies beyond
    it; the circle through these places has its middle at their first harmonic.
    """
    reach = len(model) // 2
    angles = 2 * np.pi * np.arange(RAYS) / RAYS
    steps = np.arange(0.4 * radius_px, min(1.5 * radius_px, reach - 1), 0.1)
    rows = reach + np.outer(np.sin(angles), steps)
    columns = reach + np.outer(np.cos(angles), steps)
    profile = ndimage.map_coordinates(model.astype(np.float64), [rows, columns], order=3)
    edge = steps[np.argmax(-np.gradient(profile, axis=1), axis=1)]
    usual = np.median(edge)
    edge = np.clip(edge, 0.7 * usual, 1.3 * usual)
    return 2 * np.array([(edge * np.cos(angles)).mean(), (edge * np.sin(angles)).mean()])
