"""The repeat: the smallest step along the lace that brings the pins onto themselves.

Knows the grid of taken places, and pins that stand on none. On a lattice, a place is compared
with the places whole repeats above and below it; how full its column is anyway says nothing
about the repeat, so it is taken out first. Pins off the lattice are compared by distance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from archive.geometry.neighbours import Points, nearest, nearest_distance
from archive.geometry.occupancy import Grid
from archive.geometry.weighing import (
    lies_beside_open,
    likelihood_of_places,
    odds_of_alteration,
)

Mask = NDArray[np.bool_]

SURELY_ALTERED = 5.8
"""Logarithm of the odds that repeats alter and are back after two or three. Of 1,200 drawn edgings
and 4,200 insertions that do not, chance gave 5.1 once and 3.2 at most in all others; of ten
insertions whose halves or thirds differ in a few places, the least had 6.4."""

MOST_ALTERING = 3
"""Repeats after which such a design is back, at most: among more, chance has too much to choose."""

LEAST_LIKENESS = 0.08
"""Autocorrelation below which a step is not weighed at all."""

NEAR_BEST = 0.7
"""Steps whose autocorrelation reaches this part of the best one are weighed."""

PARTNER_REACH = 0.3
"""Pins of two repeats are partners within this part of the distance of neighbours."""

STRAY_PARTNERS = 0.1
"""Part of the partners, the furthest, that are another pin which happens to lie near."""

LEAST_PARTNERS = 0.55
"""Part of the loose pins that must have partners a repeat further on."""

LEAST_PARTNERS_KNOWN = 0.3
"""The same where the lattice repeats already: among few loose pins many are strays."""

LEAST_PARTNERS_BARE = 0.75
"""The same of all pins, where there is no lattice to say how long a step may be."""

PARTNERS_LEFT_OUT, LEFT_OUT_SIGMAS = 0.1, 2.0
"""A step may leave this part of the points more without a partner than the best one does, or as
many standard errors of the two shares."""

NEAR_LEAST_MISFIT = 2.0
"""The shortest step is taken whose misfit is within this factor of the least."""

EXACT = 0.04
"""Misfits below the square of this part of the neighbours' distance are all alike."""

FEWEST_LOOSE = 8


@dataclass(frozen=True)
class Folding:
    """The pattern of one repeat on the lattice.

    Attributes:
        rows: repeat in pitches.
        pricked: (columns, 2 * rows) bool, places the design pricks; half row 0 is the grid's.
        seen: whole repeats on the sheet.
    """

    rows: int
    pricked: Mask
    seen: int


