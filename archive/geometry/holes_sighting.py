"""Blobs of every size, and the size and polarity whose blobs explain each other best.

A blob is a peak of the smaller eigenvalue of the Hessian: a line curves in one direction only
and vanishes, a dot on a line remains. The strength of a blob is this curvature, made
independent of scale by the square of the smoothing.

Two blobs explain each other where what surrounds one surrounds the other: they share the
offsets to their neighbours. That needs no knowledge of the lattice, holds for several
lattices, rows and bent strips alike, and is next to impossible by chance.

Source: the scale-normalised Hessian is T. Lindeberg's (Feature detection with automatic scale
selection, International Journal of Computer Vision 30, 1998).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

Polarity = Literal["dark", "light"]
POLARITIES: tuple[Polarity, Polarity] = ("dark", "light")

SMALLEST_SIDE_PX = 16
"""A picture below this has no room for a hole and its surroundings."""

FINE_SIGMAS = (1.0, 1.4, 2.0)
"""Smoothings in px tried on the finest level that is searched whole; a dot of radius r answers
most at r/√2, so these see radii from 1 to 3 px."""

COARSE_SIGMAS = (1.4, 2.0)
"""Smoothings tried on each halved level, which together with the finer ones leave no gap."""

QUICK_PIXELS = 3_000_000
"""A picture is first searched at the level that has fewer pixels than this."""

STRIP_ROWS = 256
"""Rows worked on at once, so that the intermediate arrays stay in the processor's cache."""

FAINTEST = 0.002
"""Strength below which a blob is no more than rounding: half a grey step of 255."""

MOST_BLOBS = 60_000
"""More than the pins of an A4 sheet at the finest pitch of the trade, 0.9 mm."""

OFFSETS = 12
NEIGHBOURS = 8
SHARED_FOR_SURE = 4
"""Offsets, of twelve, that a blob must share with each of two of its eight nearest neighbours to
count as explained. Of 20,000 points strewn at random 0.3 % reach it, of a net with half as many
strewn points among its own 89 %, of a honeycomb so disturbed 60 %."""

CHANCE_SHARE = 0.01
"""Share of explained blobs that is no sign of order."""

TOLERANCE = 0.17
"""How far two offsets may differ, as a share of the distance to the neighbours: about three times
the deviation of a hole pricked by hand, 0.05 mm at 1 mm."""

FAINTEST_SHARE = 0.1
"""Strength, as a share of the strongest blobs', below which none is tried."""

CROWDED_SIGMAS = 3.0
"""Two blobs nearer than this are parts of one mark, such as the sides of a ring."""

BAND_BLOBS = 2500
"""Explaining is tried on a band of the sheet with at most this many blobs."""


@dataclass(frozen=True)
class Blobs:
    """Peaks of one polarity: (n, 2) positions as (x, y) px and (n,) strengths, strongest first."""

    positions_px: NDArray[np.float64]
    strength: NDArray[np.float64]

    def stronger_than(self, strength: float) -> Blobs:
        """The blobs of at least this strength."""
        count = int(np.searchsorted(-self.strength, -strength, side="right"))
        return self.strongest(count)

    def strongest(self, count: int) -> Blobs:
        """The first `count` blobs."""
        return Blobs(self.positions_px[:count], self.strength[:count])

    def apart(self, distance_px: float) -> Blobs:
        """The blobs without those that have a stronger one within the distance."""
        pairs = cKDTree(self.positions_px).query_pairs(distance_px, output_type="ndarray")
        keep = np.ones(len(self.strength), dtype=bool)
        keep[pairs.max(axis=1, initial=0)] = len(pairs) == 0
        return Blobs(self.positions_px[keep], self.strength[keep])


@dataclass(frozen=True)
class Sighting:
    """The scale at which a picture shows its holes.

    Attributes:
        level: How often the picture is halved.
        sigma_px: Smoothing at that level.
        polarity: Whether holes are dark or light.
        blobs: Those strong enough that most of them explain each other, in px of that level.
        agreement: How much of the picture they explain: squared strength, times their size
            because the sides of a ring agree as well as the ring does.
    """

    level: int
    sigma_px: float
    polarity: Polarity
    blobs: Blobs
    agreement: float

    @property
    def usual_strength(self) -> float:
        """The median strength of the blobs."""
        return float(np.median(self.blobs.strength))


