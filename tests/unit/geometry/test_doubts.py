"""What should be there and is not, what should not, and what stands off its line."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry.analysing import analyse
from tests.strategies_geometry import ground_patch, honeycomb_patch

Points = NDArray[np.float64]

PITCH, ANGLE, COLUMNS, ROWS = 2.0, 58.0, 12, 40
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2
FOOT_X = -1.7 * WIDTH


def place(column: int, half_row: int) -> Points:
    return np.array([column * WIDTH, half_row * PITCH / 2])


def edging() -> Points:
    """An edging: footside at the left, a diamond every eight rows, picots at the right."""
    ground = ground_patch(ANGLE, PITCH, COLUMNS, ROWS)
    half_row = np.rint(ground[:, 1] * 2 / PITCH).astype(int) % 16
    column = np.rint(ground[:, 0] / WIDTH).astype(int)
    diamond = np.abs(column - 5) + np.abs(half_row - 8) <= 2
    foot = np.column_stack([np.full(ROWS, FOOT_X), np.arange(ROWS) * PITCH + 1])
    along = np.arange(0, ROWS * PITCH, PITCH * 8 / 9)
    head = np.column_stack([(COLUMNS + 0.6 + np.sin(along * np.pi / 8)) * WIDTH, along])
    return np.concatenate([ground[~diamond], foot, head])


def jittered(points: Points, seed: int = 1, by: float = 0.03) -> Points:
    return points + np.random.default_rng(seed).normal(0, by, points.shape)


def without(points: Points, at: Points) -> Points:
    return np.delete(points, np.hypot(*(points - at).T).argmin(), axis=0)


def doubts_of(points: Points) -> list[tuple[str, float, float]]:
    found = analyse(points).doubts
    return [(doubt.kind, *np.round(doubt.position, 1).tolist()) for doubt in found]


def near(at: Points) -> tuple[object, object]:
    return pytest.approx(at[0], abs=0.3), pytest.approx(at[1], abs=0.3)


def test_a_sound_sheet_raises_no_doubt() -> None:
    assert doubts_of(jittered(edging())) == []


def test_a_pin_missing_from_the_ground_is_named_with_its_place() -> None:
    at = place(8, 34)
    assert doubts_of(without(jittered(edging()), at)) == [("missing", *near(at))]


def test_a_pin_missing_from_the_edge_of_a_figure_is_missed_by_its_repeats() -> None:
    at = place(5, 16 + 8 - 3)
    assert doubts_of(without(jittered(edging()), at)) == [("missing", *near(at))]


def test_a_pin_missing_from_the_footside_is_named() -> None:
    at = np.array([FOOT_X, 17 * PITCH + 1])
    assert doubts_of(without(jittered(edging()), at)) == [("missing", *near(at))]


def test_a_picot_missing_from_the_head_is_missed_by_its_repeats() -> None:
    head = edging()[-ROWS * 9 // 8 :]
    at = head[len(head) // 2]
    assert doubts_of(without(jittered(edging()), at)) == [("missing", *near(at))]


def test_a_pin_too_many_in_the_ground_is_named() -> None:
    at = place(8, 34) + np.array([0.45 * WIDTH, 0.5])
    points = np.concatenate([jittered(edging()), [at]])
    assert doubts_of(points) == [("extra", *near(at))]


def test_a_pin_too_many_in_a_figure_is_one_that_its_repeats_do_not_have() -> None:
    at = place(5, 2 * 16 + 8) + 0.05
    points = np.concatenate([jittered(edging()), [at]])
    assert doubts_of(points) == [("extra", *near(at))]


def test_a_pin_outside_the_footside_is_one_too_many() -> None:
    at = np.array([FOOT_X - PITCH, 20.0])
    points = np.concatenate([jittered(edging()), [at]])
    assert doubts_of(points) == [("extra", *near(at))]


@pytest.mark.parametrize("off", [0.25, 0.45])
def test_a_pin_beside_its_place_is_off_line_not_missing_and_extra(off: float) -> None:
    points = jittered(edging())
    pin = np.hypot(*(points - place(8, 34)).T).argmin()
    points[pin] = place(8, 34) + np.array([off, 0.0])
    assert doubts_of(points) == [("off-line", *near(points[pin]))]


def test_paper_that_has_crept_is_no_pin_off_line() -> None:
    """A sheet stretched unevenly by half a millimetre: every neighbourhood moves together."""
    points = jittered(edging())
    points[:, 0] += 0.3 * np.sin(points[:, 1] / 25)
    assert [doubt for doubt in doubts_of(points) if doubt[0] == "off-line"] == []


def test_chance_alone_calls_hardly_any_pin_off_line() -> None:
    counts = [len(doubts_of(jittered(edging(), seed, by=0.08))) for seed in range(6)]
    assert sum(counts) <= 3


def test_the_empty_places_of_honeycomb_are_not_missing_pins() -> None:
    assert doubts_of(jittered(honeycomb_patch(ANGLE, PITCH, 13, 20), seed=2)) == []


def test_a_figure_cut_off_at_the_end_of_a_sheet_is_not_doubted() -> None:
    points = edging()
    assert doubts_of(jittered(points[points[:, 1] < 62])) == []


def test_a_lace_without_a_ground_is_judged_by_its_repeats() -> None:
    rng = np.random.default_rng(12)
    motif = rng.uniform(0, 20, (25, 2))
    points = np.concatenate([motif + np.array([0.0, 25.0 * number]) for number in range(6)])
    gone, added = points[3 * 25 + 7], np.array([10.0, 64.3])
    spoilt = np.concatenate([without(points, gone), [added]])
    kinds = sorted(doubts_of(spoilt))
    assert ("missing", *near(gone)) in kinds
    assert ("extra", *near(added)) in kinds
    assert len(kinds) == 2
