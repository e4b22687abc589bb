"""Everything that pins alone tell, in the units of their positions.

Joins the single questions (lattice, footside, repeat, areas, doubts) in the order in which one
answer helps the next. Knows nothing of millimetres, files or records.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.areas import Surface, count_rings, read_surface
from archive.geometry.doubts import Doubtful, find_doubts
from archive.geometry.footsides import FootLine, find_foot
from archive.geometry.lattice import (
    Lattice,
    Points,
    difference_peaks,
    find_lattices,
    stretched_step,
)
from archive.geometry.neighbours import nearest_distance
from archive.geometry.occupancy import Grid, lay_grid
from archive.geometry.repeats import Folding, find_folding

UNEVEN_COST = 8.0
TILT_COST = 0.25
REPEAT_GAIN = 1.0
"""What uneven ground lines, a sheet lying on its side and a repeat count for or against a
direction, one footside along the whole sheet being 1. A square patch of torchon has four borders
alike: there they decide."""

BARE_COVER = 0.75
BARE_PINS = 10
"""What a footside without a ground must have: winding tapes run straight for five or six pins."""

SEPARATE_FOOT = 0.2
"""A footside this far off the lattice, in columns or half rows, stands by itself."""

OUTSIDE_HEAD = 0.03
"""Share of pins outside the ground on the head's side that makes a shaped headside."""


@dataclass(frozen=True)
class Analysis:
    """What was found.

    Attributes:
        points: (n, 2) the pins.
        along: (2,) unit vector down the footside, or None where no direction was found.
        feet: footsides, left one first.
        lattice: the ground, or None; the next four are None without it.
        corner: two footsides meet at a right angle.
    """

    points: Points
    along: Points | None
    feet: list[FootLine]
    lattice: Lattice | None
    grid: Grid | None
    surface: Surface | None
    folding: Folding | None
    rings: tuple[int, int]
    doubts: list[Doubtful]
    corner: bool

    @property
    def tilt_deg(self) -> float | None:
        """Clockwise turn that sets the footside upright."""
        if self.along is None:
            return None
        return float(np.rad2deg(np.arctan2(self.along[0], self.along[1])))

    @property
    def side(self) -> str:
        """On which side the footside lies, the sheet set upright."""
        if self.along is None or not self.feet:
            return "none"
        if len(self.feet) == 2:
            return "both"
        right = rightwards(self.along)
        return "right" if self.feet[0].outward @ right > 0 else "left"

    def upright(self, positions: Points) -> Points:
        """(m, 2) positions as (across, down): turned so that the footside is upright."""
        along = np.array([0.0, 1.0]) if self.along is None else self.along
        return positions @ np.column_stack([rightwards(along), along])


def rightwards(along: Points) -> Points:
    """The unit vector to the right of somebody who sees `along` run down the page."""
    return np.array([along[1], -along[0]])


