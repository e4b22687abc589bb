"""Doubts: places that should hold a pin and do not, pins that should not be there, pins off line.

Knows the lattice, the footsides, the areas and the repeat. A repeat seen three times or more is
the best witness: what it pricks everywhere else should be pricked here too. Without it only the
inside of a net tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.areas import Surface
from archive.geometry.footsides import FootLine
from archive.geometry.lattice import Lattice
from archive.geometry.neighbours import Indices, Points, nearest, nearest_distance
from archive.geometry.occupancy import Grid, count_around
from archive.geometry.repeats import Folding

Mask = NDArray[np.bool_]

FEWEST_WITNESSES = 3
"""Repeats on the sheet from which on a place is judged by the others."""

AGREEMENT = 0.75
"""Part of the other repeats that must agree before a place is doubted."""

MOST_LONE_EMPTY = 2
"""Without such witnesses, more lone empty places than this are taken for design: tallies, spots."""

FALSE_ALARMS = 0.01
"""Pins of a whole sheet that may be called off-line by chance alone."""

LEAST_SIGMAS = 3.0
LEAST_OFF = 0.04
"""And never less than this part of a pitch: what is finer no eye sees and no pin feels."""

SAME_PIN = 0.3
"""A stray pin this near an empty place, in pitches, is that place's own pin off line."""

SAME_LOOSE_PIN = 0.3
"""Pins of two repeats this near each other, in distances of neighbours, are the same pin."""

NEIGHBOURS_FOR_DRIFT = 12
"""Pins around whose common shift is paper that has moved, not a pin off line."""


@dataclass(frozen=True)
class Doubtful:
    """A place that a person should look at: (2,) position, and why."""

    position: Points
    kind: Literal["missing", "extra", "off-line"]


def doubts_of_ground(
    points: Points,
    lattice: Lattice,
    grid: Grid,
    surface: Surface,
    folding: Folding | None,
    feet: list[FootLine],
    middles: Points,
) -> list[Doubtful]:
    """Every doubtful place of a lace on a lattice; none where the (m, 2) middles of rings are."""
    on_foot = np.zeros(len(points), dtype=bool)
    for foot in feet:
        on_foot[foot.pins] = True
    loose = ~lattice.on & ~on_foot

    bare = surface.lone_empty & (count_around(grid, surface.full) >= 5)
    stray = loose & _deep_in_net(grid, surface)
    for foot in feet:
        stray |= _outside(points, foot)
    off_line = _off_line(points, lattice, grid, surface)
    gone = []
    if folding is not None and folding.rows > 1 and folding.seen >= FEWEST_WITNESSES:
        expected, odd = _against_repeat(grid, folding)
        pricked = np.tile(folding.pricked, (1, folding.seen + 1))[:, : bare.shape[1]]
        bare &= pricked
        # a pin that stands on a place by chance in the other repeats stands beside it in this one
        cells = np.argwhere(expected & ~bare)
        distance, _ = nearest(cKDTree(points), grid.position(cells))
        gone.append(grid.position(cells[distance[:, 0] > SAME_PIN * lattice.pitch]))
        unlike = loose.copy()
        unlike[grid.pin[odd]] = True
        lost, alone = _loose_against_repeat(points, unlike, lattice.along * folding.rows)
        gone.append(lost)
        stray |= alone
        # what comes back with the repeat is design: a honeycomb has every second pin at its edge
        doubted = stray | off_line
        designed = _as_elsewhere(points, doubted, lattice.along * folding.rows)
        stray, off_line = stray & ~designed, off_line & ~designed
    elif bare.sum() > MOST_LONE_EMPTY:
        bare[:] = False
    gone.append(grid.position(np.argwhere(bare)))
    gone.extend(_missing_on_foot(points, foot) for foot in feet)
    missing = _apart(np.concatenate(gone), SAME_PIN * lattice.pitch)
    distance, _ = nearest(cKDTree(middles), missing)
    missing = missing[distance[:, 0] > SAME_PIN * lattice.pitch]

    off_line &= ~stray
    distance, pin = nearest(cKDTree(points), missing)
    moved = distance[:, 0] < SAME_PIN * lattice.pitch
    off_line[pin[moved, 0]] = True
    missing = missing[~moved]
    stray &= ~off_line
    found = [Doubtful(place, "missing") for place in missing]
    found += [Doubtful(pin, "extra") for pin in points[stray]]
    found += [Doubtful(pin, "off-line") for pin in points[off_line]]
    return found


