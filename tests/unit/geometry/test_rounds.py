"""Laces about a centre: how often they come again in one turn."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry import measure_points
from archive.geometry.rounds import find_round
from tests.strategies_geometry import draw_plaited, draw_tape, spoil, turn

Points = NDArray[np.float64]


def motif_of(rng: np.random.Generator) -> Points:
    """Eighteen pins, 20 to 31 from the centre, no two of them close."""
    rows = np.array([(20 + 2.2 * k, 1.7 * j) for k in range(6) for j in (-1, 0, 1)])
    return rows + rng.uniform(-0.5, 0.5, rows.shape)


def mat(parts: int, motif: Points, centre: Points) -> Points:
    """The motif about a centre, so many times."""
    return np.concatenate([turn(motif, 360 / parts * k) for k in range(parts)]) + centre


@pytest.mark.parametrize("parts", [2, 5, 8, 16])
@pytest.mark.parametrize("spoilt", [False, True])
def test_a_mat_comes_again_after_its_part_of_a_turn(parts: int, spoilt: bool) -> None:
    rng = np.random.default_rng(73_000 + parts)
    motif = motif_of(rng)
    points = mat(parts, motif, np.array([50.0, 40.0]))
    if spoilt:
        points = spoil(points, rng, jitter=0.05)
    found = find_round(points)
    assert found is not None
    assert found.parts == parts
    assert found.pins == pytest.approx(18, abs=0 if not spoilt else 1)
    assert found.centre == pytest.approx([50, 40], abs=1e-6 if not spoilt else 0.1)
    radius = np.hypot(*motif.T).max()
    assert found.radius == pytest.approx(radius, abs=1e-6 if not spoilt else 0.6)


def test_rings_of_pins_are_parted_by_their_figures_not_by_their_ground() -> None:
    """Ten rings of 48 pins come again at every pin; twelve picots outside do not."""
    rings = mat(48, np.column_stack([20.0 + 1.4 * np.arange(10), np.zeros(10)]), np.zeros(2))
    picots = mat(12, np.array([[37.0, 0], [36.5, 2], [36.0, -4.1], [37, 7.0]]), np.zeros(2))
    found = find_round(np.concatenate([rings, picots]))
    assert found is not None
    assert found.parts == 12


def test_scattered_pins_and_straight_laces_are_no_rounds() -> None:
    for seed in range(6):
        rng = np.random.default_rng(seed)
        assert find_round(rng.uniform(0, 50, (200, 2))) is None
        assert find_round(draw_tape(rng)) is None
        assert find_round(draw_plaited(rng)) is None
    assert find_round(np.empty((0, 2))) is None
    assert find_round(np.ones((40, 2))) is None


def test_a_mat_is_measured_without_footside_and_repeat() -> None:
    motif = motif_of(np.random.default_rng(73_001))
    found = measure_points(mat(8, motif, np.array([50.0, 40.0])), px_per_mm=2)
    assert found.round is not None
    assert (found.round.parts, found.round.pins_per_part) == (8, 18)
    assert found.round.across_mm == pytest.approx(np.hypot(*motif.T).max(), abs=1e-3)
    assert found.round.centre_px == pytest.approx((50, 40), abs=0.01)
    assert (found.foot.side, found.ground, found.repeat, found.pairs) == ("none", None, None, None)
    assert found.extent_mm is not None
