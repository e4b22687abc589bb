"""Nets, honeycomb and open figures, read from the places of a lattice."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from archive.geometry.areas import Net, Surface, borders, read_surface
from archive.geometry.lattice import Lattice
from archive.geometry.occupancy import Grid, lay_grid
from archive.geometry.strips import read_strip
from tests.strategies_geometry import ground_patch, honeycomb_patch

Points = NDArray[np.float64]

PITCH, ANGLE = 2.0, 58.0
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2
CELL = PITCH * WIDTH


def place(column: int, half_row: int) -> tuple[float, float]:
    return column * WIDTH, half_row * PITCH / 2


def grid_of(points: Points) -> Grid:
    """The grid of pins on the known lattice: no fitting, so that single pins will do too."""
    right, left = np.array([WIDTH, PITCH / 2]), np.array([-WIDTH, PITCH / 2])
    places = np.rint(points @ np.linalg.inv([right, left])).astype(np.int64)
    on = np.ones(len(points), dtype=bool)
    return lay_grid(Lattice(np.zeros(2), right, left, places, on, 0.0, 0.0))


def surface_of(points: Points) -> Surface:
    return read_surface(grid_of(points))


def without(points: Points, *places: tuple[int, int]) -> Points:
    gone = np.array([place(*one) for one in places])
    apart = np.hypot(*(points[:, None, :] - gone[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    return points[apart > 0.1]


def kinds(surface: Surface) -> list[str]:
    return [net.kind for net in surface.nets]


def test_a_ground_is_one_full_net() -> None:
    points = ground_patch(ANGLE, PITCH, 10, 12)
    surface = surface_of(points)
    assert kinds(surface) == ["full net"]
    assert surface.nets[0].pins == pytest.approx(len(points), abs=2)
    assert surface.nets[0].area == pytest.approx(surface.nets[0].pins * CELL)


def test_honeycomb_has_six_pins_round_each_empty_place() -> None:
    points = honeycomb_patch(ANGLE, PITCH, 13, 14)
    surface = surface_of(points)
    assert kinds(surface) == ["honeycomb net"]
    assert surface.nets[0].pins >= 0.8 * len(points)
    assert not surface.lone_empty.any()


def test_honeycomb_within_a_ground_is_told_from_it() -> None:
    ground = ground_patch(ANGLE, PITCH, 17, 20)
    empty = [(column, 2 * row + column % 2) for column in range(6, 12, 2) for row in range(6, 13)]
    empty = [(column, half) for column, half in empty if (half - column) % 4 == 0]
    surface = surface_of(without(ground, *empty))
    assert sorted(kinds(surface)) == ["full net", "honeycomb net"]
    honeycomb = next(net for net in surface.nets if net.kind == "honeycomb net")
    assert surface.honeycomb_empty.sum() == len(empty)
    assert honeycomb.pins < 6 * len(empty)


def test_an_open_figure_counts_the_pins_round_it() -> None:
    diamond = [(8 + i - j, 10 + i + j) for i in range(3) for j in range(3)]
    surface = surface_of(without(ground_patch(ANGLE, PITCH, 16, 20), *diamond))
    assert kinds(surface) == ["full net", "open"]
    figure = surface.nets[1]
    assert figure.area == pytest.approx(9 * CELL)
    assert figure.pins == 14  # a rhombus of three by three: twice three along each side, and tips


def test_one_missing_pin_is_neither_honeycomb_nor_figure() -> None:
    surface = surface_of(without(ground_patch(ANGLE, PITCH, 12, 14), (5, 11)))
    assert kinds(surface) == ["full net"]
    assert surface.lone_empty.sum() == 1
    assert not surface.honeycomb_empty.any()


def test_the_scallops_outside_are_no_open_figures() -> None:
    ground = ground_patch(ANGLE, PITCH, 12, 24)
    depth = 3 * np.abs(np.sin(ground[:, 1] / 6)) * WIDTH
    surface = surface_of(ground[ground[:, 0] < 11 * WIDTH - depth])
    assert kinds(surface) == ["full net"]


def rhombi(grid: Grid, net: Net) -> shapely.Geometry:
    """The net's cells, united by an independent library."""
    cells = []
    for column, half_row in np.argwhere(net.cells):
        corners = [(column, half_row - 1), (column + 1, half_row)]
        corners += [(column, half_row + 1), (column - 1, half_row)]
        cells.append(Polygon(grid.position(np.array(corners))))
    return shapely.union_all(cells)


@pytest.mark.parametrize("seed", range(4))
def test_borders_and_areas_equal_those_of_shapely(seed: int) -> None:
    """Oracle: shapely's union of the same cells, holes included."""
    rng = np.random.default_rng(seed)
    points = ground_patch(ANGLE, PITCH, 14, 16)
    grid = grid_of(points[rng.random(len(points)) > 0.12])
    for net in read_surface(grid).nets:
        outer, *holes = (Polygon(loop) for loop in borders(grid, net.cells))
        enclosed = outer.area - sum(hole.area for hole in holes)
        united = rhombi(grid, net)
        assert united.area == pytest.approx(net.area)
        assert enclosed == pytest.approx(net.area)
        assert outer.buffer(1e-6).contains(united)


def test_a_net_that_is_drawn_anew_beside_the_lattice_is_no_open_figure() -> None:
    """As near the corner of a point ground, whose net fits neither side's lattice."""
    points = ground_patch(ANGLE, PITCH, 14, 30)
    middle = np.abs(points - place(7, 30)) <= place(3, 8)
    inside = middle.all(axis=1)
    redrawn = points[inside] + (0.45 * WIDTH, 0.2 * PITCH)
    opened, filled = (
        read_strip(np.concatenate([points[~inside], *more])).ground for more in ([], [redrawn])
    )
    assert opened is not None
    assert filled is not None
    assert [net.kind for net in opened.areas] == ["full net", "open"]
    assert [net.kind for net in filled.areas] == ["full net"]