def sight_holes(grey: NDArray[np.float32]) -> Sighting | None:
    """The level, smoothing and polarity whose blobs explain each other best, if any do."""
    level, working = 0, grey
    while working.size > QUICK_PIXELS:
        level, working = level + 1, halved(working)
    best: Sighting | None = None
    sigmas: tuple[float, ...] = FINE_SIGMAS
    while min(working.shape) >= SMALLEST_SIDE_PX:
        for sigma_px in sigmas:
            best = _better_sighting(best, working, level, sigma_px)
        level, working, sigmas = level + 1, halved(working), COARSE_SIGMAS
    return best


def _better_sighting(
    best: Sighting | None, grey: NDArray[np.float32], level: int, sigma_px: float
) -> Sighting | None:
    """The best sighting so far, or what one more smoothing shows if that agrees better."""
    for polarity, blobs in zip(POLARITIES, find_blobs(grey, sigma_px), strict=True):
        size_px = float(np.sqrt(sigma_px * 2**level))
        to_beat = best.agreement / size_px if best else 0.0
        threshold, agreement = _best_threshold(blobs, sigma_px, to_beat)
        if agreement > to_beat:
            told = blobs.stronger_than(threshold)
            best = Sighting(level, sigma_px, polarity, told, agreement * size_px)
    return best


def _best_threshold(blobs: Blobs, sigma_px: float, to_beat: float) -> tuple[float, float]:
    """The strength above which the blobs explain each other best, and how well they do.

    The measure is the summed squared strength of the explained blobs, times the square of the
    share of blobs that they are: hatching, screens and paper fibres agree by the thousand, but
    are faint or do not mostly agree. Thresholds whose blobs are too weak to beat `to_beat` are
    not tried.
    """
    in_band, share = _band(blobs)
    best = (np.inf, 0.0)
    energy = in_band.strength
    total = np.cumsum(energy) / share
    count = 16
    while count < 1.5 * len(in_band.strength):
        some = Blobs(in_band.positions_px[:count], in_band.strength[:count])
        count = int(1.5 * count)
        if total[len(some.strength) - 1] <= max(best[1], to_beat):
            continue
        explained = explained_blobs(some, sigma_px)
        beyond_chance = max(explained.mean() - CHANCE_SHARE, 0)
        agreement = float(energy[: len(explained)][explained].sum() * beyond_chance**2) / share
        if agreement > best[1]:
            best = (float(some.strength[-1]), agreement)
    return best


