"""First guesses at a lattice: the steps that many neighbouring pins share, and their bases.

Knows points in a plane. The differences between neighbouring pins pile up at lattice vectors;
pairs of the highest piles, reduced, are bases worth trying.

Positions are (n, 2) float64 as `(x, y)`, y down; bases are (2, 2), their vectors as rows.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree

from archive.geometry.neighbours import Indices, Points, nearest

NEIGHBOUR_REACH = 3.2
"""How far differences are gathered, in nearest-neighbour distances: it covers the pitch along
the footside and two columns across for every ground angle from 40° to 73°."""

MOST_PEAKS = 16
MOST_BASES = 6
SUPPORT = 3
"""Of six lattice neighbours, as many as a pin needs to count as part of a net."""

CATCH = 0.2
"""A pin belongs to a lattice place within this share of the shortest lattice vector."""


def cross(u: Points, v: Points) -> float:
    """Signed area of the parallelogram of two (2,) vectors."""
    return float(u[0] * v[1] - u[1] * v[0])


def difference_peaks(points: Points, tree: cKDTree, spacing: float) -> Points:
    """(m, 2) differences that many pairs of neighbours share, commonest first.

    One of each pair of opposite differences is given. Empty where nothing repeats.
    """
    reach = NEIGHBOUR_REACH * spacing
    pairs = tree.query_pairs(reach, output_type="ndarray")
    if len(pairs) == 0:
        return np.empty((0, 2))
    differences = points[pairs[:, 1]] - points[pairs[:, 0]]
    differences = np.concatenate([differences, -differences])
    cell = 0.05 * spacing
    half = int(np.ceil(reach / cell))
    edges = (np.arange(-half, half + 2) - 0.5) * cell
    density, _, _ = np.histogram2d(differences[:, 0], differences[:, 1], bins=(edges, edges))
    density = ndimage.gaussian_filter(density, 1.6)
    summit = (density == ndimage.maximum_filter(density, 7)) & (density > 0)
    where = np.argwhere(summit)
    peaks = (where - half) * cell
    ahead = (peaks[:, 1] > 0) | ((peaks[:, 1] == 0) & (peaks[:, 0] > 0))
    ahead &= (np.hypot(*peaks.T) > 0.5 * spacing) & (np.hypot(*peaks.T) < reach - cell)
    peaks, where = peaks[ahead], where[ahead]
    order = np.argsort(-density[where[:, 0], where[:, 1]], kind="stable")[:MOST_PEAKS]
    centred = []
    for peak in peaks[order]:
        near = np.hypot(*(differences - peak).T) < 0.2 * spacing
        centred.append(differences[near].mean(axis=0))
    return np.array(centred).reshape(-1, 2)


def stretched_step(points: Points, step: Points) -> Points:
    """(2,) a step that many pins share, made exact over ever longer rows of such steps."""
    tree = cKDTree(points)
    times = 1
    while True:
        distances, pins = nearest(
            tree, points + times * step, within=CATCH * float(np.hypot(*step))
        )
        caught = np.isfinite(distances[:, 0])
        if caught.sum() < SUPPORT:
            return step
        step = np.median(points[pins[caught, 0]] - points[caught], axis=0) / times
        times *= 2


def reduced(u: Points, v: Points) -> Points:
    """(2, 2) shortest basis, as rows, of the lattice of u and v.

    Source: Lagrange's reduction; H. Cohen, A Course in Computational Algebraic Number Theory,
    algorithm 1.3.14. It ends when nothing becomes shorter by more than rounding: at a tie, u·v
    being half of u·u, the steps would go to and fro for ever.
    """
    while True:
        if u @ u > v @ v:
            u, v = v, u
        shorter = v - round(float(u @ v / (u @ u))) * u
        if shorter @ shorter >= (1 - 1e-12) * (v @ v):
            return np.array([u, v if u @ v >= 0 else -v])
        v = shorter


def first_bases(points: Points, tree: cKDTree, spacing: float) -> list[Points]:
    """Reduced bases from pairs of difference peaks, the best supported first."""
    peaks = difference_peaks(points, tree, spacing)
    some = points[:: max(1, len(points) // 400)]
    found: list[tuple[float, Points]] = []
    for u, v in combinations(peaks, 2):
        if abs(cross(u, v)) < 0.4 * spacing**2:
            continue
        basis = reduced(u, v)
        short, long = np.hypot(*basis.T)
        if short < 0.6 * spacing or long > 2.5 * spacing or abs(cross(*basis)) < 0.4 * spacing**2:
            continue
        if any(_same_lattice(basis, other) for _, other in found):
            continue
        support = (support_of(some, tree, basis, CATCH * spacing) >= SUPPORT).sum()
        found.append((float(support) / np.sqrt(abs(cross(*basis))), basis))
    found.sort(key=lambda pair: -pair[0])
    return [basis for _, basis in found[:MOST_BASES]]


def _same_lattice(one: Points, other: Points) -> bool:
    exchange = one @ np.linalg.inv(other)
    whole = np.rint(exchange)
    close = np.abs(exchange - whole).max() < 0.12
    return bool(close and abs(abs(np.linalg.det(whole)) - 1) < 0.5)


def _six(basis: Points) -> Points:
    """(6, 2) the six shortest vectors of a reduced basis."""
    u, v = basis
    return np.array([u, v, u - v, -u, -v, v - u])


def support_of(points: Points, tree: cKDTree, basis: Points, catch: float) -> Indices:
    """(n,) how many of its six lattice neighbours each pin has."""
    targets = points[:, None, :] + _six(basis)[None, :, :]
    distances, _ = nearest(tree, targets.reshape(-1, 2), within=catch)
    hits: Indices = np.isfinite(distances).reshape(len(points), 6).sum(axis=1)
    return hits
