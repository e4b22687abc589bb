"""Is there a ground, and how exactly does it lie?"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from archive.geometry.lattice import Lattice, find_lattices
from tests.strategies_geometry import (
    draw_edging,
    draw_plaited,
    draw_tape,
    ground_patch,
    honeycomb_patch,
    spoil,
    turn,
)

Points = NDArray[np.float64]


def upright(points: Points) -> Lattice:
    """The lattice of the points whose columns run most nearly down the page."""
    return max(find_lattices(points), key=lambda lattice: abs(lattice.along[1]) / lattice.pitch)


@settings(max_examples=15)
@given(
    angle=st.floats(45, 70),
    pitch=st.floats(1.2, 60),
    turned=st.floats(-10, 10),
    mirror=st.booleans(),
    shift=st.floats(-1000, 1000),
)
def test_a_clean_ground_is_found_exactly_however_it_lies(
    angle: float, pitch: float, turned: float, mirror: bool, shift: float
) -> None:
    points = ground_patch(angle, pitch, 12, 14) * (-1 if mirror else 1, 1)
    lattice = upright(turn(points, turned) + shift)
    assert lattice.angle_deg == pytest.approx(angle, abs=1e-6)
    assert lattice.pitch == pytest.approx(pitch, rel=1e-8)
    assert lattice.column == pytest.approx(pitch * np.tan(np.deg2rad(angle)) / 2, rel=1e-8)
    assert lattice.on.all()
    assert lattice.rms == pytest.approx(0, abs=1e-6)


def test_columns_count_from_the_left_and_half_rows_downwards() -> None:
    lattice = upright(ground_patch(58, 2.0, 6, 8))
    pins = ground_patch(58, 2.0, 6, 8)
    first = np.lexsort((pins[:, 1], pins[:, 0]))[0]
    columns = lattice.columns - lattice.columns[first]
    half_rows = lattice.half_rows - lattice.half_rows[first]
    assert columns.tolist() == [column for column in range(6) for _ in range(8)]
    assert half_rows.tolist() == [2 * row + column % 2 for column in range(6) for row in range(8)]
    assert lattice.position(lattice.columns, lattice.half_rows) == pytest.approx(pins, abs=1e-8)


def test_an_equilateral_ground_could_have_its_footside_on_three_sides() -> None:
    lattices = find_lattices(ground_patch(60, 2.0, 12, 12))
    directions = sorted(
        round(float(np.rad2deg(np.arctan2(*lattice.along)))) for lattice in lattices
    )
    assert directions == [-60, 0, 60]
    assert [lattice.angle_deg for lattice in lattices] == pytest.approx([60, 60, 60])


def test_honeycomb_stands_on_the_lattice_of_its_ground() -> None:
    lattice = upright(honeycomb_patch(58, 2.0, 14, 16))
    assert lattice.angle_deg == pytest.approx(58, abs=1e-6)
    assert lattice.pitch == pytest.approx(2.0, abs=1e-8)


def test_the_fit_is_as_exact_as_the_jitter_allows() -> None:
    """The errors, in their own standard errors, scatter as a normal distribution's would."""
    scores = []
    for seed in range(16):
        rng = np.random.default_rng(seed)
        points = spoil(ground_patch(57, 2.5, 24, 40), rng, jitter=0.1)
        lattice = upright(points)
        scores.append((lattice.angle_deg - 57) / lattice.angle_sd_deg)
    assert np.median(np.abs(scores)) < 1.0
    assert np.abs(scores).max() < 4.5


FRESH = 84_000
"""First of the seeds that no setting was tried on; `benchmarks.lattice` asks 200 of any others."""


def test_wide_sheets_are_measured_to_a_few_thousandths_of_a_degree() -> None:
    """Goal at 0.1 mm jitter: median error at most 0.003° and 0.005 %; no sheet fails."""
    angles, pitches = [], []
    for seed in range(FRESH, FRESH + 9):
        design = draw_edging(np.random.default_rng(seed), columns=(30, 60))
        lattice = min(
            find_lattices(design.points_mm),
            key=lambda one: abs(np.arctan2(*one.along) + np.deg2rad(design.turn_deg)),
        )
        angles.append(abs(lattice.angle_deg - design.angle_deg))
        pitches.append(abs(lattice.pitch / design.pitch_mm - 1))
    assert np.median(angles) <= 0.003
    assert np.median(pitches) <= 0.00005
    assert max(angles) < 0.05


def test_hardly_any_ground_gives_the_right_lattice_or_none() -> None:
    """Sheets full of figures: what is found in them is right, not merely something."""
    found = little = 0
    for seed in range(FRESH, FRESH + 16):
        design = draw_edging(np.random.default_rng(seed), figures=2.5)
        little += design.ground_share < 0.15
        lattices = find_lattices(design.points_mm)
        found += bool(lattices)
        if lattices:
            assert any(
                lattice.angle_deg == pytest.approx(design.angle_deg, abs=0.8)
                and lattice.pitch == pytest.approx(design.pitch_mm, rel=0.005)
                for lattice in lattices
            ), seed
    assert found >= 6
    assert little >= 2, "sheets with under 15 % of the pins on the ground are among them"


@pytest.mark.parametrize(("seed", "figures"), [(800_497, 2.0), (800_561, 1.5), (800_418, 2.5)])
def test_pins_beyond_the_figures_do_not_turn_the_ground_lines(seed: int, figures: float) -> None:
    """A fifth or a quarter of the pins are ground, in few columns; others stand near its places.

    The angle is as good as the few columns tell it, and its standard error says how good.
    """
    design = draw_edging(np.random.default_rng(seed), figures=figures)
    lattice = min(
        find_lattices(design.points_mm),
        key=lambda one: abs(np.arctan2(*one.along) + np.deg2rad(design.turn_deg)),
    )
    error = abs(lattice.angle_deg - design.angle_deg)
    assert error < 0.4
    assert error < 3 * lattice.angle_sd_deg


@pytest.mark.parametrize("draw", [draw_tape, draw_plaited])
def test_tapes_and_plaits_have_no_ground(draw: object) -> None:
    for seed in range(20):
        assert find_lattices(draw(np.random.default_rng(seed))) == [], seed  # type: ignore[operator]


def test_scattered_pins_have_no_ground() -> None:
    for seed in range(10):
        assert find_lattices(np.random.default_rng(seed).uniform(0, 100, (400, 2))) == []


@pytest.mark.parametrize("count", [0, 1, 2, 11])
def test_few_pins_have_no_ground(count: int) -> None:
    assert find_lattices(ground_patch(60, 2.0, 4, 4)[:count]) == []


def test_pins_all_in_one_place_have_no_ground() -> None:
    assert find_lattices(np.ones((50, 2))) == []


def test_two_pins_on_one_place_count_once() -> None:
    points = ground_patch(60, 2.0, 8, 8)
    doubled = np.concatenate([points, points[20:21] + 0.01])
    assert upright(doubled).on.sum() == len(points)