def find_folding(grid: Grid, loose: Points) -> Folding | None:
    """The repeat of a lace on a lattice, or None where less than two repeats can be seen.

    Plain ground repeats with every row.

    Args:
        grid: the places.
        loose: (m, 2) pins off the lattice, footsides left out.
    """
    half_rows = grid.taken.shape[1]
    longest = half_rows // 4
    if longest < 1:
        return None
    likeness = _autocorrelation(grid, longest)
    filled = share_filled(grid)
    best = float(likeness[1:].max())
    weighed = {1}
    if best > LEAST_LIKENESS:
        weighed.update((np.flatnonzero(likeness[1:] >= NEAR_BEST * best) + 1).tolist())
    # chance may make several repeats so much more alike than one that only they are near the best
    weighed.update({part for step in weighed for part in range(2, step) if step % part == 0})
    evidence = {step: _evidence(grid, step, filled) for step in sorted(weighed)}
    likeliest = max(evidence, key=lambda step: evidence[step])
    if evidence[likeliest] <= _evidence(grid, half_rows, filled):
        return None
    # one of all its places may be lost from every second repeat and make two of them likelier
    places = (fold_counts(grid, likeliest)[0] > 0).sum()
    enough = evidence[likeliest] - np.log(places)
    rows = next(step for step, told in evidence.items() if likeliest % step == 0 and told >= enough)
    rows *= _find_alternation(grid, rows, min(longest // rows, MOST_ALTERING))
    if len(loose) >= max(FEWEST_LOOSE, half_rows // 4):
        times = range(1, longest // rows + 1)
        least = LEAST_PARTNERS if rows == 1 else LEAST_PARTNERS_KNOWN
        spacing = min(nearest_distance(loose), grid.lattice.pitch)
        longer = find_times(loose, grid.lattice.along * rows, times, least, spacing)
        if longer is None and rows == 1:
            return None
        rows *= longer or 1
    pricked = _fold(grid, rows)
    seen = half_rows // (2 * rows)
    return Folding(rows, pricked, seen)


def find_times(
    points: Points, step: Points, times: Sequence[int], least_partners: float, spacing: float
) -> int | None:
    """How many steps bring the points onto themselves, or None where none of `times` does.

    Args:
        points: (n, 2) positions.
        step: (2,) the shortest step.
        times: whole numbers of steps, rising.
        least_partners: part of the points that must find a partner.
        spacing: distance of neighbours; that of a few strays would let chance find partners.
    """
    judged = [_misfit(points, step * time, PARTNER_REACH * spacing) for time in times]
    _, most, asked_best = max(judged, key=lambda row: row[1], default=(np.inf, 0.0, 0))
    if most < least_partners:
        return None
    fitting = []
    for time, (misfit, partners, asked) in zip(times, judged, strict=True):
        error = np.sqrt(most * (1 - most) * (1 / max(asked, 1) + 1 / asked_best))
        left_out = max(PARTNERS_LEFT_OUT, LEFT_OUT_SIGMAS * float(error))
        if partners >= max(least_partners, most - left_out):
            fitting.append((time, misfit))
    enough = max(NEAR_LEAST_MISFIT * min(misfit for _, misfit in fitting), (EXACT * spacing) ** 2)
    return next(time for time, misfit in fitting if misfit <= enough)


def _misfit(points: Points, shift: Points, reach: float) -> tuple[float, float, int]:
    """Mean squared distance of shifted points from their partners, how many have one, of how many.

    A partner lies within `reach`; the furthest few are strays and left out. Points shifted beyond
    the end are not asked.
    """
    along = shift / np.hypot(*shift)
    down = points @ along
    asked = points[down + np.hypot(*shift) <= down.max() + reach] + shift
    if len(asked) < FEWEST_LOOSE // 2:
        return np.inf, 0.0, len(asked)
    distance = nearest(cKDTree(points), asked)[0][:, 0]
    partners = np.sort(distance[distance < reach])
    if len(partners) == 0:
        return np.inf, 0.0, len(asked)
    near = partners[: max(1, round(len(partners) * (1 - STRAY_PARTNERS)))]
    return float((near**2).mean()), len(partners) / len(asked), len(asked)


def find_bare_repeat(points: Points) -> Points | None:
    """(2,) the shortest step, down the page, that brings pins without a lattice onto themselves.

    None where fewer than two repeats show, as in a round or a single motif.
    """
    spacing = nearest_distance(points)
    if spacing == 0 or len(points) < 2 * FEWEST_LOOSE:
        return None
    differences = (points[None, :, :] - points[:, None, :]).reshape(-1, 2)
    differences = differences[(differences[:, 1] > 0) & (np.hypot(*differences.T) > 3 * spacing)]
    size = np.ptp(points, axis=0)
    cell = 0.25 * spacing
    bins = [
        np.arange(-size[0] - cell, size[0] + 2 * cell, cell),
        np.arange(0, size[1] + cell, cell),
    ]
    counts, _, _ = np.histogram2d(differences[:, 0], differences[:, 1], bins=bins)
    counts = ndimage.uniform_filter(counts, 3, mode="constant") * 9
    summits = np.argwhere((counts == ndimage.maximum_filter(counts, 7)) & (counts > 0))
    at = (summits + 0.5) * cell + np.array([bins[0][0], 0.0])
    # the share of pins that stay on the sheet when moved so far
    staying = np.clip(1 - np.abs(at) / (size + spacing), 0, 1).prod(axis=1)
    counted = counts[summits[:, 0], summits[:, 1]]
    good = (staying > 0.4) & (counted >= LEAST_PARTNERS_BARE * staying * len(points))
    found: list[tuple[float, float, Points]] = []
    for step in at[good]:
        near = np.hypot(*(differences - step).T) < 2 * cell
        exact = np.median(differences[near], axis=0)
        misfit, partners, _ = _misfit(points, exact, PARTNER_REACH * spacing)
        if partners >= LEAST_PARTNERS_BARE:
            found.append((misfit, float(np.hypot(*exact)), exact))
    if not found:
        return None
    enough = max(NEAR_LEAST_MISFIT * min(row[0] for row in found), (EXACT * spacing) ** 2)
    return min((row for row in found if row[0] <= enough), key=lambda row: row[1])[2]


def fold_points(points: Points, step: Points) -> tuple[Points, NDArray[np.int64]]:
    """One repeat of the points: (k, 2) places, to the right of `step` and down it, and (k,) pins.

    The repeats are laid on one another: pins that come to lie together are as many pins as the
    sheet has room for in its repeats. Strays are left out.

    Args:
        points: (n, 2) positions.
        step: (2,) from one repeat to the next.
    """
    if len(points) == 0:
        return np.empty((0, 2)), np.empty(0, dtype=np.int64)
    length = float(np.hypot(*step))
    along = step / length
    down = points @ along
    phase = down % length
    folded = np.column_stack([points @ np.array([along[1], -along[0]]), phase])
    # what lies near the seam is met on both sides of it
    twice = np.concatenate([folded, folded + np.array([0.0, length])])
    near = PARTNER_REACH * nearest_distance(points)
    pairs = cKDTree(twice).query_pairs(near, output_type="ndarray") % len(points)
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(points), len(points)))
    number, pile = connected_components(links, directed=False)
    size = np.bincount(pile, minlength=number)
    # whole repeats above and below each pin, and its own: never none, however the division rounds
    first, last = down.min() - near / 2, down.max() + near / 2
    room = np.floor((down - first) / length) + np.floor((last - down) / length) + 1
    pins = np.floor(size**2 / np.bincount(pile, weights=room, minlength=number) + 0.5)
    across = np.bincount(pile, weights=folded[:, 0], minlength=number) / size
    _, start = np.unique(pile, return_index=True)
    beyond = (phase - phase[start][pile] + length / 2) % length - length / 2
    below = phase[start] + np.bincount(pile, weights=beyond, minlength=number) / size
    kept = pins > 0
    return np.column_stack([across, below % length])[kept], pins[kept].astype(np.int64)


def share_filled(grid: Grid) -> NDArray[np.float64]:
    """(columns,) share of each column's places that hold a pin, never quite 0 or 1."""
    places = grid.exists.sum(axis=1)
    share: NDArray[np.float64] = (grid.taken.sum(axis=1) + 0.5) / (places + 1)
    return share


def _autocorrelation(grid: Grid, longest: int) -> NDArray[np.float64]:
    """(longest + 1,) likeness of the grid to itself moved by 0, 1, … pitches, column means out."""
    means = grid.taken.sum(axis=1) / np.maximum(grid.exists.sum(axis=1), 1)
    centred = np.where(grid.exists, grid.taken - means[:, None], 0.0)
    likeness = np.zeros(longest + 1)
    for rows in range(longest + 1):
        ahead, behind = centred[:, 2 * rows :], centred[:, : centred.shape[1] - 2 * rows]
        size = np.sqrt((ahead**2).sum() * (behind**2).sum())
        likeness[rows] = (ahead * behind).sum() / size if size > 0 else 0.0
    return likeness


def fold_counts(grid: Grid, rows: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """(columns, 2 * rows) how often each place of the repeat exists, and is taken."""
    period = 2 * rows
    padding = -grid.taken.shape[1] % period
    folded = []
    for cells in (grid.exists, grid.taken):
        padded = np.pad(cells, ((0, 0), (0, padding)))
        folded.append(padded.reshape(len(cells), -1, period).sum(axis=1))
    return folded[0], folded[1]


def _evidence(grid: Grid, rows: int, filled: NDArray[np.float64]) -> float:
    """Log probability of the grid if it repeats after so many rows.

    Each place of the repeat is pricked or not, as likely as its column is full; pins are then
    missed and strayed at the expected shares. Longer repeats pay for every place they add.
    """
    exists, taken = fold_counts(grid, rows)
    return float(likelihood_of_places(exists, taken, filled[:, None])[exists > 0].sum())


def _find_alternation(grid: Grid, rows: int, most: int) -> int:
    """After how many repeats, at most so many, the design that alters in a few places is back.

    1 where all repeats are alike. Such places are too few to pay for all that a longer repeat adds
    as if its parts had nothing to do with each other.
    """
    odds = {times: _odds_of_alternation(grid, rows, times) for times in range(2, most + 1)}
    surest = max(odds, key=lambda times: odds[times], default=1)
    return surest if odds.get(surest, 0.0) > SURELY_ALTERED else 1


def _odds_of_alternation(grid: Grid, rows: int, times: int) -> float:
    """How much likelier the repeats alter in a few places than in none, as a logarithm."""
    exists, taken = (
        np.moveaxis(counts.reshape(len(counts), times, 2 * rows), 1, -1)
        for counts in fold_counts(replace(grid, exists=_surely_seen(grid)), rows * times)
    )
    every_exists, every_taken = exists.sum(axis=-1), taken.sum(axis=-1)
    beside = lies_beside_open(every_exists, every_taken)
    odds = odds_of_alteration(exists, taken, share_filled(grid)[:, None], beside)
    return float(odds[every_exists > 0].sum())


def _surely_seen(grid: Grid) -> Mask:
    """Places but for the empty ones that a pin stands beside: a figure's, or one that strayed."""
    lattice = grid.lattice
    column = lattice.columns[~lattice.on] - grid.first_column
    half_row = lattice.half_rows[~lattice.on] - grid.first_half_row
    columns, half_rows = grid.taken.shape
    within = (column >= 0) & (half_row >= 0) & (column < columns) & (half_row < half_rows)
    beside = np.zeros_like(grid.taken)
    beside[column[within], half_row[within]] = True
    seen: Mask = grid.exists & (grid.taken | ~beside)
    return seen


def _fold(grid: Grid, rows: int) -> Mask:
    exists, taken = fold_counts(grid, rows)
    majority: Mask = 2 * taken > exists
    return majority
