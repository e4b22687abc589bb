"""The holes of a scanned pricking, found with one setting for every sheet.

Nothing is asked of the user: which scale, whether the holes are darker or lighter than the
sheet, and how much they must stand out are read from the picture. The guide is that the holes
of a pricking explain each other: what surrounds one hole surrounds its neighbours too, whereas
digits, specks and line crossings agree with nobody. The steps, each in a room of its own:

1. `holes_sighting`: blobs of every size and both polarities; the size and polarity whose blobs
   explain each other best are taken.
2. `holes_judging`: the blobs that are well explained teach what a hole looks like on this
   sheet; every blob is judged by its looks and by its place among the others.
3. `holes_centring`: the centre of each hole to a fraction of a pixel.

Knows arrays of grey values only; knows nothing of millimetres, files or lace.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes_centring import centre_holes
from archive.geometry.holes_judging import judge_blobs, mark_radius, padded
from archive.geometry.holes_sighting import (
    Sighting,
    explained_blobs,
    find_blobs,
    halved,
    sight_holes,
)


@dataclass(frozen=True)
class Holes:
    """The holes found in one scan.

    Attributes:
        positions_px: (n, 2) float64, centres as (x, y) in px, pixel centres at whole numbers,
            y down, in reading order; (0, 2) where nothing was found.
        confidence: (n,) float64, how likely each is a hole, 0 to 1.
        radius_px: Half the width of a typical mark; 0 where nothing was found.
        polarity: Whether the holes are darker or lighter than the sheet.
    """

    positions_px: NDArray[np.float64]
    confidence: NDArray[np.float64]
    radius_px: float
    polarity: Literal["dark", "light"]


NO_HOLES = Holes(np.empty((0, 2)), np.empty(0), 0.0, "dark")

SMALLEST_SIDE_PX = 16
"""A picture below this has no room for a hole and its surroundings."""


def find_holes(scan_grey: NDArray[np.float32]) -> Holes:
    """All holes of the scan, with sub-pixel centres.

    Args:
        scan_grey: (rows, columns) luminance, 0 black to 1 white. Any picture is taken: one
            without holes, or too small for them, gives an empty result.
    """
    grey = _settled(scan_grey)
    if grey is None:
        return NO_HOLES
    sighting = sight_holes(grey)
    if sighting is None:
        return NO_HOLES
    radius_px, level, sigma_px = _working_scale(grey, sighting)
    ink = grey
    for _ in range(level):
        ink = halved(ink)
    ink = 1 - ink if sighting.polarity == "dark" else ink
    blobs = find_blobs(ink, sigma_px)[1]
    around = padded(ink)
    factor = 2**level
    judged = judge_blobs(around, blobs, sigma_px, radius_px / factor, sighting.usual_strength)
    if not len(judged.positions_px):
        return NO_HOLES
    centres = centre_holes(around, judged.positions_px, radius_px / factor)
    centres_px = (centres + 0.5) * factor - 0.5
    order = np.lexsort((centres_px[:, 0], centres_px[:, 1]))
    return Holes(centres_px[order], judged.confidence[order], radius_px, sighting.polarity)


def _working_scale(grey: NDArray[np.float32], sighting: Sighting) -> tuple[float, int, float]:
    """The mark's radius in px of the scan, and the level and smoothing to look for it."""
    ink = grey
    for _ in range(sighting.level):
        ink = halved(ink)
    ink = 1 - ink if sighting.polarity == "dark" else ink
    explained = sighting.blobs.positions_px[explained_blobs(sighting.blobs, sighting.sigma_px)]
    radius_px, hollow = mark_radius(padded(ink), explained)
    radius_px *= 2**sighting.level
    level = max(int(np.log2(radius_px / 2.5)), 0) if radius_px > 2.5 else 0
    sigma_px = (0.85 if hollow else 0.62) * radius_px / 2**level
    return radius_px, level, max(sigma_px, 1.0)


def _settled(scan_grey: NDArray[np.float32]) -> NDArray[np.float32] | None:
    """The scan as finite float32, or None where it has no room for a hole."""
    if scan_grey.ndim != 2 or min(scan_grey.shape) < SMALLEST_SIDE_PX:
        return None
    grey = np.ascontiguousarray(scan_grey, dtype=np.float32)
    if not np.isfinite(grey).all():
        grey = np.nan_to_num(grey, nan=0.0, posinf=1.0, neginf=0.0)
    return np.clip(grey, 0, 1)