def doubts_of_repeat(points: Points, repeat: Points) -> list[Doubtful]:
    """Doubtful places of a lace without a ground, by comparing its repeats.

    Args:
        points: (n, 2) the pins.
        repeat: (2,) the step from one repeat to the next.
    """
    every = np.ones(len(points), dtype=bool)
    lost, alone = _loose_against_repeat(points, every, repeat)
    missing = _apart(lost, SAME_LOOSE_PIN * nearest_distance(points))
    found = [Doubtful(place, "missing") for place in missing]
    return found + [Doubtful(pin, "extra") for pin in points[alone]]


def _deep_in_net(grid: Grid, surface: Surface) -> Mask:
    """(n,) true for pins whose nearest place lies inside a full or honeycomb net."""
    lattice = grid.lattice
    column = lattice.columns - grid.first_column
    half_row = lattice.half_rows - grid.first_half_row
    columns, half_rows = grid.taken.shape
    inside = (column >= 0) & (column < columns) & (half_row >= 0) & (half_row < half_rows)
    net = surface.full | surface.honeycomb_empty
    deep = net & (count_around(grid, grid.taken) == 6)
    result = np.zeros(len(lattice.on), dtype=bool)
    result[inside] = deep[column[inside], half_row[inside]]
    return result


def _outside(points: Points, foot: FootLine) -> Mask:
    """(n,) true for pins beside a footside, where nothing is worked."""
    edge = points[foot.pins]
    out, down = points @ foot.outward, points @ foot.along
    beyond = out - np.median(edge @ foot.outward)
    along = edge @ foot.along
    margin = 1.5 * foot.pitch
    beside = (down > along.min() - margin) & (down < along.max() + margin)
    outside: Mask = beside & (beyond > foot.pitch / 3)
    return outside


def _against_repeat(grid: Grid, folding: Folding) -> tuple[Mask, Mask]:
    """Empty places that the other repeats prick, and pins where the others have none."""
    half_rows = grid.taken.shape[1]
    period = 2 * folding.rows
    padding = ((0, 0), (0, -half_rows % period))
    shape = (len(grid.taken), -1, period)
    exists = np.pad(grid.exists, padding).reshape(shape)
    taken = np.pad(grid.taken, padding).reshape(shape)
    others = exists.sum(axis=1, keepdims=True) - exists
    pricked = taken.sum(axis=1, keepdims=True) - taken
    heard = others >= FEWEST_WITNESSES - 1
    expected = exists & ~taken & heard & (pricked >= AGREEMENT * others)
    odd = taken & heard & (pricked <= (1 - AGREEMENT) * others)
    flat = (len(grid.taken), -1)
    expected = expected.reshape(flat)[:, :half_rows]
    odd = odd.reshape(flat)[:, :half_rows]
    # a sheet may begin or end with a slanted row: what lies outside it is not missing
    expected &= count_around(grid, grid.taken) >= 3
    odd[:, :2] = odd[:, -2:] = False
    # where the sheet begins or ends within a figure the design itself changes, in many places
    ends = np.ones(half_rows, dtype=bool)
    ends[period : half_rows - period] = False
    for doubted in (expected, odd):
        if doubted[:, ends].sum() > 1:
            doubted[:, ends] = False
    return expected, odd


