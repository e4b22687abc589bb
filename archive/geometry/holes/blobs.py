"""Blobs of one size in a picture.

A blob is a peak of the smaller eigenvalue of the Hessian: a line curves in one direction only
and vanishes, a dot on a line remains. The strength of a blob is this curvature, made
independent of scale by the square of the smoothing and told as a share of the light there.

Source: T. Lindeberg, Feature detection with automatic scale selection, International Journal of
Computer Vision 30 (1998), for the scale-normalised Hessian.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from archive.geometry.holes.light import Floats, Grey, Light

STRIP_ROWS = 192
"""Rows worked on at once, so that the intermediate arrays stay in the processor's cache."""

FAINTEST = 0.002
"""Strength below which a blob is no more than rounding: half a grey step of 255."""

MOST_BLOBS = 60_000
"""More than the pins of an A4 sheet at the finest pitch of the trade, 0.9 mm."""


@dataclass(frozen=True)
class Blobs:
    """Peaks of one polarity: (n, 2) positions as (x, y) px and (n,) strengths, strongest first."""

    positions_px: Floats
    strength: Floats

    def __len__(self) -> int:
        return len(self.strength)

    def stronger_than(self, strength: float) -> Blobs:
        """The blobs of at least this strength."""
        return self.strongest(int(np.searchsorted(-self.strength, -strength, side="right")))

    def strongest(self, count: int) -> Blobs:
        """The first `count` blobs."""
        return Blobs(self.positions_px[:count], self.strength[:count])

    def only(self, which: NDArray[np.bool_] | NDArray[np.intp]) -> Blobs:
        """The blobs chosen by a mask or by their numbers."""
        return Blobs(self.positions_px[which], self.strength[which])

    def apart(self, distance_px: float) -> Blobs:
        """The blobs without those that have a stronger one within the distance."""
        return self.only(first_of_near(self.positions_px, distance_px))


def first_of_near(positions_px: Floats, distance_px: float) -> NDArray[np.bool_]:
    """(n,) whether no earlier position lies within the distance."""
    pairs = cKDTree(positions_px).query_pairs(distance_px, output_type="ndarray")
    first = np.ones(len(positions_px), dtype=bool)
    if len(pairs):
        first[pairs.max(axis=1)] = False
    return first


def find_both_blobs(grey: Grey, light: Light, sigma_px: float) -> tuple[Blobs, Blobs]:
    """The dark and the bright blobs of one size, strongest first."""
    dark, bright = [], []
    for half_trace, spread, first, inside in _hessian_strips(grey, sigma_px):
        dark.append(_peaks(half_trace - spread, FAINTEST, first, inside))
        bright.append(_peaks(-half_trace - spread, FAINTEST, first, inside))
    return _strongest(dark, light), _strongest(bright, light)


def find_bright_blobs(grey: Grey, light: Light, sigma_px: float, *, faintest: float) -> Blobs:
    """The bright blobs of one size that are stronger than `faintest`, strongest first."""
    least = max(FAINTEST, faintest * float(light.cells.min()))
    peaks = [
        _peaks(-half_trace - spread, least, first, inside)
        for half_trace, spread, first, inside in _hessian_strips(grey, sigma_px)
    ]
    return _strongest(peaks, light).stronger_than(faintest)


def halved(grey: Grey) -> Grey:
    """The picture at half the resolution, each pixel the mean of four; odd edges are cut."""
    rows, columns = grey.shape[0] // 2 * 2, grey.shape[1] // 2 * 2
    total = grey[0:rows:2, 0:columns:2] + grey[1:rows:2, 0:columns:2]
    total += grey[0:rows:2, 1:columns:2]
    total += grey[1:rows:2, 1:columns:2]
    total *= np.float32(0.25)
    return total


def _hessian_strips(
    grey: Grey, sigma_px: float
) -> Iterator[tuple[Grey, Grey, int, tuple[int, int]]]:
    """Strip by strip half the trace of the Hessian and half the difference of its eigenvalues.

    Both lack one pixel all round. With them come the first row of the strip and the rows, from
    and to, of which its peaks are to be taken.
    """
    reach = int(np.ceil(3 * sigma_px)) + 3
    for top in range(0, grey.shape[0], STRIP_ROWS):
        bottom = min(grey.shape[0], top + STRIP_ROWS)
        first, last = max(0, top - reach), min(grey.shape[0], bottom + reach)
        smooth = ndimage.gaussian_filter(grey[first:last], sigma_px, truncate=3)
        smooth *= np.float32(sigma_px**2 / 2)
        twice = 2 * smooth[1:-1, 1:-1]
        xx = smooth[1:-1, 2:] + smooth[1:-1, :-2]
        xx -= twice
        yy = smooth[2:, 1:-1] + smooth[:-2, 1:-1]
        yy -= twice
        xy = smooth[2:, 2:] + smooth[:-2, :-2]
        xy -= smooth[2:, :-2]
        xy -= smooth[:-2, 2:]
        xy *= np.float32(0.5)
        half_trace = xx + yy
        xx -= yy
        xx *= xx
        xy *= xy
        xx += xy
        yield half_trace, np.sqrt(xx, out=xx), first, (top, bottom)


def _peaks(smaller: Grey, least: float, first: int, inside: tuple[int, int]) -> Floats:
    """(n, 3) x, y and strength of the maxima, placed by a parabola along each axis."""
    middle = smaller[1:-1, 1:-1]
    peak = middle > least
    rows, columns = smaller.shape
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        peak &= middle > smaller[1 + down : rows - 1 + down, 1 + across : columns - 1 + across]
        peak &= middle >= smaller[1 - down : rows - 1 - down, 1 - across : columns - 1 - across]
    y, x = np.divmod(np.flatnonzero(peak), columns - 2)
    y, x = y + 1, x + 1
    height = smaller[y, x].astype(np.float64)
    place = np.stack([x, y, height], axis=1)
    for axis, (down, across) in enumerate(((0, 1), (1, 0))):
        before = smaller[y - down, x - across].astype(np.float64)
        after = smaller[y + down, x + across].astype(np.float64)
        bend = 2 * height - before - after
        place[:, axis] += np.clip((after - before) / np.maximum(2 * bend, 1e-12), -0.5, 0.5)
    # The Hessian starts one pixel inside the strip.
    place[:, :2] += (1, 1 + first)
    return place[(place[:, 1] >= inside[0]) & (place[:, 1] < inside[1])]


def _strongest(peaks: list[Floats], light: Light) -> Blobs:
    """All peaks in order of strength, as many as any sheet can need."""
    found = np.concatenate(peaks)
    found[:, 2] /= light.at(found[:, :2])
    order = np.argsort(-found[:, 2], kind="stable")[:MOST_BLOBS]
    return Blobs(found[order, :2], found[order, 2])
