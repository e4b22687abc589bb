"""Pins and scallops of the headside, in one repeat."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry.heads import Head, find_head
from archive.geometry.strips import read_strip
from tests.strategies_geometry import draw_edging, ground_patch, turn

Points = NDArray[np.float64]

PITCH, ANGLE, COLUMNS, ROWS = 2.0, 58.0, 10, 48
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2
FOOT = np.column_stack([np.full(ROWS, -1.6 * WIDTH), np.arange(ROWS) * PITCH + PITCH / 2])


def reach(down: Points, scallops: int, depth: float) -> Points:
    """How far out the lace reaches, in columns: so many scallops in eight rows."""
    waves = np.abs(np.sin(np.pi * scallops * down / (8 * PITCH)))
    return COLUMNS - depth * (1 - waves)


def edging(scallops: int, picots: int, depth: float = 4.0) -> Points:
    """An edging with so many scallops and picots to eight rows, and a figure in each repeat."""
    ground = ground_patch(ANGLE, PITCH, COLUMNS, ROWS)
    column, half_row = np.rint(ground / (WIDTH, PITCH / 2)).astype(int).T
    figure = np.abs(column - 3) + np.abs(half_row % 16 - 7) <= 2
    within = column <= reach(ground[:, 1], scallops, depth)
    parts = [FOOT, ground[~figure & within]]
    if picots:
        down = (np.arange(6 * picots) + 0.3) * 8 * PITCH / picots
        parts.append(np.column_stack([(reach(down, scallops, depth) + 1.6) * WIDTH, down]))
    return np.concatenate(parts)


@pytest.mark.parametrize("turned", [0.0, 4.0, 180.0])
@pytest.mark.parametrize(
    ("scallops", "picots", "depth"), [(1, 11, 4), (2, 13, 3), (0, 9, 0), (1, 0, 4)]
)
def test_pins_and_scallops_are_counted_in_one_repeat(
    scallops: int, picots: int, depth: float, turned: float
) -> None:
    strip = read_strip(turn(edging(scallops, picots, depth), turned))
    assert strip.repeat is not None
    assert strip.repeat.rows == 8
    assert find_head(strip) == Head(picots, scallops)


def test_jitter_and_faults_change_neither() -> None:
    rng = np.random.default_rng(71_000)
    points = edging(1, 11)
    points = points[rng.random(len(points)) > 0.02]
    head = find_head(read_strip(points + rng.normal(0, 0.05, points.shape)))
    assert head == Head(11, 1)


def test_drawn_edgings_have_one_scallop_to_a_repeat() -> None:
    """Pins off the lattice within the lace are none of the headside.

    Where a figure happens to be drawn over the edge its pins are an edge too: once in eight.
    """
    found = []
    for seed in range(71_000, 71_008):
        design = draw_edging(
            np.random.default_rng(seed), jitter=0.05, missing=0, extra=0, figures=0.5
        )
        head = find_head(read_strip(design.points_mm))
        assert head is not None
        assert head.pins <= 1.5 * design.repeat_rows, seed
        found.append(head.scallops)
    assert found.count(1) >= 7


def test_an_insertion_has_no_headside() -> None:
    other = FOOT * (-1, 1) + (WIDTH * (COLUMNS - 1), 0)
    ground = ground_patch(ANGLE, PITCH, COLUMNS, ROWS)
    assert find_head(read_strip(np.concatenate([FOOT, ground, other]))) is None
    assert find_head(read_strip(np.empty((0, 2)))) is None