def _loose_against_repeat(points: Points, loose: Mask, repeat: Points) -> tuple[Points, Mask]:
    """Where other repeats have a pin off the lattice and one has none; and pins alone.

    At the ends of a sheet a design begins and ends as it likes: beyond the first and the last
    repeat that has a pin it counts as missing, and in the first and last repeat a pin counts as
    alone, only if that is the one such place.
    """
    alone = np.zeros(len(points), dtype=bool)
    lost, cut_off = [np.empty((0, 2))], [np.empty((0, 2))]
    tree, tolerance = cKDTree(points), SAME_LOOSE_PIN * nearest_distance(points)
    for pin in np.flatnonzero(loose).tolist():
        steps, images, seen = _seen_elsewhere(tree, points[pin], repeat, tolerance)
        if len(steps) < FEWEST_WITNESSES - 1:
            continue
        if seen.mean() <= 1 - AGREEMENT:
            alone[pin] = True
            continue
        between = (steps > min(0, steps[seen].min())) & (steps < max(0, steps[seen].max()))
        if (seen.sum() + 1) / (len(steps) + 1) >= AGREEMENT:
            lost.append(images[between & ~seen])
            cut_off.append(images[~between & ~seen])
    length = float(np.hypot(*repeat))
    down = points @ repeat / length
    first, last = float(down.min()), float(down.max())
    ends = (down < first + length) | (down > last - length)
    if (alone & ends).sum() > 1:
        alone[ends] = False
    at_ends = _apart(np.concatenate(cut_off), tolerance)
    margin = np.minimum(at_ends @ repeat / length - first, last - at_ends @ repeat / length)
    if len(at_ends) == 1 and margin.min() > tolerance / SAME_LOOSE_PIN:
        lost.append(at_ends)
    return np.concatenate(lost), alone


def _seen_elsewhere(
    tree: cKDTree, pin: Points, repeat: Points, tolerance: float
) -> tuple[Indices, Points, Mask]:
    """Where a pin's images in the other repeats lie: steps, places, and whether a pin is there."""
    down = (tree.data - pin) @ repeat / (repeat @ repeat)
    before, after = int(-down.min()), int(down.max())
    steps = np.array([step for step in range(-before, after + 1) if step], dtype=np.int64)
    images = pin + np.outer(steps, repeat)
    distance, _ = nearest(tree, images)
    return steps, images, distance[:, 0] < tolerance


def _missing_on_foot(points: Points, foot: FootLine) -> Points:
    """(m, 2) empty places in a footside."""
    pins = points[foot.pins]
    gaps = np.diff(pins, axis=0)
    number = np.rint(np.hypot(*gaps.T) / foot.pitch).astype(int)
    found = [
        pins[k] + gaps[k] * (part / number[k])
        for k in range(len(gaps))
        for part in range(1, number[k])
    ]
    return np.array(found).reshape(-1, 2)


def _apart(places: Points, distance: float) -> Points:
    """The places, each group of near ones replaced by its first."""
    kept = np.ones(len(places), dtype=bool)
    if len(places) > 1:
        pairs: Indices = cKDTree(places).query_pairs(distance, output_type="ndarray")
        for one, other in sorted(pairs.tolist()):
            if kept[one]:
                kept[other] = False
    return places[kept]


def _as_elsewhere(points: Points, doubted: Mask, repeat: Points) -> Mask:
    """(n,) true for doubted pins that stand just so in the other repeats too."""
    tree, tolerance = cKDTree(points), SAME_LOOSE_PIN / 2 * nearest_distance(points)
    designed = np.zeros(len(points), dtype=bool)
    for pin in np.flatnonzero(doubted).tolist():
        _, _, seen = _seen_elsewhere(tree, points[pin], repeat, tolerance)
        designed[pin] = len(seen) > 0 and seen.mean() >= AGREEMENT
    return designed


def _off_line(points: Points, lattice: Lattice, grid: Grid, surface: Surface) -> Mask:
    """Pins of a net that stand further from their place than chance would put any."""
    net = surface.full | (count_around(grid, surface.honeycomb_empty) > 0)
    on = np.sort(grid.pin[net & grid.taken])
    off = np.zeros(len(points), dtype=bool)
    if len(on) <= NEIGHBOURS_FOR_DRIFT:
        return off
    basis = np.array([lattice.right, lattice.left])
    residual = points[on] - lattice.origin - lattice.places[on] @ basis
    _, around = nearest(cKDTree(points[on]), points[on], count=NEIGHBOURS_FOR_DRIFT + 1)
    residual = residual - np.median(residual[around[:, 1:]], axis=1)
    distance = np.hypot(*residual.T)
    sigma = float(np.median(distance)) / 1.1774  # median of a Rayleigh distribution
    sigmas = max(LEAST_SIGMAS, float(np.sqrt(2 * np.log(len(on) / FALSE_ALARMS))))
    off[on] = distance > max(sigmas * sigma, LEAST_OFF * lattice.pitch)
    return off
