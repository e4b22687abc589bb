"""Which pin of a bent sheet stands on which place of its lattice.

Knows pins and the one lattice that was first found on them. From where that lattice fits best the
pins are numbered outwards, the slant being fitted anew at each step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from archive.geometry.bases import SUPPORT
from archive.geometry.flatness.slants import fit_slant
from archive.geometry.lattice import WIDEST_CATCH, Lattice
from archive.geometry.neighbours import Indices, Points, nearest
from archive.geometry.occupancy import SIX_AROUND

Mask = NDArray[np.bool_]

LIKELY_SLANT = 0.08
"""Standard deviation of the change of scale over a sheet that is expected before any pin is
seen: it keeps the slant of the first few pins from running wild."""

FIRST_REACH = 5.0
FURTHER = 1.5
"""How far from the best place pins are numbered first, in pitches, and how much further each
time."""

ROUND_A_PIN = 40
"""Pins by which is judged where the one lattice fits best."""

FEWEST_IN_GROUP = 8
"""Pins of the ground that hang together, from which on they count."""


@dataclass(frozen=True)
class Part:
    """A part of the sheet with a lattice of its own: all of it, or one side of a corner.

    Attributes:
        pins: (n, 2) its pins on the sheet.
        seed: (k, 2) those among them on which the lattice was found as if they were flat.
        lattice: that lattice; its `on` and `places` are of the seed.
    """

    pins: Points
    seed: Points
    lattice: Lattice


def number_pins(part: Part) -> tuple[Points, Points]:
    """(n, 2) pins that stand on a place; (n, m) what their flat positions are made of.

    That is the origin of one of the groups that hang together, and the two numbers of the place.
    """
    places, used = _number_outwards(part.pins, part.seed[part.lattice.on], part.lattice)
    groups = _groups(places)
    grouped = groups.any(axis=1)
    return part.pins[used][grouped], np.column_stack([groups, places])[grouped]


def _number_outwards(points: Points, seed: Points, lattice: Lattice) -> tuple[Points, Mask]:
    """(m, 2) places of the pins that stand on one with others round it, and (n,) which these are.

    They are counted from where the seed, the (k, 2) pins on the lattice, lies nearest to it.
    """
    middle = seed[_best_place(seed, lattice)]
    origin, basis = lattice.origin - middle, np.array([lattice.right, lattice.left])
    p = points - middle
    far = np.hypot(*p.T)
    shortest = float(
        min(np.hypot(*basis[0]), np.hypot(*basis[1]), np.hypot(*(basis[1] - basis[0])))
    )
    likely = LIKELY_SLANT / 1.5 / float(far.max())
    slant, reach, catch = np.zeros(2), FIRST_REACH * lattice.pitch, WIDEST_CATCH * shortest
    while True:
        for _ in range(2):
            within = np.flatnonzero(far < reach)
            flat = p[within] / (1 + p[within] @ slant)[:, None]
            places = np.rint((flat - origin) @ np.linalg.inv(basis))
            apart = np.hypot(*(flat - origin - places @ basis).T)
            caught = (apart < catch) & _in_company(places, apart < catch)
            if caught.sum() < 8:
                break
            design = np.column_stack([np.ones(caught.sum()), places[caught]])
            solved, slant, _ = fit_slant(p[within[caught]], design, slant, likely)
            origin, basis = solved[0], solved[1:]
        if reach > far.max():
            break
        reach *= FURTHER
    used = np.zeros(len(points), dtype=bool)
    used[within[caught]] = True
    return places[caught], used


def _best_place(pins: Points, lattice: Lattice) -> int:
    """Which of the pins on the lattice lies where they all lie nearest to their places."""
    basis = np.array([lattice.right, lattice.left])
    off = ((pins - lattice.origin - lattice.places[lattice.on] @ basis) ** 2).sum(axis=1)
    count = min(ROUND_A_PIN, len(pins))
    distance, around = nearest(cKDTree(pins), pins, count=count)
    # sparsely pricked places are judged by what lies far off: they tell less
    return int(
        (off[around].mean(axis=1) + lattice.rms**2 * distance[:, -1] / lattice.pitch).argmin()
    )


def _in_company(places: Points, caught: Mask) -> Mask:
    """(n,) whether enough of the six places round each pin's are taken."""
    names, around = _named(places)
    taken = np.unique(names[caught])
    company: Mask = np.isin(around, taken).sum(axis=0) >= SUPPORT
    return company


def _groups(places: Points) -> Points:
    """(n, g) which of the pins go on from each other without a break; 0 or 1, g groups.

    A second strip on the sheet, or ground beyond a figure, may stand on the same lattice but for
    a shift of its own: that is no cockle. Pins in groups too small to tell are in none.
    """
    names, around = _named(places)
    order = np.argsort(names)
    links = []
    for there in around[:3]:
        at = order[np.minimum(np.searchsorted(names, there, sorter=order), len(order) - 1)]
        linked = np.flatnonzero(names[at] == there)
        links.append(np.column_stack([linked, at[linked]]))
    pairs = np.concatenate(links)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(places), len(places)))
    _, group = connected_components(graph, directed=False)
    large = np.flatnonzero(np.bincount(group) >= FEWEST_IN_GROUP)
    members: Points = (group[:, None] == large).astype(np.float64)
    return members


def _named(places: Points) -> tuple[Indices, Indices]:
    """One number for each of (n, 2) places, and (6, n) those of the six places round it."""
    i, j = places.astype(np.int64).T
    wide = 2 * int(np.abs(j).max(initial=0)) + 5
    steps = [(row + column) // 2 * wide + (row - column) // 2 for column, row in SIX_AROUND]
    names = i * wide + j
    return names, names + np.array(steps)[:, None]
