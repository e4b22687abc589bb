"""The mark that shows a hole on one sheet, and the picture in the form it is looked at.

That form is `ink`: one level of the picture, turned so that holes are high whatever their
polarity, with its edge pixels repeated outwards so that every hole has surroundings. Positions
leave the margin out of account.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy import ndimage

from archive.geometry.holes.blobs import STRIP_ROWS, halved
from archive.geometry.holes.light import Floats, Grey
from archive.geometry.holes.sighting import Polarity, Sighting

Ink = Grey

MARGIN_PX = 26
"""Pixels added round the picture: room for the widest surroundings that are looked at, three
radii of 7.5 px and a pixel to shift by."""

FINEST_DOT_PX = 2.5
FINEST_RING_PX = 3.5
"""Least radius of a mark at the level it is looked at: below, its shape is lost; far above, only
time is."""

LARGE_PIXELS = 12_000_000
FINEST_DOT_IN_LARGE_PX = 1.8
"""On pictures of more pixels (A4 at 600 dpi has 35 million) a dot may be smaller than that."""

DOT_SIGMA = 0.6
RING_SIGMA = 0.5
"""Smoothing in radii of a mark. A ring is as wide as its neighbours are near: smoothed as much as a
dot it runs together with them."""

FILLED_RADII = 1.1
LEAST_AHEAD = 4
"""How far ahead, in radii of a mark, ink is looked for that shuts in the middle of a ring; how many
of eight directions, those with the least ink, tell how far it is shut in."""

HOLLOW_SHARE = 0.5
"""A mark is hollow if its middle has lost half of what lifts its ink above the half-way level."""

MARK_HOLES = 300
"""Holes that a mark is measured on."""


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
        return max((RING_SIGMA if self.hollow else DOT_SIGMA) * self.radius_px, 1.0)

    def filled(self, ink: Ink) -> Ink:
        """The ink with rings filled in, so that each is one blob and not a wreath of them."""
        if not self.hollow:
            return ink
        smooth = ndimage.gaussian_filter(ink, 0.6)
        reach_px = FILLED_RADII * self.radius_px
        reach = int(np.ceil(reach_px))
        filled = np.empty_like(smooth)
        for top in range(0, len(ink), STRIP_ROWS):
            first = max(0, top - reach)
            ahead = _ink_ahead(smooth[first : top + STRIP_ROWS + reach], reach_px)
            filled[top : top + STRIP_ROWS] = ahead[top - first :][:STRIP_ROWS]
        return filled


def _ink_ahead(ink: Ink, reach_px: float) -> Ink:
    """The most ink that is met in each of eight directions, the mean of the four least.

    A ring may have gaps, as photocopies leave them, and is still shut in on most sides. Beyond the
    picture there is no ink.
    """
    ahead = []
    for down, across in product((-1, 0, 1), repeat=2):
        if not (down or across):
            continue
        steps = range(1, int(np.ceil(reach_px / np.hypot(down, across))) + 1)
        way = [(step * down, step * across) for step in steps]
        if down and across:
            # Else a thin line that runs aslant could lie between two steps.
            way += [(step * down, (step - 1) * across) for step in steps]
        most = np.zeros_like(ink)
        for below, beside in way:
            here = _shifted(most, below, beside)
            np.maximum(here, _shifted(ink, -below, -beside), out=here)
        ahead.append(most)
    least: Ink = np.partition(ahead, LEAST_AHEAD - 1, axis=0)[:LEAST_AHEAD].mean(axis=0)
    return least


def _shifted(ink: Ink, down: int, across: int) -> Ink:
    """The part of a picture that has a pixel so far ahead, as a view."""
    rows, columns = ink.shape
    return ink[
        max(-down, 0) : rows - max(down, 0),
        max(-across, 0) : columns - max(across, 0),
    ]


def seen_mark(grey: Grey, sighting: Sighting) -> Mark:
    """The mark that the examples of a sighting have in common."""
    radius_px, hollow = _half_width(grey, sighting, sighting.level)
    if not hollow and sighting.level:
        # Smoothed much, a ring looks like a dot.
        finer_px, hollow = _half_width(grey, sighting, sighting.level - 1)
        radius_px = finer_px if hollow else radius_px
    finest_px = FINEST_DOT_IN_LARGE_PX if grey.size > LARGE_PIXELS else FINEST_DOT_PX
    if hollow:
        finest_px = FINEST_RING_PX
    level = max(int(np.log2(radius_px / finest_px)), 0)
    return Mark(level, radius_px / 2**level, hollow)


def ink_of(grey: Grey, level: int, polarity: Polarity) -> Ink:
    """The picture at one level, holes high, with its margin."""
    for _ in range(level):
        grey = halved(grey)
    rows, columns = grey.shape
    ink = np.empty((rows + 2 * MARGIN_PX, columns + 2 * MARGIN_PX), dtype=np.float32)
    inside = without_margin(ink)
    if polarity == "dark":
        np.subtract(1, grey, out=inside)
    else:
        inside[:] = grey
    ink[:MARGIN_PX, MARGIN_PX:-MARGIN_PX] = inside[0]
    ink[-MARGIN_PX:, MARGIN_PX:-MARGIN_PX] = inside[-1]
    ink[:, :MARGIN_PX] = ink[:, MARGIN_PX : MARGIN_PX + 1]
    ink[:, -MARGIN_PX:] = ink[:, -MARGIN_PX - 1 : -MARGIN_PX]
    return ink


def without_margin(ink: Ink) -> Ink:
    """The picture itself, as a view."""
    return ink[MARGIN_PX:-MARGIN_PX, MARGIN_PX:-MARGIN_PX]


def patches(ink: Ink, positions_px: Floats, reach: int) -> Ink:
    """(n, 2 reach + 1, 2 reach + 1) what lies round each position, to a fraction of a pixel.

    Args:
        ink: The picture with its margin.
        positions_px: (n, 2) as (x, y), inside the picture.
        reach: Pixels to each side, fewer than `MARGIN_PX`.
    """
    side = 2 * reach + 2
    whole = np.floor(positions_px)
    right, down = (positions_px - whole).astype(np.float32).T[:, :, None, None]
    x, y = whole.astype(int).T + (MARGIN_PX - reach)
    raw = np.lib.stride_tricks.sliding_window_view(ink, (side, side))[y, x]
    rows = raw[:, :-1] + down * (raw[:, 1:] - raw[:, :-1])
    shifted: Ink = rows[:, :, :-1] + right * (rows[:, :, 1:] - rows[:, :, :-1])
    return shifted


def _half_width(grey: Grey, sighting: Sighting, level: int) -> tuple[float, bool]:
    """Where the examples' ink falls to half, in px, and whether they are hollow, at one level."""
    ink = ink_of(grey, level, sighting.polarity)
    finer = 2 ** (sighting.level - level)
    examples_px = (sighting.examples.positions_px[:MARK_HOLES] + 0.5) * finer - 0.5
    reach = MARGIN_PX - 2
    typical = np.median(patches(ink, examples_px, reach), axis=0)
    far = np.hypot(*np.mgrid[-reach : reach + 1, -reach : reach + 1])
    rings = np.rint(far).astype(int).ravel()
    profile = (np.bincount(rings, typical.ravel()) / np.bincount(rings))[: reach + 1]
    top = int(np.argmax(profile[: reach // 2]))
    end = top + int(np.argmin(profile[top:]))
    half = (profile[top] + profile[end]) / 2
    outside = max(top + int(np.argmax(profile[top:] < half)), 1)
    inner, outer = profile[outside - 1], profile[outside]
    radius_px = outside - 1 + float((inner - half) / max(inner - outer, 1e-9))
    hollow = profile[0] < half + HOLLOW_SHARE * (profile[top] - half)
    return max(radius_px, 0.8) * 2**level, bool(hollow)
