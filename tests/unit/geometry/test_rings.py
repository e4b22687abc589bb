"""Rings: with a line round them wherever they are, without one only where they stand alone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from shapely import LineString, MultiPoint, Polygon, contains_xy

from archive.geometry import measure, measure_points
from archive.geometry.lattice import Lattice
from archive.geometry.occupancy import Grid, lay_grid
from archive.geometry.outlines import find_outlines
from archive.geometry.rings import enclosed, find_rings
from tests.strategies_geometry import ground_patch

Points = NDArray[np.float64]

PITCH, ANGLE = 2.0, 58.0
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2
GROUND = ground_patch(ANGLE, PITCH, 12, 14)
FOUR = [(4, 8), (5, 9), (3, 9), (4, 10)]
SIX = [(7, 15), (8, 16), (8, 18), (7, 19), (6, 18), (6, 16)]
MIDDLE_OF_SIX = (7, 17)


def places(*cells: tuple[int, int]) -> Points:
    return np.array(cells) * (WIDTH, PITCH / 2)


def without(points: Points, *cells: tuple[int, int]) -> Points:
    gone = places(*cells)
    return points[np.hypot(*(points[:, None] - gone).transpose(2, 0, 1)).min(axis=1) > 0.1]


def grid_of(points: Points) -> Grid:
    """The grid of pins on the known lattice: no fitting, so that single pins will do too."""
    right, left = np.array([WIDTH, PITCH / 2]), np.array([-WIDTH, PITCH / 2])
    at = np.rint(points @ np.linalg.inv([right, left])).astype(np.int64)
    return lay_grid(Lattice(np.zeros(2), right, left, at, np.ones(len(points), bool), 0.0, 0.0))


def gimp(pins: Points, by: float = 0.5) -> Points:
    """Corners of a line that goes round the pins at a distance."""
    return np.array(MultiPoint(pins).convex_hull.buffer(by * PITCH / 2).exterior.coords)


def pins_of_rings(points: Points, *outlines: Points) -> list[int]:
    return sorted(ring.pins for ring in find_rings(points, [grid_of(points)], outlines))


def test_rings_that_stand_alone_are_counted_by_their_pins() -> None:
    far = [(20, 10), (21, 11)]
    assert pins_of_rings(places(*FOUR, *SIX, *far)) == [4, 6]


def test_a_ring_with_a_line_round_it_is_one_ring() -> None:
    alone = places(*FOUR, *SIX)
    assert pins_of_rings(alone, gimp(places(*FOUR)), gimp(places(*SIX))) == [4, 6]


def test_pins_within_a_ground_are_no_rings_until_a_line_goes_round_them() -> None:
    """A tally and a hole never pricked leave the same empty place as the middle of a ring."""
    net = without(GROUND, MIDDLE_OF_SIX)
    assert pins_of_rings(net) == []
    assert pins_of_rings(net, gimp(places(*FOUR))) == [4]
    assert pins_of_rings(net, gimp(places(*FOUR)), gimp(places(*SIX))) == [4, 6]


def test_nothing_is_missing_from_the_middle_of_a_ring_with_a_line_round_it() -> None:
    net = without(GROUND, MIDDLE_OF_SIX)
    assert [doubt.kind for doubt in measure_points(net).doubts] == ["missing"]
    ringed = measure_points(net, outlines_px=[gimp(places(*SIX))])
    assert (ringed.doubts, ringed.rings.six_pin) == ((), 1)


def test_a_hole_lost_from_a_net_with_a_line_round_it_is_missing() -> None:
    """As a gimp goes round a figure: two rounds of pins lie inside it."""
    column, half_row = MIDDLE_OF_SIX
    outer = [(column + 2, half_row), (column - 2, half_row), (column, half_row - 4)]
    net = without(GROUND, MIDDLE_OF_SIX)
    found = measure_points(net, outlines_px=[gimp(places(*SIX, *outer, (column, half_row + 4)))])
    assert [doubt.kind for doubt in found.doubts] == ["missing"]


@pytest.mark.parametrize(
    "cells",
    [
        [(4, 8), (5, 9), (6, 10), (7, 11)],  # four in a row
        [(4, 8), (5, 9), (6, 10), (3, 9), (4, 10), (5, 11)],  # two rows of three
        [(4, 8), (5, 9), (3, 9)],
        [*SIX, MIDDLE_OF_SIX],
    ],
)
def test_a_line_round_other_pins_makes_no_ring(cells: list[tuple[int, int]]) -> None:
    assert pins_of_rings(GROUND, gimp(places(*cells))) == []


def test_lines_from_pin_to_pin_are_working_marks() -> None:
    """Rose ground is drawn so: four lines that join the four pins of a mesh."""
    top, right, left, low = places(*FOUR)
    assert pins_of_rings(GROUND, np.array([top, right, low, left])) == []


@pytest.mark.parametrize("seed", range(4))
def test_what_a_line_encloses_is_what_shapely_says(seed: int) -> None:
    """Oracle: shapely, inside or within a distance, of a random polygon with dents."""
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0, 2 * np.pi, 17))
    outline = rng.uniform(1, 5, (17, 1)) * np.column_stack([np.cos(turn), np.sin(turn)])
    points = rng.uniform(-6, 6, (400, 2))
    whole = Polygon(outline)
    assert enclosed(points, outline, 0.0).tolist() == contains_xy(whole, points).tolist()
    near = [whole.exterior.distance(point) < 0.3 for point in MultiPoint(points).geoms]
    expected = contains_xy(whole, points) | np.array(near)
    assert enclosed(points, outline, 0.3).tolist() == expected.tolist()


SPACING = float(np.hypot(WIDTH, PITCH / 2))
"""Distance of neighbours."""


def opened(outline: Points, gap: float, start: float = 0.3) -> Points:
    """The line with a gap at a part of its way, `gap` in distances of neighbours."""
    line = LineString(outline)
    from_here = np.linspace(0, line.length - gap * SPACING, 200) + start * line.length
    return np.array([line.interpolate(at % line.length).coords[0] for at in from_here])


def drawn(lines: list[Points], *, px_per_mm: float, light: bool) -> Image.Image:
    """A picture of the ground, the lines thinner and paler than the holes."""
    picture = Image.new("L", (round(24 * px_per_mm), round(32 * px_per_mm)), 235)
    pen = ImageDraw.Draw(picture)
    for line in lines:
        pen.line([(x, y) for x, y in (line + 2) * px_per_mm], 110, round(0.25 * px_per_mm))
    for x, y in (GROUND + 2) * px_per_mm:
        radius = 0.22 * px_per_mm
        pen.ellipse((x - radius, y - radius, x + radius, y + radius), 40)
    return picture.point(lambda value: 255 - value) if light else picture


def rings_on(picture: Image.Image, px_per_mm: float, ground: Points = GROUND) -> list[int]:
    pins = (ground + 2) * px_per_mm
    grey = np.asarray(picture, dtype=np.float32) / 255
    found = measure_points(pins, outlines_px=find_outlines(grey, pins))
    return [4] * found.rings.four_pin + [6] * found.rings.six_pin


@pytest.mark.parametrize("px_per_mm", [10, 24])
@pytest.mark.parametrize("light", [False, True])
def test_a_line_on_a_scan_tells_a_ring(px_per_mm: int, light: bool) -> None:
    picture = drawn([gimp(places(*FOUR))], px_per_mm=px_per_mm, light=light)
    assert rings_on(picture, px_per_mm) == [4]


@pytest.mark.parametrize("px_per_mm", [6, 12, 24])
@pytest.mark.parametrize("start", [0.0, 0.1, 0.22, 0.47, 0.8])
@pytest.mark.parametrize("cells", [FOUR, [(6, 10), (7, 11), (5, 11), (6, 12)]])
def test_a_gap_in_a_line_is_bridged_up_to_half_the_distance_of_neighbours(
    px_per_mm: int, start: float, cells: list[tuple[int, int]]
) -> None:
    line = gimp(places(*cells), by=0.7)
    for gap, rings in ((0.25, [4]), (0.4, [4]), (0.9, []), (1.3, [])):
        picture = drawn([opened(line, gap, start)], px_per_mm=px_per_mm, light=False)
        assert rings_on(picture, px_per_mm) == rings, gap


def test_lines_beside_pins_that_do_not_go_round_them_make_no_ring() -> None:
    """Two gimps that run down the net side by side, and none at all."""
    beside = [np.array([(x * WIDTH, 3.0), (x * WIDTH, 24.0)]) for x in (3.5, 5.5)]
    for lines in ([], beside):
        assert rings_on(drawn(lines, px_per_mm=12, light=False), 12) == []


@pytest.mark.parametrize(("gap", "rings"), [(0.3, 1), (0.8, 0)])
@pytest.mark.parametrize("shape", ["path", "polyline"])
def test_a_drawn_line_with_a_gap_tells_a_ring_too(
    shape: str, gap: float, rings: int, tmp_path: Path
) -> None:
    places_mm = [f"{x:.4f},{y:.4f}" for x, y in opened(gimp(places(*FOUR)), gap) + 4]
    line = {
        "path": f'<path d="M{" L".join(places_mm)}" fill="none" stroke="#000"/>',
        "polyline": f'<polyline points="{" ".join(places_mm)}" fill="none" stroke="#000"/>',
    }[shape]
    dots = "".join(f'<circle cx="{x}" cy="{y}" r=".3"/>' for x, y in GROUND + 4)
    path = tmp_path / "sheet.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" '
        f'viewBox="0 0 40 40">{dots}{line}</svg>',
        encoding="utf-8",
    )
    found = measure(path)
    assert (found.pins.count, found.rings.four_pin) == (len(GROUND), rings)


def test_a_scan_without_pins_has_no_lines_to_look_for() -> None:
    assert find_outlines(np.ones((50, 50), dtype=np.float32), np.empty((0, 2))) == []
