"""The lattice a ground is pricked on: is there one, and how exactly does it lie?

Knows points in a plane and nothing of lace, scale or files. The way: the differences between
neighbouring pins pile up at lattice vectors; the piles give a first basis; differences over a
growing radius make it so exact that every pin of the sheet can be given its place number;
least squares over places and positions does the rest.

Positions are (n, 2) float64 as `(x, y)`, y down. Units are whatever the positions use.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from archive.geometry.bases import CATCH, SUPPORT, cross, first_bases, support_of
from archive.geometry.neighbours import Indices, Points, nearest_distance

Mask = NDArray[np.bool_]

WIDEST_CATCH = 0.32
"""A pin belongs to a lattice place within `CATCH` of the shortest lattice vector while the
lattice is sought, and within this once it is known: there are sheets with much jitter and a
fine pitch."""

LEAST_EVIDENCE = 6.0
"""What a lattice must explain better than chance (see `_fit_places`) to be named a ground. Of 240
drawn sheets with hardly any ground, those below it were wrong as often as right."""

FEWEST_INNER_PINS = 6
"""Pins with lattice neighbours on every side that make a ground: winding tapes reach a few by
chance."""

ANGLE_RANGE_DEG = (40.0, 73.0)
"""Ground angles that are looked for. Lines run at 45° in torchon and from 52° to 70° in
point ground; the margin allows for a copy that is stretched by a fifth, either way. A wider one
lets in nets that figures make by chance."""

CHANCE_PINS = 0.1
"""Odds that a pin with lattice neighbours stands on its place by chance; it only sets where the
least squares begin to doubt."""

NET_ROUNDS = 3
"""How often pins are asked anew whether they lie in a net, as the fit grows better."""

NEARLY_SQUARE = 0.18
"""Cosine between the ground lines below which either diagonal may be the footside: 40°-50°."""

RHOMBIC_TOLERANCE = 0.06
"""How much the two ground lines may differ in step: a sheared print, not another lattice."""


@dataclass(frozen=True)
class Lattice:
    """Places `origin + i * right + j * left`, and which pin stands on which.

    Attributes:
        origin: (2,) position of place (0, 0).
        right: (2,) step to the next pin down a ground line that runs to the right.
        left: (2,) the same for the line that runs to the left.
        places: (n, 2) int64, place number (i, j) nearest to each pin.
        on: (n,) bool, pins that stand on their place, one pin a place.
        rms: root mean square distance of those pins from their places.
        angle_sd_deg: standard error of the ground angle, by the pins of nets.
    """

    origin: Points
    right: Points
    left: Points
    places: Indices
    on: Mask
    rms: float
    angle_sd_deg: float

    @property
    def along(self) -> Points:
        """(2,) step to the next pin of the same column, down the footside."""
        return self.right + self.left

    @property
    def pitch(self) -> float:
        """Length of `along`."""
        return float(np.hypot(*self.along))

    @property
    def column(self) -> float:
        """Distance of neighbouring columns."""
        return abs(cross(self.right, self.left)) / self.pitch

    @property
    def angle_deg(self) -> float:
        """Half the angle between the two ground lines: their mean angle from the footside."""
        cosine = self.right @ self.left / (np.hypot(*self.right) * np.hypot(*self.left))
        return float(np.rad2deg(np.arccos(np.clip(cosine, -1, 1))) / 2)

    @property
    def pitch_sd(self) -> float:
        """Standard error of the pitch."""
        down = self.half_rows[self.on] / 2
        return self.rms / float(np.sqrt(2 * max(((down - down.mean()) ** 2).sum(), 1e-9)))

    @property
    def columns(self) -> Indices:
        """(n,) column number of each pin's place, from left to right."""
        return self.places[:, 0] - self.places[:, 1]

    @property
    def half_rows(self) -> Indices:
        """(n,) half-row number of each pin's place, downwards; two to a pitch."""
        return self.places[:, 0] + self.places[:, 1]

    def position(self, columns: NDArray[np.int64], half_rows: NDArray[np.int64]) -> Points:
        """(…, 2) positions of places given by column and half-row numbers."""
        i = (half_rows + columns)[..., None] / 2
        j = (half_rows - columns)[..., None] / 2
        placed: Points = self.origin + i * self.right + j * self.left
        return placed


