"""The centre of each hole to a fraction of a pixel.

The mark that all holes of a sheet have in common is laid over each of them and shifted until it
fits best. A pixel that differs from the mark more than it does elsewhere on the sheet, or on which
a gimp or another line lies, counts for little, and how uneven the sheet is between the holes tells
how far one side of a mark may be darker than the other. Only a rim that catches the light puts the
middle of the mark itself aside (`rims`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import Voronoi, cKDTree

from archive.geometry.holes.light import Floats
from archive.geometry.holes.marks import Ink, Mark, patches, without_margin
from archive.geometry.holes.rims import middle_beside_rim

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

LEAST_RISE = 1e-4
LEAST_RING_RISE = 0.1
"""Rise over a radius that is always likely, as a share of a hole's ink. Rings stand so near to
lines and to each other that one side of them is the darker on any sheet: on seven rendered scans
the second took their mean error from 17 to 12 µm, on three photocopies from 18 to 19. Dots lost by
it."""

MEDIAN_OF_RAYLEIGH = float(np.sqrt(2 * np.log(2)))
"""Median length of two deviations drawn as normal ones are, in units of either's."""

BARE_RADII = 2.7
FEWEST_BARE = 30
MOST_BARE = 3000
"""How far bare sheet lies from every blob, in radii of a mark; how few places of it tell nothing,
and how many are looked at."""

LINE_INK = 0.2
"""Ink of a line, as a share of a hole's, at which a pixel counts half."""

MODEL_HOLES = 3000
"""Holes that the mark is made from, strongest first."""


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
    rise = _usual_rise(ink, rough_px, examples, radius_px)
    least_share = LEAST_RING_RISE if mark.hollow else LEAST_RISE
    moved = np.zeros_like(rough_px)
    for _ in range(ROUNDS):
        around = patches(ink, rough_px + moved, reach)
        model = np.median(around[model_holes], axis=0)
        slope_down, slope_across = np.gradient(model)
        larger = -(across * slope_across + down * slope_down)
        even = np.ones_like(model)
        terms = [
            slope_across,
            slope_down,
            model,
            larger,
            even,
            across / radius_px,
            down / radius_px,
        ]
        design = np.stack(terms, axis=-1)[disc].astype(np.float32)
        likely = max(rise, least_share * float(np.ptp(model)))
        moved += _robust_shift(around[:, disc], clear, design, model_holes, likely)
        far = np.hypot(*moved.T)[:, None]
        moved *= np.minimum(1, farthest_px / np.maximum(far, 1e-9))
    centres_px = rough_px + moved
    if mark.hollow:
        return centres_px
    settled = np.median(patches(ink, centres_px[model_holes], reach), axis=0)
    return centres_px + middle_beside_rim(settled, radius_px)


def _usual_rise(ink: Ink, rough_px: Floats, examples: NDArray[np.bool_], radius_px: float) -> float:
    """How much the ink of the bare sheet rises over a radius along either axis: a deviation.

    On rough paper one side of a mark is darker than the other for no fault of the mark. Looked at
    are the corners of the examples' Voronoi cells, the places farthest from them. 0 where marks
    are too crowded for any of these to be bare.
    """
    if examples.sum() < FEWEST_BARE:
        return 0.0
    corners_px = Voronoi(rough_px[examples], qhull_options="QJ").vertices
    bare = cKDTree(rough_px).query(corners_px)[0] > BARE_RADII * radius_px
    inside = (corners_px >= 0) & (corners_px < without_margin(ink).shape[::-1])
    places_px = corners_px[bare & inside.all(axis=1)][:MOST_BARE]
    if len(places_px) < FEWEST_BARE:
        return 0.0
    reach = int(1.5 * radius_px)
    steps = np.arange(-reach, reach + 1, dtype=np.float32) / np.float32(radius_px)
    around = patches(ink, places_px, reach)
    across, down = around.mean(axis=1) @ steps, around.mean(axis=2) @ steps
    return float(np.median(np.hypot(across, down)) / (steps @ steps) / MEDIAN_OF_RAYLEIGH)


def _robust_shift(
    values: Ink, clear: Ink, design: Ink, examples: NDArray[np.intp], rise: float
) -> Floats:
    """(n, 2) how far the mark must be moved to explain each row of values best.

    Args:
        values: (n, p) ink round each hole.
        clear: (n, p) how far each pixel is free of lines, from 0 to 1.
        design: (p, 7) the mark's slopes across and down, the mark, what a larger mark adds (the
            holes of a sheet differ in size), ones, and an even rise across and down.
        examples: Rows that show how far a hole differs from the mark.
        rise: How much the sheet is likely to rise along either axis. The fit is the likeliest one,
            as in Bayesian linear regression: what is as likely noise is counted as noise.
    """
    terms = design.shape[1]
    products = (design[:, :, None] * design[:, None, :]).reshape(-1, terms**2)
    left = values - design[:, 2]
    left -= np.median(left, axis=1)[:, None]
    spread = 1.4826 * np.median(np.abs(left[examples]), axis=0)
    reach = (MISFIT_DEVIATIONS * np.maximum(spread, np.median(spread)) + 1e-3).astype(np.float32)
    doubt = np.full(terms, 1e-6, dtype=np.float32)
    doubt[5:] += (spread**2).mean() / rise**2
    for _ in range(REWEIGHTINGS):
        weight = clear / (1 + (left / reach) ** 2)
        normal = (weight @ products).reshape(-1, terms, terms)
        normal += np.diag(doubt)
        right = (weight * values) @ design
        solution = np.linalg.solve(normal, right[..., None])[..., 0]
        left = values - solution @ design.T
    height = np.maximum(np.abs(solution[:, 2:3]), 0.2)
    return (-solution[:, :2] / height).astype(np.float64)
