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

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from archive.geometry.holes_centring import centre_holes
from archive.geometry.holes_judging import judge_blobs, mark_radius, with_margin
from archive.geometry.holes_sighting import (
    Polarity,
    Sighting,
    explained_blobs,
    find_blobs,
    halved,
    sight_holes,
)

LIGHT = 1
"""Which of the two polarities of blobs are high."""

FINEST_DOT_PX = 2.5
FINEST_RING_PX = 3.5
"""Least radius of a mark at the level it is looked at: below, its shape is lost; far above, only
time is."""


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
    polarity: Polarity


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
    mark = _seen_mark(grey, sighting)
    ink = _ink(grey, mark.level, sighting.polarity)
    blobs = find_blobs(mark.filled(ink), mark.sigma_px)[LIGHT]
    ink = with_margin(ink)
    judged = judge_blobs(
        ink,
        blobs,
        sigma_px=mark.sigma_px,
        radius_px=mark.radius_px,
        usual_strength=sighting.usual_strength,
    )
    if not len(judged.positions_px):
        return NO_HOLES
    centres = centre_holes(ink, judged.positions_px, mark.radius_px)
    factor = 2**mark.level
    centres_px = (centres + 0.5) * factor - 0.5
    order = np.lexsort((centres_px[:, 0], centres_px[:, 1]))
    return Holes(
        centres_px[order], judged.confidence[order], mark.radius_px * factor, sighting.polarity
    )


@dataclass(frozen=True)
class Mark:
    """What a hole looks like, and at which level of the picture it is best looked at.

    Attributes:
        level: How often the picture is halved.
        radius_px: Half the mark's width at that level.
        hollow: Whether it is lighter in its middle, as a ring is.
    """

    level: int
    radius_px: float
    hollow: bool

    @property
    def sigma_px(self) -> float:
        """The smoothing at which such a mark stands out from what touches it."""
        return max(0.6 * self.radius_px, 1.0)

    def filled(self, ink: NDArray[np.float32]) -> NDArray[np.float32]:
        """The ink with rings filled in, so that each is one blob and not a wreath of them."""
        if not self.hollow:
            return ink
        side = 2 * int(0.6 * self.radius_px) + 1
        smooth = ndimage.gaussian_filter(ink, 0.6)
        filled: NDArray[np.float32] = ndimage.grey_closing(smooth, size=(side, side))
        return filled


def _seen_mark(grey: NDArray[np.float32], sighting: Sighting) -> Mark:
    """The mark that the explained blobs of the sighting have in common."""
    ink = with_margin(_ink(grey, sighting.level, sighting.polarity))
    explained = explained_blobs(sighting.blobs, sighting.sigma_px)
    radius_px, hollow = mark_radius(ink, sighting.blobs.positions_px[explained])
    radius_px *= 2**sighting.level
    finest_px = FINEST_RING_PX if hollow else FINEST_DOT_PX
    level = max(int(np.log2(radius_px / finest_px)), 0)
    return Mark(level, radius_px / 2**level, hollow)


def _ink(grey: NDArray[np.float32], level: int, polarity: Polarity) -> NDArray[np.float32]:
    """The picture at one level, turned so that holes are high."""
    for _ in range(level):
        grey = halved(grey)
    return 1 - grey if polarity == "dark" else grey


def _settled(scan_grey: NDArray[np.float32]) -> NDArray[np.float32] | None:
    """The scan as finite float32, or None where it has no room for a hole."""
    if scan_grey.ndim != 2 or min(scan_grey.shape) < SMALLEST_SIDE_PX:
        return None
    grey = np.ascontiguousarray(scan_grey, dtype=np.float32)
    if not np.isfinite(grey).all():
        grey = np.nan_to_num(grey, nan=0.0, posinf=1.0, neginf=0.0)
    return np.clip(grey, 0, 1)
