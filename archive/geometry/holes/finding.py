"""The holes of a scanned pricking, found with one setting for every sheet.

Nothing is asked of the user: which scale, whether the holes are darker or lighter than the
sheet, and how much they must stand out are read from the picture. The guide is that the holes
of a pricking explain each other: what surrounds one hole surrounds its neighbours too, whereas
digits, specks and line crossings agree with nobody. The steps, each in a room of its own:

1. `sighting`: blobs (`blobs`) of every size and both polarities; the size and
   polarity whose blobs explain each other (`agreement`) best are taken. How much a blob
   stands out is told as a share of the light there (`light`), and what a scanner's streaks
   draw is left out (`streaks`).
2. `marks`: what a hole looks like here, be it a dot, a ring, a cross or a pricked hole,
   and the level of the picture at which it is best looked at.
3. `centring`: the centre of each to a fraction of a pixel, whatever lines touch it
   (`lines`) and whatever light falls on its rim (`rims`).
4. `judging`: every blob judged by its looks and by its place among the others.

Knows arrays of grey values only; knows nothing of millimetres, files or lace.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.geometry.holes.agreement import SHARED_FOR_SURE, shared_offsets
from archive.geometry.holes.blobs import find_bright_blobs
from archive.geometry.holes.judging import FAINTEST_SHARE, SURE, judge_blobs
from archive.geometry.holes.light import Grey, Light, light_of
from archive.geometry.holes.marks import ink_of, seen_mark, without_margin
from archive.geometry.holes.sighting import SMALLEST_SIDE_PX, Polarity, Sighting, sight_holes


@dataclass(frozen=True)
class Holes:
    """The holes found in one scan.

    Attributes:
        positions_px: (n, 2) float64, centres as (x, y) in px, pixel centres at whole numbers,
            y down, from top to bottom; (0, 2) where nothing was found.
        confidence: (n,) float64, how likely each is a hole, 0 to 1.
        radius_px: Half the width of a typical mark; 0 where nothing was found.
        polarity: Whether the holes are darker or lighter than the sheet.
    """

    positions_px: NDArray[np.float64]
    confidence: NDArray[np.float64]
    radius_px: float
    polarity: Polarity


LEAST_ORDER = 0.3
"""Share of the holes found that must be sure and explain each other for the sheet to be a pricking.
In rendered scans it is 0.8 and more, on a winding tape without a ground 0.4, on pages of words 0.24
at most."""

LEAST_ALIKE = 0.95
"""How like each other the sure holes must be. In rendered scans it is 0.977 and more, of letters on
pages of words, which stand in order too, 0.93 at most. Rings are not asked: of thin ones a
photocopy leaves pieces that are as unlike (0.63 on one scan)."""

NO_HOLES = Holes(np.empty((0, 2)), np.empty(0), 0.0, "dark")


def find_holes(scan_grey: NDArray[np.float32]) -> Holes:
    """All holes of the scan, with sub-pixel centres.

    Args:
        scan_grey: (rows, columns) luminance, 0 black to 1 white. Any picture is taken: one
            without holes, or with too few to explain each other (about 15), gives an empty
            result.
    """
    grey = _settled(scan_grey)
    if grey is None:
        return NO_HOLES
    light = light_of(grey)
    for sighting in sight_holes(grey, light):
        holes = _holes_as_sighted(grey, light, sighting)
        if len(holes.positions_px):
            return holes
    return NO_HOLES


def _holes_as_sighted(grey: Grey, light: Light, sighting: Sighting) -> Holes:
    """The holes of the sighting's size and polarity; none where they are in no order."""
    mark = seen_mark(grey, sighting)
    ink = ink_of(grey, mark.level, sighting.polarity)
    blobs = find_bright_blobs(
        mark.filled(without_margin(ink)),
        light.at_level(mark.level),
        mark.sigma_px,
        faintest=FAINTEST_SHARE * sighting.usual_strength,
    )
    judged = judge_blobs(ink, blobs, mark, usual_strength=sighting.usual_strength)
    sure_px = judged.positions_px[judged.confidence > SURE]
    explained = shared_offsets(sure_px) >= SHARED_FOR_SURE
    in_order = explained.sum() > LEAST_ORDER * len(judged.positions_px)
    unlike = judged.alike < LEAST_ALIKE and not mark.hollow
    if not in_order or unlike:
        return NO_HOLES
    factor = 2**mark.level
    centres_px = (judged.positions_px + 0.5) * factor - 0.5
    order = np.lexsort((centres_px[:, 0], centres_px[:, 1]))
    return Holes(
        centres_px[order], judged.confidence[order], mark.radius_px * factor, sighting.polarity
    )


def _settled(scan_grey: NDArray[np.float32]) -> NDArray[np.float32] | None:
    """The scan as finite float32, or None where it has no room for a hole."""
    if scan_grey.ndim != 2 or min(scan_grey.shape) < SMALLEST_SIDE_PX:
        return None
    grey = np.asarray(scan_grey, dtype=np.float32)
    if not np.isfinite(grey).all():
        grey = np.nan_to_num(grey, nan=0.0, posinf=1.0, neginf=0.0)
    return np.clip(grey, 0, 1)
