"""What pairs, thread and effort are estimated from: sides, columns, starting pins of a strip."""

from __future__ import annotations

import numpy as np

from archive.geometry.strips import read_strip
from archive.geometry.traits import (
    edged_alike,
    feet_off_ground,
    foot_side,
    ground_columns,
    has_shaped_head,
    is_plain_patch,
    starting_pins,
)
from tests.plain_ground import COLUMNS, GROUND, LEFT, RIGHT


def test_edge_pins_off_the_ground_are_the_footside_and_a_plain_edge_is_not() -> None:
    strip = read_strip(np.concatenate([GROUND, RIGHT]))
    assert foot_side(strip) == "right"
    assert len(feet_off_ground(strip)) == 1
    assert ground_columns(strip) == COLUMNS
    assert not has_shaped_head(strip)
    assert not is_plain_patch(strip)


def test_an_insertion_has_two_footsides() -> None:
    strip = read_strip(np.concatenate([GROUND, LEFT, RIGHT]))
    assert foot_side(strip) == "both"
    assert not edged_alike(strip)
    assert ground_columns(strip) == COLUMNS


def test_ground_alone_is_a_plain_patch_with_straight_edges() -> None:
    strip = read_strip(GROUND)
    assert foot_side(strip) == "both"
    assert edged_alike(strip)
    assert is_plain_patch(strip)
    assert feet_off_ground(strip) == []
    assert ground_columns(strip) == COLUMNS


def test_a_cloth_strip_shows_its_starting_pins() -> None:
    sides = [
        np.column_stack([np.full(8, x), 6.0 + np.arange(8) * 5 + offset])
        for x, offset in ((0.0, 0.0), (20.0, 2.5))
    ]
    row = np.column_stack([np.linspace(0, 20, 6), np.zeros(6)])
    strip = read_strip(np.concatenate([row, *sides]))
    assert foot_side(strip) == "both"
    assert starting_pins(strip) == 6
