from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo_collection.drawing.lattice import Lattice, site_at

ANGLES = st.floats(45, 70)
SITES = st.tuples(st.integers(-20, 40), st.integers(-20, 40))


def apart(lattice: Lattice, first: tuple[int, int], second: tuple[int, int]) -> float:
    return math.dist(lattice.place(first), lattice.place(second))


@given(ANGLES, st.floats(1.6, 4), SITES)
def test_ground_lines_leave_the_footside_at_the_ground_angle(angle, pitch, site):
    lattice = Lattice(angle, pitch, 99, 1.6)
    x, y = lattice.place(site)
    left, low = lattice.place((site[0] + 1, site[1]))
    if lattice.column(site) not in (-2, -1, 98):
        assert math.degrees(math.atan2(x - left, low - y)) == pytest.approx(angle, abs=1e-6)


@given(st.floats(1.6, 4), SITES)
def test_at_60_degrees_a_pin_has_six_neighbours_at_the_foot_pitch(pitch, site):
    lattice = Lattice(60, pitch, 999, math.pi)
    if min(lattice.column(one) for one in lattice.neighbours(site)) < 0:
        return
    distances = [apart(lattice, site, neighbour) for neighbour in lattice.neighbours(site)]
    assert distances == pytest.approx([pitch] * 6)


@given(SITES, st.integers(0, 20))
def test_in_torchon_a_corner_falls_on_the_pins_of_the_same_lattice(site, row):
    straight = Lattice(45, 3.2, 99, 1.0)
    corner = Lattice(45, 3.2, 99, 1.0, corner_row=row)
    a, b = site
    if corner.column(site) >= 0 and straight.column(site) >= 0:
        assert corner.place((a, b)) == pytest.approx(straight.place((a, b)))


@given(st.floats(50, 60), st.integers(10, 20), st.integers(0, 12))
def test_a_spread_corner_turns_on_a_line_at_45_degrees(angle, row, column):
    lattice = Lattice(angle, 2.0, 99, 1.6, corner_row=row, spread_rows=8)
    x, y = lattice.place((row + column, row))
    assert y - row * 2.0 == pytest.approx(-x)


@given(st.floats(50, 60), st.integers(0, 12))
def test_far_from_the_corner_the_angle_is_untouched(angle, column):
    lattice = Lattice(angle, 2.0, 99, 1.6, corner_row=20, spread_rows=8)
    straight = Lattice(angle, 2.0, 99, 1.6)
    assert lattice.place((12 + column, 12)) == pytest.approx(straight.place((12 + column, 12)))


@given(st.floats(50, 62), st.integers(0, 8))
def test_a_round_lace_keeps_its_angle_and_widens_its_mesh(angle, column):
    lattice = Lattice(angle, 1.6, 11, 1.6, rows_round=96)
    inner, outer = lattice.radius(column), lattice.radius(column + 1)
    half_pitch = math.pi * inner / 96
    assert math.degrees(math.atan2(outer - inner, half_pitch)) == pytest.approx(angle)
    assert outer > inner


@given(SITES)
def test_what_leaves_a_site_comes_into_the_next(site):
    for lattice in (
        Lattice(56, 2.0, 99, 1.6),
        Lattice(53, 2.0, 99, 1.6, corner_row=7, spread_rows=5),
        Lattice(52, 1.6, 11, 1.6, rows_round=48),
    ):
        own = lattice.wrapped(site)
        for target in lattice.outs(own):
            assert own in lattice.ins(target)


def test_a_place_between_two_columns_is_no_pin():
    with pytest.raises(ValueError, match="one is even, one odd"):
        site_at(3, 4)