def _band(blobs: Blobs) -> tuple[Blobs, float]:
    """The blobs in a band across the middle of all of them, and which share of all they are."""
    count = len(blobs.strength)
    if count:
        strong = blobs.strength[min(count // 10, 50)]
        blobs = blobs.stronger_than(FAINTEST_SHARE * strong)
        count = len(blobs.strength)
    if count <= BAND_BLOBS:
        return blobs, 1.0
    y = blobs.positions_px[:, 1]
    share = BAND_BLOBS / count
    low, high = np.quantile(y, [0.5 - share / 2, 0.5 + share / 2])
    inside = (y >= low) & (y <= high)
    return Blobs(blobs.positions_px[inside], blobs.strength[inside]), share


def explained_blobs(blobs: Blobs, sigma_px: float) -> NDArray[np.bool_]:
    """(n,) whether two neighbours share most of a blob's offsets and none crowds it."""
    shared = shared_offsets(blobs.positions_px) >= SHARED_FOR_SURE
    if not shared.any():
        return shared
    gap = np.asarray(cKDTree(blobs.positions_px).query(blobs.positions_px, 2)[0])[:, 1]
    return shared & (gap > CROWDED_SIGMAS * sigma_px)


def shared_offsets(
    positions_px: NDArray[np.float64], among_px: NDArray[np.float64] | None = None
) -> NDArray[np.int_]:
    """How many of its offsets each blob shares with the second best of its neighbours.

    Args:
        positions_px: (n, 2) the blobs asked about.
        among_px: (m, 2) the blobs that count as neighbours; the same ones unless given.

    Returns:
        (n,) from 0 to 12; all 0 where there are too few to compare.
    """
    among_px = positions_px if among_px is None else among_px
    if len(among_px) < OFFSETS + 2:
        return np.zeros(len(positions_px), dtype=int)
    tree = cKDTree(among_px)
    theirs = (among_px[_others(tree, among_px)[1]] - among_px[:, None]).astype(np.float32)
    distance, nearest = _others(tree, positions_px)
    offsets = (among_px[nearest] - positions_px[:, None]).astype(np.float32)
    reach = (TOLERANCE * np.median(distance[:, :4], axis=1)).astype(np.float32)[:, None, None]
    shared = np.empty((len(positions_px), NEIGHBOURS), dtype=int)
    for rank in range(NEIGHBOURS):
        neighbour = theirs[nearest[:, rank]]
        across = offsets[:, :, None, 0] - neighbour[:, None, :, 0]
        down = offsets[:, :, None, 1] - neighbour[:, None, :, 1]
        near = across**2 + down**2 < reach**2
        shared[:, rank] = near.any(axis=2).sum(axis=1)
    shared.sort(axis=1)
    return shared[:, -2]


def _others(
    tree: cKDTree, positions_px: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """(n, 12) distances and numbers of the nearest blobs that are not the asked one itself."""
    distance, index = map(np.asarray, tree.query(positions_px, OFFSETS + 1))
    own = distance[:, :1] < 1e-9
    return (
        np.where(own, distance[:, 1:], distance[:, :-1]),
        np.where(own, index[:, 1:], index[:, :-1]),
    )


def find_blobs(grey: NDArray[np.float32], sigma_px: float) -> tuple[Blobs, Blobs]:
    """The dark and the light blobs of one size, strongest first."""
    dark: list[NDArray[np.float64]] = []
    light: list[NDArray[np.float64]] = []
    reach = int(np.ceil(3 * sigma_px)) + 3
    for top in range(0, grey.shape[0], STRIP_ROWS):
        bottom = min(grey.shape[0], top + STRIP_ROWS)
        first, last = max(0, top - reach), min(grey.shape[0], bottom + reach)
        half_trace, spread = _hessian(grey[first:last], sigma_px)
        for peaks, smaller in ((dark, half_trace - spread), (light, -half_trace - spread)):
            x, y, strength = _peaks(smaller)
            y += first
            here = (y >= top) & (y < bottom)
            peaks.append(np.stack([x[here], y[here], strength[here]], axis=1))
    return _strongest(dark), _strongest(light)


def _hessian(
    grey: NDArray[np.float32], sigma_px: float
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Half the trace and half the difference of the eigenvalues, two pixels short all round."""
    smooth = ndimage.gaussian_filter(grey, sigma_px, truncate=3)
    smooth *= np.float32(sigma_px**2)
    twice = 2 * smooth[1:-1, 1:-1]
    xx = smooth[1:-1, 2:] + smooth[1:-1, :-2] - twice
    yy = smooth[2:, 1:-1] + smooth[:-2, 1:-1] - twice
    xy = smooth[2:, 2:] + smooth[:-2, :-2] - smooth[2:, :-2] - smooth[:-2, 2:]
    xy *= np.float32(0.25)
    half_trace = (xx + yy) * np.float32(0.5)
    half_difference = (xx - yy) * np.float32(0.5)
    return half_trace, np.sqrt(half_difference**2 + xy**2)


def _peaks(
    smaller: NDArray[np.float32],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """x, y and strength of the maxima, refined by a parabola along each axis."""
    middle = smaller[1:-1, 1:-1]
    peak = middle > FAINTEST
    rows, columns = smaller.shape
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        after = smaller[1 + down : rows - 1 + down, 1 + across : columns - 1 + across]
        before = smaller[1 - down : rows - 1 - down, 1 - across : columns - 1 - across]
        peak &= (middle > after) & (middle >= before)
    y, x = np.nonzero(peak)
    y, x = y + 1, x + 1
    height = smaller[y, x].astype(np.float64)
    offsets = []
    for down, across in ((0, 1), (1, 0)):
        before = smaller[y - down, x - across].astype(np.float64)
        after = smaller[y + down, x + across].astype(np.float64)
        bend = 2 * height - before - after
        offsets.append(np.clip((after - before) / np.maximum(2 * bend, 1e-12), -0.5, 0.5))
    # The Hessian starts one pixel inside the smoothed strip.
    return x + offsets[0] + 1, y + offsets[1] + 1, height


def _strongest(peaks: list[NDArray[np.float64]]) -> Blobs:
    """All peaks in order of strength, as many as any sheet can need."""
    found = np.concatenate(peaks)
    order = np.argsort(-found[:, 2], kind="stable")[:MOST_BLOBS]
    return Blobs(found[order, :2], found[order, 2])


def halved(grey: NDArray[np.float32]) -> NDArray[np.float32]:
    """The picture at half the resolution, each pixel the mean of four; odd edges are cut."""
    rows, columns = grey.shape[0] // 2 * 2, grey.shape[1] // 2 * 2
    total = grey[0:rows:2, 0:columns:2] + grey[1:rows:2, 0:columns:2]
    total += grey[0:rows:2, 1:columns:2]
    total += grey[1:rows:2, 1:columns:2]
    total *= np.float32(0.25)
    return total
