"""The footside is the straight, equidistant line with nothing outside it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry.footsides import find_foot
from tests.strategies_geometry import ground_patch

Points = NDArray[np.float64]

DOWN, LEFT, RIGHT = np.array([0.0, 1.0]), np.array([-1.0, 0.0]), np.array([1.0, 0.0])
GROUND = ground_patch(58, 2.0, 8, 20)
FOOT = np.column_stack([np.full(20, -3.0), np.arange(20) * 2.0 + 1])


def test_edge_pins_outside_the_ground_are_the_footside() -> None:
    foot = find_foot(np.concatenate([GROUND, FOOT]), DOWN, LEFT, 2.0)
    assert foot is not None
    assert sorted(foot.pins.tolist()) == list(range(len(GROUND), len(GROUND) + 20))
    assert foot.pitch == pytest.approx(2.0)
    assert foot.gap_sd == pytest.approx(0, abs=1e-9)
    assert foot.cover > 0.95


def test_pitch_and_spread_are_those_of_the_gaps() -> None:
    rng = np.random.default_rng(5)
    jittered = FOOT + rng.normal(0, 0.05, FOOT.shape)
    foot = find_foot(np.concatenate([GROUND, jittered]), DOWN, LEFT, 2.0)
    assert foot is not None
    gaps = np.diff(np.sort(jittered[:, 1]))
    assert foot.pitch == pytest.approx(2.0, abs=0.01)
    assert foot.gap_sd == pytest.approx(gaps.std(ddof=1))


def test_missing_pins_do_not_hide_a_footside() -> None:
    kept = np.delete(FOOT, [3, 9, 10, 15], axis=0)
    foot = find_foot(np.concatenate([GROUND, kept]), DOWN, LEFT, 2.0)
    assert foot is not None
    assert len(foot.pins) == 16
    assert foot.pitch == pytest.approx(2.0)


def test_specks_in_the_margin_do_not_hide_a_footside() -> None:
    specks = np.array([(-9.0, 11.0), (-6.0, 30.0)])
    foot = find_foot(np.concatenate([GROUND, FOOT, specks]), DOWN, LEFT, 2.0)
    assert foot is not None
    assert len(foot.pins) >= 17


def test_a_scalloped_head_is_no_footside() -> None:
    down = np.arange(0, 40, 1.7)
    head = np.column_stack([16 + 3 * np.abs(np.sin(down / 4)), down])
    assert find_foot(np.concatenate([GROUND, head]), DOWN, RIGHT, 2.0) is None


def test_the_straight_runs_of_a_scalloped_head_are_no_footside() -> None:
    """Two runs of four picots, nine tenths of a pitch apart, on either side of a hollow."""
    runs = np.concatenate([np.arange(4) * 1.76, 13.6 + np.arange(4) * 1.76]) + 9
    hollow = np.array([(15.5, 16.0), (14.6, 17.2), (14.3, 18.4), (14.6, 19.6), (15.5, 20.8)])
    head = np.concatenate([np.column_stack([np.full(8, 16.0), runs]), hollow])
    for jitter in (0.0, 0.05):
        head = head + np.random.default_rng(6).normal(0, jitter, head.shape)
        assert find_foot(np.concatenate([GROUND, head]), DOWN, RIGHT, 2.0) is None


def test_a_line_with_lace_on_both_sides_is_no_footside() -> None:
    inner = GROUND[GROUND[:, 0] == GROUND[:, 0].min()]
    outside = GROUND[GROUND[:, 0] > GROUND[:, 0].min()]
    foot = find_foot(np.concatenate([inner, outside]), DOWN, RIGHT, 2.0)
    assert foot is not None
    assert set(foot.pins.tolist()).isdisjoint(range(len(inner)))


def test_a_line_at_another_pitch_is_no_footside() -> None:
    line = np.column_stack([np.full(30, -3.0), np.arange(30) * 1.37])
    foot = find_foot(np.concatenate([GROUND, line]), DOWN, LEFT, 2.0)
    assert foot is None


def test_every_second_pin_of_a_line_is_not_its_pitch() -> None:
    assert find_foot(FOOT, DOWN, LEFT, 4.0) is None


@pytest.mark.parametrize("count", [0, 1, 4])
def test_too_few_pins_make_no_line(count: int) -> None:
    if count:
        assert find_foot(FOOT[:count], DOWN, LEFT, 2.0) is None
    else:
        assert find_foot(np.array([[0.0, 0.0]]), DOWN, LEFT, 2.0) is None
