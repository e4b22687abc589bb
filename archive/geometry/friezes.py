"""The symmetry of a repeat: which of the seven frieze groups a strip of lace belongs to.

Knows the grid of taken places, the pins on none of them, and the length of the repeat. A place is
compared with the place that a move brings it to, all repeats of the sheet together; pins off the
lattice are compared by distance. What a move changes on one sheet in many, or on one repeat of
several, is a fault and no lack of symmetry.

Source: the seven groups and their signs are those of International Tables for Crystallography,
volume E, Subperiodic groups, part 2 (frieze groups): the strip runs along the first axis.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.neighbours import Points, nearest, nearest_distance
from archive.geometry.occupancy import Grid
from archive.geometry.repeats import PARTNER_REACH, fold_counts, share_filled
from archive.geometry.weighing import lies_beside_open, odds_of_alteration
from archive.records.measurement import Frieze

Counts = NDArray[np.int64]
Mask = NDArray[np.bool_]
Kind = Literal["across", "along", "turn", "glide"]
"""Mirrored about a line across the strip; about its middle line; turned by half about a point of
the middle line; moved half a repeat and mirrored about the middle line."""

SURELY_UNLIKE = 3.0
"""Logarithm of the odds that a design is altered in a few places and not symmetric: designs are
rarely symmetric but for a place or two. Four repeats with a place beside an open figure that is
pricked in all, its image in none, make about 5, three repeats 3; a hole lost from one repeat of
several makes hardly anything."""

SPARE_COLUMNS = 2
"""The middle line is sought so many columns about the middle of the grid: a stray pin may widen
it."""

FEWER_PARTNERS = 0.12
"""A move may leave this part more of the loose pins without a partner than the repeat does."""

MOST_MISFIT = 2.0
EXACT = 0.08
"""The pins may lie so many times as far from their partners (mean squares) as a repeat further on,
and always within this part of the distance of neighbours."""

FEWEST_ASKED = 4


@dataclass(frozen=True)
class Move:
    """What brings a strip onto itself, beside the repeat.

    Attributes:
        kind: which kind of move.
        columns: sum of the column numbers of a place and its image; None where the column stays.
        half_rows: sum of the two half-row numbers, or for a glide their difference; None where
            the half row stays.
    """

    kind: Kind
    columns: int | None
    half_rows: int | None


def find_moves(grid: Grid, rows: int) -> list[Move]:
    """The moves that bring the pins on the lattice onto pins.

    Args:
        grid: the places.
        rows: the repeat in pitches.
    """
    folded = fold_counts(grid, rows)
    spare = ((SPARE_COLUMNS, SPARE_COLUMNS), (0, 0))
    exists, taken = (np.pad(counts, spare) for counts in folded)
    # beside the lace there are places too, and nothing is pricked on them
    width = len(exists)
    column, half_row = np.indices(exists.shape)
    parity = (grid.first_column - SPARE_COLUMNS + column + grid.first_half_row + half_row) % 2 == 0
    margin = parity & ((column < SPARE_COLUMNS) | (column >= width - SPARE_COLUMNS))
    exists[margin] = int(np.median(exists[exists > 0]))
    share = np.pad(share_filled(grid), SPARE_COLUMNS, mode="edge")
    beside_open = np.pad(lies_beside_open(*folded), spare)
    return [
        move
        for move in _candidates(len(grid.taken), rows)
        if _odds_against(move, exists, taken, share, beside_open) <= SURELY_UNLIKE
    ]


def _odds_against(
    move: Move, exists: Counts, taken: Counts, share: Points, beside_open: Mask
) -> float:
    """How much likelier places and their images differ here and there than nowhere, as a logarithm.

    Args:
        move: which brings each place onto another.
        exists: (columns, half rows) how often each place is on the sheet, spare columns included.
        taken: the same shape, how often it holds a pin.
        share: (columns,) how likely a place of each column is pricked.
        beside_open: the same shape as `exists`, places in an open figure or beside one.
    """
    width, period = exists.shape
    column, half_row = np.indices(exists.shape)
    other_column, other_row = column, half_row
    if move.columns is not None:
        other_column = move.columns + 2 * SPARE_COLUMNS - column
    if move.half_rows is not None:
        sign = 1 if move.kind == "glide" else -1
        other_row = (move.half_rows + sign * half_row) % period
    within = (other_column >= 0) & (other_column < width)
    image = (np.clip(other_column, 0, width - 1), other_row)
    image_exists = np.where(within, exists[image], exists)
    image_taken = np.where(within, taken[image], 0)
    odds = odds_of_alteration(
        np.stack([exists, image_exists], axis=-1),
        np.stack([taken, image_taken], axis=-1),
        np.sqrt(np.where(within, share[image[0]], share[column]) * share[column]),
        beside_open | (within & beside_open[image]),
    )
    itself = (other_column == column) & (other_row == half_row)
    odds[itself | (exists == 0)] = 0
    # a place and its image are both met, but for images that lie beside the grid
    return float((odds * np.where(within, 0.5, 1.0)).sum())


def _candidates(columns: int, rows: int) -> Iterator[Move]:
    """Every move that brings places of the lattice onto places."""
    middles = [columns - 1 + by for by in range(-SPARE_COLUMNS, SPARE_COLUMNS + 1)]
    for half_rows in range(0, 2 * rows, 2):
        yield Move("across", None, half_rows)
    for middle in middles:
        if middle % 2 == 0:
            yield Move("along", middle, None)
        if (middle + rows) % 2 == 0:
            yield Move("glide", middle, rows)
        for half_rows in range(middle % 2, 2 * rows, 2):
            yield Move("turn", middle, half_rows)


def name_frieze(kinds: Iterable[Kind]) -> Frieze:
    """The group with these moves."""
    kept = set(kinds)
    if "across" in kept and "along" in kept:
        return "p2mm"
    if "across" in kept and kept & {"glide", "turn"}:
        return "p2mg"
    if "across" in kept:
        return "p1m1"
    if "along" in kept:
        return "p11m"
    if "turn" in kept:
        return "p2"
    return "p11g" if "glide" in kept else "p1"


def find_frieze(grid: Grid, moves: list[Move], loose: Points, step: Points) -> Frieze:
    """The group of a lace on a lattice.

    Args:
        grid: the places.
        moves: those that `find_moves` gives.
        loose: (m, 2) pins off the lattice, edge pins and picots among them.
        step: (2,) from one repeat to the next.
    """
    kept: set[Kind] = set()
    for move in moves:
        if move.kind not in kept and fits(loose, *_motion(grid, move), step):
            kept.add(move.kind)
    return name_frieze(kept)


def _motion(grid: Grid, move: Move) -> tuple[Points, Points]:
    """(2, 2) matrix and (2,) shift with which a move acts on positions: `points @ matrix + shift`.

    Taken from three places and where they go, so that a lattice that is a little sheared keeps
    its own middle.
    """
    start = np.array([[0, 0], [1, 0], [0, 1]])
    end = start.copy()
    if move.columns is not None:
        end[:, 0] = move.columns - start[:, 0]
    if move.half_rows is not None:
        sign = 1 if move.kind == "glide" else -1
        end[:, 1] = move.half_rows + sign * start[:, 1]
    before, after = grid.position(start), grid.position(end)
    matrix = np.linalg.solve(before[1:] - before[0], after[1:] - after[0])
    return matrix, after[0] - before[0] @ matrix


def fits(points: Points, matrix: Points, shift: Points, step: Points) -> bool:
    """Whether a move brings points onto points as well as the repeat itself does.

    Args:
        points: (n, 2) positions; too few fit always.
        matrix: (2, 2), and
        shift: (2,): `points @ matrix + shift` is the move.
        step: (2,) from one repeat to the next.
    """
    if len(points) < FEWEST_ASKED:
        return True
    images = points @ matrix + shift
    # by whole repeats back to where the pins are
    away = np.median((images - points) @ step) / (step @ step)
    share, misfit = _partners(points, points + step, step)
    moved_share, moved_misfit = _partners(points, images - step * np.round(away), step)
    most = max(MOST_MISFIT * misfit, (EXACT * nearest_distance(points)) ** 2)
    return moved_share >= share - FEWER_PARTNERS and moved_misfit <= most


def _partners(points: Points, images: Points, step: Points) -> tuple[float, float]:
    """Share of images with a pin near them, and their mean squared distance from it.

    Images beyond the pins' ends are not asked.
    """
    down, at = points @ step, images @ step
    hair = 1e-9 * (step @ step)
    asked = images[(at >= down.min() - hair) & (at <= down.max() + hair)]
    if len(asked) < FEWEST_ASKED:
        return 0.0, np.inf
    distance = nearest(cKDTree(points), asked)[0][:, 0]
    near = distance[distance < PARTNER_REACH * nearest_distance(points)]
    return len(near) / len(asked), float((near**2).mean()) if len(near) else np.inf


def find_bare_frieze(points: Points, step: Points, middle: float) -> Frieze:
    """The group of a lace without a lattice.

    Args:
        points: (n, 2) the pins.
        step: (2,) from one repeat to the next.
        middle: how far to the right of `step` the middle line of the strip runs.
    """
    length = float(np.hypot(*step))
    along = step / length
    right = np.array([along[1], -along[0]])
    placed = points @ np.column_stack([right, along])
    upright = np.array([0.0, length])
    flips = {"across": (1, -1), "along": (-1, 1), "turn": (-1, -1), "glide": (-1, 1)}
    kept: set[Kind] = set()
    for kind in ("across", "along", "turn", "glide"):
        matrix = np.diag(flips[kind]).astype(np.float64)
        across = 0.0 if kind == "across" else 2 * middle
        downs: Iterable[float] = [0.0] if kind == "along" else [length / 2]
        if kind in ("across", "turn"):
            downs = _turning_points(placed, matrix, across, length)
        if any(fits(placed, matrix, np.array([across, down]), upright) for down in downs):
            kept.add(kind)
    return name_frieze(kept)


def _turning_points(
    placed: Points, matrix: Points, across: float, length: float
) -> NDArray[np.float64]:
    """Where a mirror line across or a centre could lie: what brings one pin onto another."""
    inner = placed[np.argmin(np.abs(placed[:, 1] - np.median(placed[:, 1])))]
    image = inner @ matrix + np.array([across, 0.0])
    near = np.abs(placed[:, 0] - image[0]) < PARTNER_REACH * nearest_distance(placed)
    near &= np.abs(placed[:, 1] - inner[1]) <= length / 2
    downs: NDArray[np.float64] = placed[near, 1] - image[1]
    return downs