def find_lattices(points: Points) -> list[Lattice]:
    """The ground lattice of the pins, once for each way its footside could run.

    An equilateral lattice looks the same from three sides, a square one from two: which of
    them is the footside only the whole sheet can tell, so all are returned, the most evenly
    stepped first. Without a ground the list is empty.

    Args:
        points: (n, 2) pin positions.
    """
    spacing = nearest_distance(points)
    if len(points) < 2 * FEWEST_INNER_PINS or spacing == 0:
        return []
    tree = cKDTree(points)
    best: _Fit | None = None
    for basis in first_bases(points, tree, spacing):
        core = support_of(points, tree, basis, CATCH * spacing) >= SUPPORT
        if core.sum() < FEWEST_INNER_PINS:
            continue
        grown = _grow(points[core], basis)
        if grown is None:
            continue
        fitted = _fit_places(points, core, grown)
        if fitted is None:
            continue
        enough = best.evidence if best else LEAST_EVIDENCE
        if fitted.evidence > enough and _ground_lines(fitted.basis):
            best = fitted
    if best is None:
        return []
    return [_lattice(points, best, right, left) for right, left in _ground_lines(best.basis)]


@dataclass(frozen=True)
class _Fit:
    """A basis that was fitted to the pins.

    Attributes:
        evidence: the logarithm of how unlikely so many pins would stand on places by chance,
            weighed by the part of them that lie within a net.
        origin: (2,) position of place (0, 0).
        basis: (2, 2).
        on: (n,) pins that stand on a place, one on each.
        netted: (n,) those of them that lie within a net or beside one.
    """

    evidence: float
    origin: Points
    basis: Points
    on: Mask
    netted: Mask


