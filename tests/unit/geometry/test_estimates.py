"""Pairs by the columns rule, thread by the house rule; estimates that say so."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from archive.geometry import measure_points
from archive.geometry.estimates import (
    effort_of,
    pairs_of_ground,
    pairs_of_strip,
    path_of_pairs,
    thread_for,
)
from archive.records.house import HouseRules
from archive.records.measurement import MeasuredPairs

HOUSE = HouseRules()


def pairs(columns: int, **given: object) -> MeasuredPairs:
    plain = {
        "feet_off_ground": 0,
        "feet_on_ground": 0,
        "shaped_head": False,
        "settings": HOUSE,
    }
    return pairs_of_ground(columns, **(plain | given))  # type: ignore[arg-type]


Cell = tuple[int, int]


def ground_of_pairs(
    columns: int, rows: int, empty: frozenset[Cell] = frozenset()
) -> nx.MultiDiGraph:
    """A patch of ground drawn as a graph: two pairs in, two out.

    A pin's pairs go down to the next pins left and right, on over places that are empty; at the
    sides, where there is none, a pair turns round its pin and comes back to the same column a row
    below.
    """
    ground = nx.MultiDiGraph()
    for half_row in range(2 * rows):
        for column in range(half_row % 2, columns, 2):
            for step in (-1, 1) if (column, half_row) not in empty else ():
                at = (column, half_row)
                while True:
                    on = 0 <= at[0] + step < columns
                    at = (at[0] + step, at[1] + 1) if on else (at[0], at[1] + 2)
                    step = step if on else -step
                    if at not in empty:
                        break
                ground.add_edge((column, half_row), at)
    inner = [pin for pin in ground if 2 <= pin[1] < 2 * rows - 2]
    assert all(ground.in_degree(pin) == ground.out_degree(pin) == 2 for pin in inner)
    return ground


def pairs_through(ground: nx.MultiDiGraph, cut: int) -> int:
    """Pairs that a cut across the lace crosses."""
    return sum(above[1] < cut <= below[1] for above, below in ground.edges())


@pytest.mark.parametrize("columns", [3, 5, 9, 16, 21])
def test_every_cut_through_a_ground_crosses_one_pair_more_than_its_columns(columns: int) -> None:
    """Oracle: a graph in which every pin has two pairs in and two out, by networkx."""
    ground = ground_of_pairs(columns, 12)
    crossed = {pairs_through(ground, cut) for cut in range(4, 20)}
    assert crossed == {columns + 1}
    assert pairs(columns).estimate == columns + 1


def diamond(column: int, half_row: int, size: int) -> set[Cell]:
    return {(column + i - j, half_row + i + j) for i in range(size) for j in range(size)}


@pytest.mark.parametrize(
    "empty",
    [
        set(),
        diamond(5, 7, 3),
        diamond(5, 7, 3) | diamond(9, 25, 2),
        {(c, h) for c in range(2, 10, 2) for h in range(8 + c % 4, 34, 4)},
    ],
    ids=["plain", "a figure", "two figures", "honeycomb"],
)
def test_figures_leave_the_pairs_of_the_narrowest_cut_as_they_are(empty: set[Cell]) -> None:
    """Oracle: networkx's least cut through the pins, beside the pairs of the measured sheet."""
    columns, rows, pitch = 12, 24, 2.0
    ground = ground_of_pairs(columns, rows, frozenset(empty))
    flow = nx.DiGraph()
    for above, below in ground.edges():
        before = flow.edges[above, below]["capacity"] if flow.has_edge(above, below) else 0
        flow.add_edge(above, below, capacity=before + 1)
    for pin in list(ground):
        if pin[1] < 4:
            flow.add_edge("above", pin)
        if pin[1] >= 2 * rows - 4:
            flow.add_edge(pin, "below")
    pairs_cut, _ = nx.minimum_cut(flow, "above", "below")
    width = pitch * np.tan(np.deg2rad(58)) / 2
    pins = [(c * width, h * pitch / 2) for c, h in ground if h < 2 * rows]
    bare = HouseRules(foot_passive_pairs=1, foot_edge_pairs=0, head_passive_pairs=0)
    found = measure_points(pins, settings=bare)
    assert found.pairs is not None
    assert found.pairs.estimate == pairs_cut == columns + 1


