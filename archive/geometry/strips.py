"""One straight strip of lace: everything its pins tell, in the units of their positions.

Joins the single questions (lattice, footside, repeat, areas, doubts) in the order in which one
answer helps the next. Knows nothing of millimetres, files or records.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.areas import Net, Surface, read_surface
from archive.geometry.bases import difference_peaks, stretched_step
from archive.geometry.doubts import Doubtful, doubts_of_ground, doubts_of_repeat
from archive.geometry.footsides import FootLine, find_foot
from archive.geometry.friezes import find_bare_frieze, find_frieze, find_moves
from archive.geometry.lattice import Lattice, find_lattices
from archive.geometry.neighbours import NO_POINTS, Points, nearest_distance
from archive.geometry.occupancy import Grid, lay_grid
from archive.geometry.repeats import (
    LEAST_PARTNERS_BARE,
    Folding,
    find_bare_repeat,
    find_folding,
    find_times,
    fold_points,
)
from archive.records.measurement import Frieze

Mask = NDArray[np.bool_]

UNEVEN_COST = 8.0
TILT_COST = 0.25
REPEAT_GAIN = 1.0
"""What uneven ground lines, a sheet lying on its side and a repeat count for or against a
direction, one footside along the whole sheet being 1. A square patch of torchon has four borders
alike: there they decide."""

BARE_COVER = 0.75
BARE_PINS = 10
"""What footsides without a ground must have: winding tapes run straight for some pins too. One that
is to vouch for a ground must run along as much of its nets. Of 869 drawn sheets with hardly any
ground the net of one had a footside, along 0.71 of it; that of a drawn corner runs along 0.98."""

SEPARATE_FOOT = 0.2
"""A footside this far off the lattice, in columns, stands by itself."""

CHANCE_ON, CHANCE_NET = 0.6, 0.15
"""A lattice that holds less than this part of the pins must make a net of that part of them. Three
pins of ten stand near places by chance alone. Of 200 drawn sheets with hardly any ground, what else
was found had 0.11 in nets at most, while up to 0.52 stood on it; of the demo's grounds the least
has 0.29."""

FILLED = 0.5
"""An open area with this many pins to a place is no open figure: a net has one to a place."""

MOST_BESIDE = 0.5
"""A lattice that leaves more pins than this out, between footsides pricked at half its pitch, is
a row of plaits that cross: no ground is pricked wider than its footside."""


@dataclass(frozen=True)
class Repeat:
    """The repeat.

    Attributes:
        step: (2,) from one repeat to the next, down the lace.
        rows: the same in pitches of the ground or of the footside; None without either.
        pins: pins in one repeat.
        seen: whole repeats on the strip.
        mirrored: in the ground the second half is the first, reversed or turned over.
        frieze: the symmetry of the whole strip.
    """

    step: Points
    rows: int | None
    pins: int
    seen: int
    mirrored: bool
    frieze: Frieze


@dataclass(frozen=True)
class Ground:
    """The lattice of a strip and what its places hold."""

    lattice: Lattice
    grid: Grid
    surface: Surface
    folding: Folding | None

    @property
    def areas(self) -> list[Net]:
        """The surface's areas, without open ones in which a net stands that fits no lattice.

        Near a corner a point ground is drawn anew: its pins fill what the lattice leaves open.
        """
        off = ~self.lattice.on
        columns, half_rows = self.grid.taken.shape
        beside = np.zeros((columns, half_rows), dtype=np.int64)
        column = self.lattice.columns[off] - self.grid.first_column
        half_row = self.lattice.half_rows[off] - self.grid.first_half_row
        inside = (column >= 0) & (half_row >= 0) & (column < columns) & (half_row < half_rows)
        np.add.at(beside, (column[inside], half_row[inside]), 1)
        return [
            net
            for net in self.surface.nets
            if net.kind != "open" or beside[net.cells].sum() < FILLED * net.cells.sum()
        ]


@dataclass(frozen=True)
class Strip:
    """What was found.

    Attributes:
        points: (n, 2) its pins.
        along: (2,) unit vector down the lace, or None where no direction was found.
        feet: footsides, left one first; their pins are indices into `points`.
        ground: None where nothing is pricked on a lattice.
        middles: (m, 2) places that are known to be the empty middle of a ring.
    """

    points: Points
    along: Points | None
    feet: list[FootLine]
    ground: Ground | None
    repeat: Repeat | None
    doubts: list[Doubtful]
    middles: Points = field(default_factory=lambda: NO_POINTS)

    def upright(self, positions: Points) -> Points:
        """(m, 2) positions as (across, down): turned so that the footside is upright."""
        along = np.array([0.0, 1.0]) if self.along is None else self.along
        placed: Points = positions @ np.column_stack([rightwards(along), along])
        return placed

    def sideways(self, placed: Points) -> Points:
        """(m, 2) positions on the sheet of what `upright` has placed."""
        along = np.array([0.0, 1.0]) if self.along is None else self.along
        back: Points = placed @ np.array([rightwards(along), along])
        return back


def rightwards(along: Points) -> Points:
    """The unit vector to the right of somebody who sees `along` run down the page."""
    return np.array([along[1], -along[0]])


def read_strip(points: Points, middles: Points = NO_POINTS) -> Strip:
    """Everything the pins of one strip tell.

    Args:
        points: (n, 2) float64 positions as (x, y), y down. Any number, none included.
        middles: (m, 2) places that are known to be the empty middle of a ring.
    """
    views = [_look_along(points, lattice) for lattice in find_lattices(points)]
    if not views:
        return _bare_strip(points)
    view = max(views, key=lambda view: view.rating)
    if _is_plaited(points, view):
        return _bare_strip(points)
    surface = read_surface(view.grid)
    if _is_chance(points, view, surface):
        return _bare_strip(points)
    lattice, folding, feet = view.lattice, view.folding, view.feet
    ground = Ground(lattice, view.grid, surface, folding)
    repeat = None
    if folding is not None:
        step = lattice.along * folding.rows
        pins = int(folding.pricked.sum()) + int(fold_points(points[~lattice.on], step)[1].sum())
        moves = find_moves(view.grid, folding.rows)
        mirrored = any(move.kind in ("across", "glide") for move in moves)
        frieze = find_frieze(view.grid, moves, points[~lattice.on], step)
        repeat = Repeat(step, folding.rows, pins, folding.seen, mirrored, frieze)
    doubts = doubts_of_ground(points, lattice, view.grid, surface, folding, feet, middles)
    return Strip(points, lattice.along / lattice.pitch, feet, ground, repeat, doubts, middles)


# -- on a lattice ---------------------------------------------------------------------------


def _is_chance(points: Points, view: _View, surface: Surface) -> bool:
    """Whether few pins stand on the lattice, and nothing else speaks for it.

    Hardly any of them stand next to each other, or neither a footside nor a repeat runs along it:
    figures that come again and again can make a net of their own that lies askew, and a dozen pins
    at the end of the sheet may stand in line with it.
    """
    if view.lattice.on.mean() >= CHANCE_ON:
        return False
    nets = [net for net in surface.nets if net.kind != "open"]
    if sum(net.pins for net in nets) < CHANCE_NET * len(points):
        return True
    return view.folding is None and not any(
        _runs_along(points[foot.pins], nets, view.lattice) for foot in view.feet
    )


def _runs_along(foot: Points, nets: list[Net], lattice: Lattice) -> bool:
    """Whether the (k, 2) pins of a footside are as long as most of the nets.

    They are not held against the sheet, which at a corner is longer than either side.
    """
    half_rows = np.flatnonzero(np.any([net.cells for net in nets], axis=(0, 1)))
    rows = float(np.ptp(foot @ lattice.along)) / lattice.pitch**2 + 1
    return bool(rows >= BARE_COVER * (np.ptp(half_rows) / 2 + 1))


@dataclass(frozen=True)
class _View:
    """The strip seen along one direction of its lattice, and how much that explains."""

    lattice: Lattice
    grid: Grid
    folding: Folding | None
    feet: list[FootLine]
    rating: float


def _look_along(points: Points, lattice: Lattice) -> _View:
    along = lattice.along / lattice.pitch
    feet = find_feet(points, along, [lattice.pitch, 2 * lattice.pitch])
    separate = [foot for foot in feet if stands_off(points, foot, lattice)]
    if separate:
        # a plain edge of the ground is straight too; beside a real footside it is none
        feet = separate
        lattice = replace(lattice, on=lattice.on & ~on_feet(feet, len(points)))
    grid = lay_grid(lattice)
    folding = find_folding(grid, points[~lattice.on & ~on_feet(feet, len(points))])
    extent = np.ptp(points @ np.column_stack([rightwards(along), along]), axis=0)
    length = float(extent[1] / extent.max())
    uneven = abs(float(np.log(np.hypot(*lattice.right) / np.hypot(*lattice.left))))
    rating = length * sum(foot.cover for foot in feet) - UNEVEN_COST * uneven
    rating += TILT_COST * float(along[1] ** 2 - along[0] ** 2)
    rating += REPEAT_GAIN * (folding is not None and folding.rows > 1)
    return _View(lattice, grid, folding, feet, rating)


def find_feet(points: Points, along: Points, pitches: list[float]) -> list[FootLine]:
    """Footsides in one direction, left one first; of the pitches the first that fits any."""
    right = rightwards(along)
    for pitch in pitches:
        sides = [find_foot(points, along, outward, pitch) for outward in (-right, right)]
        feet = [foot for foot in sides if foot is not None]
        if feet:
            return feet
    return []


def on_feet(feet: list[FootLine], count: int) -> Mask:
    """(count,) true for pins of a footside."""
    mask = np.zeros(count, dtype=bool)
    for foot in feet:
        mask[foot.pins] = True
    return mask


def stands_off(points: Points, foot: FootLine, lattice: Lattice) -> bool:
    """Whether the edge pins stand off the ground's own places."""
    offset = (points[foot.pins] - lattice.origin) @ np.linalg.inv([lattice.right, lattice.left])
    columns = offset[:, 0] - offset[:, 1]
    half_rows = offset.sum(axis=1)
    number = np.rint(columns)
    off_column = np.abs(columns - number)
    # a place is one where column and half row are both even or both odd
    off_row = np.abs((half_rows - number + 1) % 2 - 1)
    return bool(np.median(np.maximum(off_column, off_row)) > SEPARATE_FOOT)