def _grow(core: Points, basis: Points) -> Points | None:
    """The basis, fitted to differences over a radius that grows to the whole sheet."""
    anchors = core[:: max(1, len(core) // 60)]
    differences = (core[None, :, :] - anchors[:, None, :]).reshape(-1, 2)
    lengths = np.hypot(*differences.T)
    widest = float(lengths.max())
    reach = 2.3 * float(np.hypot(*basis[1]))
    while True:
        within = differences[(lengths < reach) & (lengths > 0)]
        within = within[:: max(1, len(within) // 4_000)]
        for _ in range(2):
            places = np.rint(within @ np.linalg.inv(basis))
            apart = np.hypot(*(within - places @ basis).T)
            caught = (apart < CATCH * np.hypot(*basis[0])) & places.any(axis=1)
            if caught.sum() < 8 or np.linalg.matrix_rank(places[caught]) < 2:
                return None
            basis = np.linalg.lstsq(places[caught], within[caught], rcond=None)[0]
        if reach > widest:
            return basis
        reach *= 1.7


def _fit_places(points: Points, core: Mask, basis: Points) -> _Fit | None:
    """The basis with its phase, fitted to the pins; None where they are no ground.

    Beyond a figure pins stand near places by chance, and the further off, the more they turn a
    ground line. So the last word is with the pins of nets.
    """
    shortest, first_cell = float(np.hypot(*basis[0])), abs(cross(*basis))
    origin = _phase(points[core], basis) @ basis
    catch = CATCH * shortest
    for _ in range(4):
        places = np.rint((points - origin) @ np.linalg.inv(basis))
        apart = np.hypot(*(points - origin - places @ basis).T)
        used = (apart < catch) & core
        if used.sum() < FEWEST_INNER_PINS or np.linalg.matrix_rank(places[used]) < 2:
            return None
        design = np.column_stack([np.ones(used.sum()), places[used]])
        solved = np.linalg.lstsq(design, points[used], rcond=None)[0]
        origin, basis = solved[0], solved[1:]
        spread = max(float(np.median(apart[used])) / 1.177, 1e-9 * shortest)
        catch = float(np.clip(4.5 * spread, 0.06 * shortest, WIDEST_CATCH * shortest))
    for left in reversed(range(NET_ROUNDS)):
        places = np.rint((points - origin) @ np.linalg.inv(basis))
        apart = np.hypot(*(points - origin - places @ basis).T)
        on = (apart < catch) & _first_of_each(places, apart)
        inner, netted = _nets(places, on, basis)
        if inner < FEWEST_INNER_PINS:
            return None
        if left:
            origin, basis = _weighted_fit(
                points[netted], places[netted], origin, basis, spread, catch
            )
    cell = abs(cross(*basis))
    if not 0.8 < cell / first_cell < 1.25:
        return None
    chance = np.pi * catch**2 / cell
    share = on.mean()
    if share <= chance:
        return None
    evidence = float(len(points) * _divergence(share, chance) * inner / on.sum())
    return _Fit(evidence, origin, basis, on, netted)


def _divergence(share: float, chance: float) -> float:
    """How much each pin tells, as a logarithm, if this share stands where chance would put that.

    Source: S. Kullback and R. A. Leibler, Annals of Mathematical Statistics 22 (1951), 79-86.
    """
    rest = np.log(max(1 - share, 1e-12) / (1 - chance))
    return float(share * np.log(share / chance) + (1 - share) * rest)


def _weighted_fit(
    points: Points, places: Points, origin: Points, basis: Points, spread: float, catch: float
) -> tuple[Points, Points]:
    """Origin and basis by least squares in which a pin weighs as much as it seems to belong.

    Pins further off than the others' spread explains are likely to stand on a place by chance.
    """
    design = np.column_stack([np.ones(len(places)), places])
    for _ in range(3):
        squared = ((points - origin - places @ basis) ** 2).sum(axis=1) / spread**2
        odds = CHANCE_PINS * 2 * (spread / catch) ** 2 * np.exp(np.minimum(squared / 2, 50))
        weight = np.sqrt(1 / (1 + odds))[:, None]
        solved = np.linalg.lstsq(design * weight, points * weight, rcond=None)[0]
        origin, basis = solved[0], solved[1:]
        squared = ((points - origin - places @ basis) ** 2).sum(axis=1)
        mean = (weight[:, 0] ** 2 * squared).sum() / (weight**2).sum() / 2
        spread = max(float(np.sqrt(mean)), 1e-9 * catch)
    return origin, basis


def _phase(core: Points, basis: Points) -> Points:
    """(2,) fraction of the basis at which most pins stand."""
    fractions = core @ np.linalg.inv(basis)
    cells = 20
    steps = np.floor((fractions % 1) * cells).astype(np.int64) % cells
    counts = np.zeros((cells, cells))
    np.add.at(counts, (steps[:, 0], steps[:, 1]), 1)
    smooth = ndimage.gaussian_filter(counts, 1.2, mode="wrap")
    mode = (np.array(np.unravel_index(smooth.argmax(), smooth.shape)) + 0.5) / cells
    away = (fractions - mode + 0.5) % 1 - 0.5
    near = np.abs(away).max(axis=1) < 0.25
    centred: Points = mode + away[near].mean(axis=0)
    return centred


def _first_of_each(places: Points, apart: Points) -> Mask:
    """True for the pin nearest to each place."""
    order = np.lexsort((apart, places[:, 1], places[:, 0]))
    ranked = places[order]
    first = np.ones(len(places), dtype=bool)
    first[1:] = (ranked[1:] != ranked[:-1]).any(axis=1)
    chosen = np.zeros(len(places), dtype=bool)
    chosen[order] = first
    return chosen


def _ground_lines(basis: Points) -> list[tuple[Points, Points]]:
    """Pairs (right, left) of ground-line steps that a footside could halve, evenest first."""
    steps = np.array([(i, j) for i in range(-2, 3) for j in range(-2, 3) if (i, j) != (0, 0)])
    found: list[tuple[float, Points, Points]] = []
    for one, other in combinations(steps, 2):
        if abs(one[0] * other[1] - one[1] * other[0]) != 1:
            continue
        u, v = one @ basis, other @ basis
        uneven = abs(np.log(np.hypot(*u) / np.hypot(*v)))
        half = np.rad2deg(np.arctan2(abs(cross(u, v)), float(u @ v))) / 2
        along = u + v
        down = along[1] > 0 or (along[1] == 0 and along[0] > 0)
        if uneven > RHOMBIC_TOLERANCE or not down:
            continue
        if not ANGLE_RANGE_DEG[0] <= half <= ANGLE_RANGE_DEG[1]:
            continue
        right, left = (u, v) if cross(u, v) > 0 else (v, u)
        found.append((float(uneven), right, left))
    found.sort(key=lambda line: line[0])
    return [(right, left) for _, right, left in found]


def _lattice(points: Points, fit: _Fit, right: Points, left: Points) -> Lattice:
    basis = np.array([right, left])
    places = np.rint((points - fit.origin) @ np.linalg.inv(basis)).astype(np.int64)
    squared = ((points - fit.origin - places @ basis) ** 2).sum(axis=1)
    rms = float(np.sqrt(squared[fit.on].mean()))
    count = int(fit.netted.sum())
    design = np.column_stack([np.ones(count), places[fit.netted]])
    sigma_squared = squared[fit.netted].sum() / max(2 * count - 6, 1)
    covariance = np.linalg.inv(design.T @ design)[1:, 1:] * sigma_squared
    # the half angle moves by half the difference of the two lines' own turns
    turn_squared = [covariance[k, k] / (basis[k] @ basis[k]) for k in (0, 1)]
    together = covariance[0, 1] * (right @ left) / ((right @ right) * (left @ left))
    sd = np.sqrt(max(turn_squared[0] + turn_squared[1] - 2 * together, 0)) / 2
    return Lattice(fit.origin, right, left, places, fit.on, rms, float(np.rad2deg(sd)))


def _nets(places: Points, on: Mask, basis: Points) -> tuple[int, Mask]:
    """How many pins lie within a net, and (n,) which lie within or beside one.

    Within are those with lattice neighbours on every side: four neighbours of six at least, and
    no half of the round without one. Those of the fullest line are not counted: a footside between
    two other lines is not yet a ground.

    Args:
        places: (n, 2) place nearest to each pin.
        on: (n,) pins that stand on theirs.
        basis: (2, 2).
    """
    if not on.any():
        return 0, on
    u, v = basis
    at = places.astype(np.int64) - places[on].min(axis=0).astype(np.int64) + 1
    taken = np.zeros(at[on].max(axis=0) + 2, dtype=bool)
    taken[tuple(at[on].T)] = True
    nearly_square = abs(u @ v) < NEARLY_SQUARE * np.hypot(*u) * np.hypot(*v)
    most, netted = 0, np.zeros(taken.shape, dtype=bool)
    for slant in (-1, 1) if nearly_square else (-1,):
        steps = [(1, 0), (0, -slant), (-1, -slant), (-1, 0), (0, slant), (1, slant)]
        there = np.stack([np.roll(taken, (-i, -j), axis=(0, 1)) for i, j in steps])
        open_side = (~there & ~np.roll(there, 1, axis=0)).any(axis=0)
        inner = taken & (there.sum(axis=0) >= 4) & ~open_side
        netted |= inner | np.any([np.roll(inner, step, axis=(0, 1)) for step in steps], axis=0)
        lines = np.argwhere(inner)
        if len(lines):
            lines = np.column_stack([lines, lines[:, 0] - slant * lines[:, 1]])
            fullest = max(np.unique(line, return_counts=True)[1].max() for line in lines.T)
            most = max(most, len(lines) - int(fullest))
    in_net = on.copy()
    in_net[on] = netted[tuple(at[on].T)]
    return most, in_net