def analyse(points: Points) -> Analysis:
    """Everything the pins tell.

    Args:
        points: (n, 2) float64 positions as (x, y), y down. Any number, none included.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    lattices = find_lattices(points)
    if not lattices:
        along, feet = _bare_feet(points)
        return Analysis(points, along, feet, None, None, None, None, (0, 0), [], False)
    rated = [_look_along(points, lattice) for lattice in lattices]
    best = max(rated, key=lambda view: view.rating)
    lattice, grid, folding, feet = best.lattice, best.grid, best.folding, best.feet
    surface = read_surface(grid)
    doubts = find_doubts(points, lattice, grid, surface, folding, feet)
    return Analysis(
        points=points,
        along=lattice.along / lattice.pitch,
        feet=feet,
        lattice=lattice,
        grid=grid,
        surface=surface,
        folding=folding,
        rings=count_rings(grid, surface.lone_empty),
        doubts=doubts,
        corner=_has_corner(points, feet),
    )


@dataclass(frozen=True)
class _View:
    """The sheet seen along one direction of its lattice, and how much that explains."""

    lattice: Lattice
    grid: Grid
    folding: Folding | None
    feet: list[FootLine]
    rating: float


def _look_along(points: Points, lattice: Lattice) -> _View:
    along = lattice.along / lattice.pitch
    feet = _feet_along(points, along, [lattice.pitch, 2 * lattice.pitch])
    grid = lay_grid(lattice)
    folding = find_folding(grid)
    extent = np.ptp(points @ np.column_stack([rightwards(along), along]), axis=0)
    length = float(extent[1] / extent.max())
    uneven = abs(float(np.log(np.hypot(*lattice.right) / np.hypot(*lattice.left))))
    rating = length * sum(foot.cover for foot in feet) - UNEVEN_COST * uneven
    rating += TILT_COST * float(along[1] ** 2 - along[0] ** 2)
    rating += REPEAT_GAIN * (folding is not None and folding.rows > 1)
    return _View(lattice, grid, folding, feet, rating)


def _feet_along(points: Points, along: Points, pitches: list[float]) -> list[FootLine]:
    """Footsides in one direction, left one first."""
    right = rightwards(along)
    feet = []
    for outward in (-right, right):
        for pitch in pitches:
            foot = find_foot(points, along, outward, pitch)
            if foot is not None:
                feet.append(foot)
                break
    return feet


def _bare_feet(points: Points) -> tuple[Points | None, list[FootLine]]:
    """The footsides of a lace without a ground, and their direction."""
    spacing = nearest_distance(points)
    if spacing == 0:
        return None, []
    best: tuple[float, Points | None, list[FootLine]] = (0.0, None, [])
    for peak in difference_peaks(points, cKDTree(points), spacing):
        step = stretched_step(points, peak)
        pitch = float(np.hypot(*step))
        feet = _feet_along(points, step / pitch, [pitch])
        feet = [foot for foot in feet if foot.cover >= BARE_COVER]
        pins = sum(len(foot.pins) for foot in feet)
        if pins > best[0] and pins >= BARE_PINS:
            best = (pins, step / pitch, feet)
    return best[1], best[2]


def _has_corner(points: Points, feet: list[FootLine]) -> bool:
    """Whether a second footside leaves the first one's end at a right angle, inwards.

    The corner of a lace that edges a cloth lies round the cloth: each footside looks into the
    quarter that the other one bounds.
    """
    for foot in feet:
        for along in (foot.outward, -foot.outward):
            for outward in (foot.along, -foot.along):
                other = find_foot(points, along, outward, foot.pitch)
                if other is None:
                    continue
                second, first = points[other.pins].mean(axis=0), points[foot.pins].mean(axis=0)
                if (second - first) @ foot.outward > 0 and (first - second) @ outward > 0:
                    return True
    return False


def separate_feet(analysis: Analysis) -> list[FootLine]:
    """The footsides whose edge pins stand off the ground's own places."""
    lattice = analysis.lattice
    if lattice is None:
        return []
    basis = np.array([lattice.right, lattice.left])
    found = []
    for foot in analysis.feet:
        pins = analysis.points[foot.pins]
        places = (pins - lattice.origin) @ np.linalg.inv(basis)
        columns = places[:, 0] - places[:, 1]
        off = np.abs(places - np.rint(places)).max(axis=1)
        gap = _columns_to_ground(analysis, float(np.median(columns)))
        if np.median(off) > SEPARATE_FOOT or gap > 1 + SEPARATE_FOOT:
            found.append(foot)
    return found


def _columns_to_ground(analysis: Analysis, column: float) -> float:
    grid = analysis.grid
    assert grid is not None
    full = np.flatnonzero(grid.taken.any(axis=1)) + grid.first_column
    others = np.abs(full - column)
    others = others[others > SEPARATE_FOOT]
    return float(others.min()) if len(others) else np.inf


def ground_columns(analysis: Analysis) -> int:
    """Columns of ground pins at the widest place, edge pins that stand off the ground left out."""
    grid, surface = analysis.grid, analysis.surface
    if grid is None or surface is None:
        return 0
    used = surface.full | surface.honeycomb_empty
    used |= grid.taken & ~_foot_cells(analysis)
    enough: NDArray[np.bool_] = used.sum(axis=1) >= max(2, 0.02 * used.sum() / len(used))
    columns = np.flatnonzero(enough)
    return int(np.ptp(columns)) + 1 if len(columns) else 0


def _foot_cells(analysis: Analysis) -> NDArray[np.bool_]:
    grid = analysis.grid
    assert grid is not None
    pins = [foot.pins for foot in separate_feet(analysis)]
    if not pins:
        return np.zeros_like(grid.taken)
    return grid.taken & np.isin(grid.pin, np.concatenate(pins))


def has_shaped_head(analysis: Analysis) -> bool:
    """Whether pins follow a headside outside the ground."""
    lattice = analysis.lattice
    if lattice is None or len(analysis.feet) == 2:
        return False
    on_foot = np.zeros(len(analysis.points), dtype=bool)
    for foot in analysis.feet:
        on_foot[foot.pins] = True
    loose = ~lattice.on & ~on_foot
    return bool(loose.mean() > OUTSIDE_HEAD)


def starting_pins(analysis: Analysis) -> int:
    """Pins of the starting row of a strip: from foot to foot at one of its ends, else 0."""
    if len(analysis.feet) != 2 or analysis.along is None:
        return 0
    placed = analysis.upright(analysis.points)
    left, right = (placed[foot.pins, 0].mean() for foot in analysis.feet)
    pitch = analysis.feet[0].pitch
    for end in (placed[:, 1].min(), placed[:, 1].max()):
        row = np.abs(placed[:, 1] - end) < 0.3 * pitch
        row &= (placed[:, 0] > left - 0.3 * pitch) & (placed[:, 0] < right + 0.3 * pitch)
        if row.sum() > 3:
            return int(row.sum())
    return 0