def _is_plaited(points: Points, view: _View) -> bool:
    if view.lattice.on.mean() > MOST_BESIDE:
        return False
    along = view.lattice.along / view.lattice.pitch
    return bool(find_feet(points, along, [view.lattice.pitch / 2]))


# -- without one ----------------------------------------------------------------------------


def _bare_strip(points: Points) -> Strip:
    """A lace without a ground: footsides and repeat as far as they show."""
    step, feet = _bare_feet(points)
    rows: int | None = None
    repeat = None
    shift: Points | None
    if step is None:
        shift = find_bare_repeat(points)
    else:
        most = int(np.ptp(points @ step) / (step @ step) / 2)
        loose = points[~on_feet(feet, len(points))]
        times = range(1, most + 1)
        rows = find_times(loose, step, times, LEAST_PARTNERS_BARE, nearest_distance(loose))
        shift = None if rows is None else rows * step
    towards = shift if step is None else step
    along = None if towards is None else towards / np.hypot(*towards)
    if shift is not None and along is not None:
        length = float(np.hypot(*shift))
        row = length / rows if rows else nearest_distance(points)
        seen = int((float(np.ptp(points @ along)) + row) / length + 0.02)
        frieze = find_bare_frieze(points, shift, _middle(points, along, feet))
        mirrored = frieze in ("p1m1", "p11g", "p2mg", "p2mm")
        pins = int(fold_points(points, shift)[1].sum())
        repeat = Repeat(shift, rows, pins, seen, mirrored, frieze)
    doubts = doubts_of_repeat(points, repeat.step) if repeat is not None else []
    return Strip(points, along, feet, None, repeat, doubts)


def _middle(points: Points, along: Points, feet: list[FootLine]) -> float:
    """Where the middle line of a strip runs, to the right of `along`."""
    across = points @ rightwards(along)
    if len(feet) == 2:
        return float(np.mean([across[foot.pins].mean() for foot in feet]))
    return float(across.min() + across.max()) / 2


def _bare_feet(points: Points) -> tuple[Points | None, list[FootLine]]:
    """The footsides of a lace without a ground, and the (2,) step from pin to pin."""
    spacing = nearest_distance(points)
    if spacing == 0:
        return None, []
    best: tuple[int, Points | None, list[FootLine]] = (0, None, [])
    for peak in difference_peaks(points, cKDTree(points), spacing):
        step = stretched_step(points, peak)
        pitch = float(np.hypot(*step))
        feet = find_feet(points, step / pitch, [pitch])
        feet = [foot for foot in feet if foot.cover >= BARE_COVER]
        pins = sum(len(foot.pins) for foot in feet)
        if pins > best[0] and pins >= BARE_PINS:
            best = (pins, step, feet)
    return best[1], best[2]
