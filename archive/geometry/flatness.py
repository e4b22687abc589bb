"""Is the sheet flat? A photograph taken at a slant and a cockled sheet are made flat again.

Knows pins and the one lattice that was first found on them. The way: from where that lattice
fits best the pins are numbered outwards, the slant being fitted anew at each step; then the
numbers and the positions tell the slant by least squares, and what is left over, if it is more
than chance, is a smooth field of cockles. Positions on the sheet and on the flat agree in the
middle of the pinned surface, and so does the scale there.

The two sides of a corner are each other's mirror image, and in a sense that no stretch touches:
what takes the net of one to the net of the other is a reflection, seen through the stretch. A
slant breaks that, and so two sides tell it far better than their own pins do.

Stretch is not seen here: a lattice that is stretched is a lattice of another angle.

Positions are (n, 2) float64 as `(x, y)`, y down, in whatever unit the pins have.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from archive.geometry.bases import SUPPORT
from archive.geometry.lattice import WIDEST_CATCH, Lattice
from archive.geometry.neighbours import Indices, Points, nearest
from archive.geometry.occupancy import SIX_AROUND

Mask = NDArray[np.bool_]

LEAST_CHANGE = 0.003
"""Changes of scale below this part are not told: from here on an angle moves by a tenth of a
degree."""

MOST_CHANGE = 0.15
"""A net that changes more than this over the sheet is drawn so, as round collars are."""

SURE = 20.0
"""Squared standard errors, of two numbers together, that a slant must have: chance alone gives as
much on one sheet in 20,000. Source: the chi-square distribution."""

FEWEST_NUMBERED = 40
"""Pins that tell a slant from the wear of single holes."""

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

SHORTEST_COCKLE = 6.0
"""Half a wave of the finest cockle, in pitches: what is finer is the wear of single holes."""

PINS_A_COCKLE = 12
"""Pins that each wave of the field must have to lean on."""


@dataclass(frozen=True)
class Cockles:
    """A smooth field of shifts: products of cosines, less what a lattice would take up itself.

    Attributes:
        low: (2,) corner of the box of which every wave has a whole number of halves.
        size: (2,) its sides.
        waves: (m, 2) half waves across and down.
        weights: (3 + m, 2) shifts a constant, x, y and each wave count for.
    """

    low: Points
    size: Points
    waves: Points
    weights: Points

    def shifts(self, flat: Points) -> Points:
        """(n, 2) how far from its flat place a pin lies."""
        shifted: Points = _columns(flat, self.low, self.size, self.waves) @ self.weights
        return shifted


@dataclass(frozen=True)
class Bend:
    """How positions on the sheet and on the flat go over into each other.

    Attributes:
        middle: (2,) the middle of the pinned surface, where both agree.
        slant: (2,) a flat position q and one on the sheet p, both from the middle, are
            p = q / (1 - slant·q): the projective map, its affine part left to the lattice.
        slant_sd: (2,) standard errors of `slant`.
        cockles: the field that is left, or None.
        cockles_sd: standard error of the local scale by the cockles.
    """

    middle: Points
    slant: Points
    slant_sd: Points
    cockles: Cockles | None = None
    cockles_sd: float = 0.0

    def flatten(self, sheet: Points) -> Points:
        """(n, 2) where positions on the sheet lie on the flat."""
        p = sheet - self.middle
        flat: Points = p / (1 + p @ self.slant)[:, None]
        if self.cockles is not None:
            flat = flat - self.cockles.shifts(flat)
        return flat + self.middle

    def on_sheet(self, flat: Points) -> Points:
        """(n, 2) where positions on the flat lie on the sheet."""
        q = target = flat - self.middle
        if self.cockles is not None:
            for _ in range(8):  # each round leaves a few hundredths of the error before
                q = target + self.cockles.shifts(q)
        placed: Points = q / (1 - q @ self.slant)[:, None] + self.middle
        return placed

    def local_scales(self, sheet: Points) -> Points:
        """(n,) how much larger the sheet shows things at these positions than at its middle."""
        step = 1e-3 * float(np.ptp(sheet, axis=0).max() or 1.0)
        across, down = (
            (self.flatten(sheet + way) - self.flatten(sheet - way)) / (2 * step)
            for way in (np.array([step, 0.0]), np.array([0.0, step]))
        )
        scales: Points = np.abs(across[:, 0] * down[:, 1] - across[:, 1] * down[:, 0]) ** -0.5
        return scales


FLAT = Bend(np.zeros(2), np.zeros(2), np.zeros(2))
"""A sheet on which every position stays what it is."""


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


def find_bend(points: Points, parts: Sequence[Part]) -> Bend:
    """How the sheet is bent; `FLAT` where it is as flat as can be told.

    Args:
        points: (n, 2) all pins on the sheet.
        parts: those of its parts that have a lattice.
    """
    numbered = [_numbered(part) for part in parts]
    pins = np.concatenate([pins for pins, _ in numbered] or [np.empty((0, 2))])
    if len(pins) < FEWEST_NUMBERED:
        return FLAT
    design = block_diag(*(design for _, design in numbered))
    sides = _sides(numbered) if len(parts) == 2 else None
    bend = _fit_slant(pins, design, (points.min(axis=0) + points.max(axis=0)) / 2, sides)
    pitch = max(part.lattice.pitch for part in parts)
    # where two sides meet the net may be redrawn, which a field of cockles would take for its own
    likely = [bend] if len(parts) > 1 else [_fit_cockles(pins, design, bend, pitch), bend]
    return next((one for one in likely if _is_told(one, pins)), FLAT)


def _numbered(part: Part) -> tuple[Points, Points]:
    """(n, 2) pins that stand on a place; (n, m) what their flat positions are made of.

    That is the origin of one of the groups that hang together, and the two numbers of the place.
    """
    places, used = _number_pins(part.pins, part.seed[part.lattice.on], part.lattice)
    groups = _groups(places)
    grouped = groups.any(axis=1)
    return part.pins[used][grouped], np.column_stack([groups, places])[grouped]


@dataclass(frozen=True)
class _Sides:
    """The two sides of a corner in a design.

    Attributes:
        ends: where in the design the columns of each side end; its last two are its net's.
        ways: (2, 2, 2) for each side what makes of its steps down to the right and to the left
            the one along the side away from the corner and the one across it to the cloth.
    """

    ends: tuple[int, int]
    ways: NDArray[np.float64]

    def unlikeness(self, solved: Points) -> Points:
        """(2,) trace and logarithm of the area of what takes one net to the other.

        Both are 0 for a reflection, and stay so whatever stretch or shear is put upon both nets.

        Args:
            solved: (m, 2) how much each part of the design counts.
        """
        one, other = (
            way @ solved[end - 2 : end] for way, end in zip(self.ways, self.ends, strict=True)
        )
        taking = np.linalg.solve(one, other)
        return np.array([np.trace(taking), np.log(np.abs(np.linalg.det(taking)))])

    def pull(
        self, design: Points, flat: Points, moves: NDArray[np.float64]
    ) -> tuple[Points, Points]:
        """(2, 2) normal matrix and (2,) right side by which the sides want to be alike.

        Args:
            design: (n, m) what each flat position is made of, weighed.
            flat: (n, 2) the flat positions, weighed.
            moves: (n, 2, 2) by how much each is moved by the slant, weighed.
        """
        inverse = np.asarray(np.linalg.pinv(design), dtype=np.float64)
        solved = inverse @ flat
        errors = np.einsum("umx,mn->unx", self.slopes(solved), inverse)
        surely = np.linalg.inv(np.einsum("unx,vnx->uv", errors, errors))
        turned = np.einsum("unx,nxk->uk", errors, moves)
        return turned.T @ surely @ turned, -turned.T @ surely @ self.unlikeness(solved)

    def slopes(self, solved: Points) -> NDArray[np.float64]:
        """(2, m, 2) by how much each number in `solved` changes the unlikeness."""
        slopes = np.zeros((2, *solved.shape))
        for row in [end - back for end in self.ends for back in (2, 1)]:
            for axis in (0, 1):
                step = np.zeros(solved.shape)
                step[row, axis] = 1e-5 * np.abs(solved[row]).max()
                change = self.unlikeness(solved + step) - self.unlikeness(solved - step)
                slopes[:, row, axis] = change / (2 * step[row, axis])
        return slopes


def _sides(numbered: Sequence[tuple[Points, Points]]) -> _Sides:
    """The sides of a corner from the pins of each and what their flat positions are made of."""
    apart = numbered[0][0].mean(axis=0) - numbered[1][0].mean(axis=0)
    ways = []
    for (pins, design), away in zip(numbered, (apart, -apart), strict=True):
        right, left = np.linalg.lstsq(design, pins, rcond=None)[0][-2:]
        along = np.array([1.0, 1.0]) * np.sign((right + left) @ away)
        across = np.array([-1.0, 1.0]) * np.sign((right - left) @ away)
        ways.append(np.array([along, across]))
    first = numbered[0][1].shape[1]
    return _Sides((first, first + numbered[1][1].shape[1]), np.array(ways))


# -- which pin stands on which place ---------------------------------------------------------


def _number_pins(points: Points, seed: Points, lattice: Lattice) -> tuple[Points, Mask]:
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
            solved, slant, _ = _solve(p[within[caught]], design, slant, likely)
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


# -- how they lie ----------------------------------------------------------------------------


def _solve(
    p: Points,
    design: Points,
    slant: Points,
    likely: float = np.inf,
    sides: _Sides | None = None,
) -> tuple[Points, Points, Points]:
    """Lattice, slant and its covariance by least squares, pins far off their places left out.

    Args:
        p: (n, 2) positions on the sheet, from the middle.
        design: (n, m) what each flat position is made of: origins and place numbers.
        slant: (2,) a first guess.
        likely: standard deviation of the slant that is expected beforehand.
        sides: the two sides of a corner in the design.

    Returns:
        (m, 2) how much each part of the design counts; (2,) slant; (2, 2) its covariance.
    """
    weight = np.ones(len(p))
    for _ in range(4):
        weighed = design * weight[:, None]
        own, _ = np.linalg.qr(weighed)

        def left(values: Points, own: Points = own, weight: Points = weight) -> Points:
            values = values * weight[:, None]
            beside: Points = values - own @ (own.T @ values)
            return beside

        along = 1 + p @ slant
        flat = p / along[:, None]
        moves = -p[:, :, None] * p[:, None, :] / (along**2)[:, None, None]
        pushed = np.stack([left(moves[:, :, k]) for k in (0, 1)], axis=-1).reshape(-1, 2)
        rest = left(flat).reshape(-1)
        spread = max(float((rest**2).sum()) / max(2 * (len(p) - design.shape[1]) - 2, 1), 1e-18)
        normal = pushed.T @ pushed + np.eye(2) * (spread / likely**2)
        towards = -pushed.T @ rest - slant * (spread / likely**2)
        if sides is not None:
            more = sides.pull(weighed, flat * weight[:, None], moves * weight[:, None, None])
            normal, towards = normal + more[0], towards + more[1]
        slant = slant + np.linalg.solve(normal, towards)
        flat = p / (1 + p @ slant)[:, None]
        solved = np.linalg.lstsq(weighed, flat * weight[:, None], rcond=None)[0]
        off = np.hypot(*(flat - design @ solved).T)
        sigma = max(float(np.median(off)) / 1.1774, 1e-9)  # median of a Rayleigh distribution
        weight = (off < 3.5 * sigma).astype(np.float64) if sigma > 1e-9 else weight
    return np.asarray(solved), slant, np.linalg.inv(normal) * spread


def _fit_slant(pins: Points, design: Points, middle: Points, sides: _Sides | None) -> Bend:
    """The bend by slant alone; without slant where it is not more than chance."""
    _, slant, covariance = _solve(pins - middle, design, np.zeros(2), sides=sides)
    sure = slant @ np.linalg.solve(covariance, slant) > SURE
    return Bend(middle, slant if sure else np.zeros(2), np.sqrt(np.diag(covariance)))


def _fit_cockles(pins: Points, design: Points, bend: Bend, pitch: float) -> Bend:
    """The bend with the field of cockles that explains what the slant leaves over, if any does.

    The waves are taken from the longest on, as many as pay for themselves by Schwarz's
    criterion. Source: G. Schwarz, Estimating the dimension of a model, 1978.
    """
    flat = bend.flatten(pins) - bend.middle
    low, size = flat.min(axis=0), np.ptp(flat, axis=0)
    waves = _waves(size, SHORTEST_COCKLE * pitch, len(pins) // PINS_A_COCKLE)
    own, _ = np.linalg.qr(design)
    rest = flat - own @ (own.T @ flat)
    off = np.hypot(*rest.T)
    kept = off < 3.5 * float(np.median(off)) / 1.1774
    columns = _columns(flat[kept], low, size, waves)
    basis, triangle = np.linalg.qr(columns)
    parts = basis.T @ rest[kept]
    total, count = float((rest[kept] ** 2).sum()), 2 * int(kept.sum())
    left = np.maximum(total - np.cumsum((parts**2).sum(axis=1)), 1e-12 * total)
    criterion = count * np.log(left) + 2 * np.arange(len(left)) * np.log(count)
    terms = int(criterion[2:].argmin()) + 3
    if terms == 3:
        return bend
    triangle = triangle[:terms, :terms]
    waves = waves[: terms - 3]
    cockles = Cockles(low, size, waves, np.linalg.solve(triangle, parts[:terms]))
    # the scale is half of what the shifts grow by across and down
    step = 1e-3 * pitch
    slopes = [
        (_columns(flat + way, low, size, waves) - _columns(flat - way, low, size, waves)) / step / 2
        for way in (np.array([step, 0.0]), np.array([0.0, step]))
    ]
    errors = np.concatenate(slopes) @ np.linalg.inv(triangle)
    variance = left[terms - 1] / max(count - 2 * terms, 1) * (errors**2).sum() / len(flat) / 4
    cockled = replace(bend, cockles=cockles, cockles_sd=float(np.sqrt(variance)))
    more = float(np.ptp(cockled.local_scales(pins) / bend.local_scales(pins)))
    return cockled if more >= LEAST_CHANGE else bend


def _waves(size: Points, shortest: float, most: int) -> Points:
    """(m, 2) numbers of half waves across and down, the longest waves first."""
    across, down = np.maximum(size // shortest, 0).astype(int)
    numbers = np.array([(i, j) for i in range(across + 1) for j in range(down + 1) if i + j])
    numbers = numbers.reshape(-1, 2)
    fineness = np.hypot(*(numbers / size).T)
    order = np.argsort(fineness, kind="stable")
    within = order[fineness[order] <= 1 / shortest]
    waves: Points = numbers[within][:most].astype(np.float64)
    return waves


def _columns(flat: Points, low: Points, size: Points, waves: Points) -> Points:
    """(n, 3 + m) a constant, x, y and the product of cosines of each wave."""
    phase = np.pi * (flat - low) / size
    products = np.cos(phase[:, :1] * waves[:, 0]) * np.cos(phase[:, 1:] * waves[:, 1])
    return np.column_stack([np.ones(len(flat)), flat, products])


def _is_told(bend: Bend, pins: Points) -> bool:
    scales = bend.local_scales(pins)
    return LEAST_CHANGE <= float(np.ptp(scales)) <= MOST_CHANGE
