"""How well blobs explain each other.

Two blobs explain each other where what surrounds one surrounds the other: they share the
offsets to their neighbours. That needs no knowledge of the lattice, holds for several lattices,
rows and bent strips alike, and is next to impossible by chance.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.holes.blobs import Blobs
from archive.geometry.holes.light import Floats

OFFSETS = 12
NEIGHBOURS = 8
SHARED_FOR_SURE = 4
"""Offsets, of twelve, that a blob must share with each of two of its eight nearest neighbours to
count as explained. Of 20,000 points strewn at random 0.9 % reach it, of a net with half as many
strewn points among its own 99 %, of a honeycomb so disturbed 82 %."""

OFF_LINE_SHARE = 0.5
"""Of the shared offsets half must lead off the line to the nearest blob, by half of the distance
to it: blobs on one broken line share offsets by chance, also where several run side by side."""

TOLERANCE = 0.17
"""How far two offsets may differ, as a share of the distance to the neighbours: about three times
the deviation of a hole pricked by hand, 0.05 mm at 1 mm."""

CROWDED_SIGMAS = 3.0
"""Two blobs nearer than this are parts of one mark, such as the sides of a ring."""

AT_ONCE = 512
"""Blobs compared at once, so that the intermediate arrays stay in the processor's cache."""


def explained_blobs(blobs: Blobs, sigma_px: float) -> NDArray[np.bool_]:
    """(n,) whether two neighbours share enough of a blob's offsets and none crowds it."""
    shared = shared_offsets(blobs.positions_px) >= SHARED_FOR_SURE
    if not shared.any():
        return shared
    gap = np.asarray(cKDTree(blobs.positions_px).query(blobs.positions_px, 2)[0])[:, 1]
    return shared & (gap > CROWDED_SIGMAS * sigma_px)


def shared_offsets(positions_px: Floats, among_px: Floats | None = None) -> NDArray[np.intp]:
    """How many of its offsets each blob shares with the second best of its neighbours.

    Args:
        positions_px: (n, 2) the blobs asked about.
        among_px: (m, 2) the blobs that count as neighbours; the same ones unless given.

    Returns:
        (n,) from 0 to 12; 0 where the neighbours lie on one line, and where there are too few to
        compare.
    """
    among_px = positions_px if among_px is None else among_px
    if len(among_px) < OFFSETS + 2:
        return np.zeros(len(positions_px), dtype=np.intp)
    tree = cKDTree(among_px)
    distance, nearest = _others(tree, positions_px)
    offsets = _offsets(positions_px, among_px, nearest)
    theirs = offsets
    if among_px is not positions_px:
        theirs = _offsets(among_px, among_px, _others(tree, among_px)[1])
    reach = (TOLERANCE * np.median(distance[:, :4], axis=1)).astype(np.float32) ** 2
    shared = np.empty((NEIGHBOURS, len(positions_px)), dtype=np.intp)
    off_line = _off_line(offsets)
    for start in range(0, len(positions_px), AT_ONCE):
        some = slice(start, start + AT_ONCE)
        across, down = offsets[:, :, some]
        for rank in range(NEIGHBOURS):
            their_across, their_down = theirs.take(nearest[some, rank], axis=2)
            apart = (across[:, None] - their_across) ** 2
            apart += (down[:, None] - their_down) ** 2
            same = apart.min(axis=1) < reach[some]
            beside = (same & off_line[:, some]).sum(axis=0)
            shared[rank, some] = np.minimum(same.sum(axis=0), 2 * beside)
    shared.sort(axis=0)
    second_best: NDArray[np.intp] = shared[-2]
    return second_best


def _off_line(offsets: NDArray[np.float32]) -> NDArray[np.bool_]:
    """(12, n) whether an offset leads aside from the line to the nearest blob."""
    across, down = offsets
    aside = np.abs(across * down[0] - down * across[0])
    off_line: NDArray[np.bool_] = aside > OFF_LINE_SHARE * (across[0] ** 2 + down[0] ** 2)
    return off_line


def _others(tree: cKDTree, positions_px: Floats) -> tuple[Floats, NDArray[np.intp]]:
    """(n, 12) distances and numbers of the nearest blobs that are not the asked one itself."""
    distance, index = map(np.asarray, tree.query(positions_px, OFFSETS + 1))
    own = distance[:, :1] < 1e-9
    return (
        np.where(own, distance[:, 1:], distance[:, :-1]),
        np.where(own, index[:, 1:], index[:, :-1]),
    )


def _offsets(
    positions_px: Floats, among_px: Floats, nearest: NDArray[np.intp]
) -> NDArray[np.float32]:
    """(2, 12, n) from each blob to its neighbours, across and down."""
    offsets = among_px[nearest] - positions_px[:, None]
    return np.ascontiguousarray(offsets.transpose(2, 1, 0), dtype=np.float32)