@pytest.mark.parametrize("columns", [3, 9, 16])
@pytest.mark.parametrize("angle", [45.0, 58.0, 70.0])
def test_the_way_of_the_pairs_is_that_of_the_edges_of_a_graph(columns: int, angle: float) -> None:
    """Oracle: the edges between two cuts of the same graph, each as long as its part of the way.

    In bare ground the two pairs at the sides go straight from pin to pin, as in the least way.
    """
    width, above, below = np.tan(np.deg2rad(angle)) / 2, 8, 20
    way = 0.0
    for (column, top), (beside, low) in ground_of_pairs(columns, 16).edges():
        length = np.hypot((beside - column) * width, (low - top) / 2)
        way += length * max(0, min(low, below) - max(top, above)) / (low - top)
    exactly = columns + 1
    told = MeasuredPairs(estimate=exactly, low=exactly, high=exactly, reasons=())
    path = path_of_pairs(told, columns, angle)
    assert path.low == pytest.approx(way / ((below - above) / 2))
    assert (
        path.low < path.estimate == path.high == pytest.approx(exactly / np.cos(np.deg2rad(angle)))
    )


@pytest.mark.parametrize(
    ("angle", "factor"), [(45, 1.4142), (52, 1.6243), (56, 1.7883), (60, 2.0), (65, 2.3662)]
)
def test_on_a_ground_line_a_pair_goes_one_by_the_cosine_as_far(angle: float, factor: float) -> None:
    """The secants of a table of the trigonometric functions; that of 60° is just 2."""
    told = MeasuredPairs(estimate=10, low=10, high=10, reasons=())
    assert path_of_pairs(told, 9, angle).high == pytest.approx(10 * factor, abs=0.0006)


def test_the_range_of_the_way_holds_the_estimate_and_follows_the_pairs() -> None:
    told = pairs(9, feet_off_ground=1, shaped_head=True)
    path = path_of_pairs(told, 9, 58.0)
    assert told.low < path.low < path.estimate < path.high
    effort = effort_of(2.5, path)
    assert effort is not None
    assert effort.pins_per_10cm == 250
    assert effort.pair_path_cm == round(10 * path.estimate)
    assert "estimate" in effort.reason


def test_where_nothing_is_known_of_the_effort_nothing_is_said() -> None:
    assert effort_of(None, None) is None
    bare = effort_of(2.5, None)
    assert bare is not None
    assert (bare.pins_per_10cm, bare.pair_path_cm) == (250, None)
    assert "not known" in bare.reason


def test_footside_and_headside_add_what_the_house_says() -> None:
    house = HouseRules(foot_passive_pairs=3, foot_edge_pairs=1, head_passive_pairs=2)
    told = pairs(9, feet_off_ground=1, shaped_head=True, settings=house)
    assert told.estimate == 10 + 4 + 2
    assert any(
        reason.startswith("By the house rule the footside adds 3 passive pairs and 1")
        for reason in told.reasons
    )


def test_a_footside_on_the_ground_has_its_edge_pins_counted_already() -> None:
    assert pairs(14, feet_on_ground=2).estimate == 15 + 2


@pytest.mark.parametrize("columns", [2, 6, 10, 30, 80])
def test_the_range_holds_the_estimate_and_is_at_most_15_percent_wide_either_way(
    columns: int,
) -> None:
    told = pairs(columns, feet_off_ground=1, shaped_head=True)
    assert told.low <= told.estimate <= told.high
    assert told.high - told.estimate <= 0.15 * told.estimate
    assert told.estimate - told.low <= 0.15 * told.estimate


def test_every_estimate_says_that_it_is_one() -> None:
    for told in (pairs(9), pairs_of_strip(6)):
        assert "estimate, not a count" in " ".join(told.reasons)


@pytest.mark.parametrize(
    ("angle", "low", "high"), [(45.0, 10, 12), (44.2, 10, 12), (58.0, 8, 10), (70.0, 8, 10)]
)
def test_wraps_follow_the_house_rule_of_the_ground(angle: float, low: float, high: float) -> None:
    told = thread_for(2.5, angle, HOUSE)
    assert told is not None
    assert (told.wraps_per_cm_low, told.wraps_per_cm_high) == (low / 0.25, high / 0.25)
    assert "sample" in told.reason


def test_no_rule_no_thread() -> None:
    assert thread_for(2.5, 41.0, HOUSE) is None
    assert thread_for(None, 45.0, HOUSE) is None
