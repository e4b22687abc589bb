"""Whole sheets: edgings, insertions, corners, strips, and laces without a ground."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.geometry.analysing import analyse
from archive.geometry.neighbours import NO_POINTS
from archive.geometry.strips import read_strip
from archive.geometry.traits import foot_side, ground_columns, has_shaped_head
from tests.plain_ground import GROUND, LEFT, PITCH
from tests.strategies_geometry import (
    draw_edging,
    draw_plaited,
    draw_tape,
    ground_patch,
    turn,
    turned_corner,
)

Points = NDArray[np.float64]


def test_drawn_edgings_are_read_whatever_their_side_and_turn() -> None:
    for seed in range(8):
        design = draw_edging(np.random.default_rng(500 + seed))
        analysis = analyse(design.points_mm)
        assert foot_side(analysis.main) == design.foot_side, seed
        assert analysis.tilt_deg == pytest.approx(-design.turn_deg, abs=0.1), seed
        assert has_shaped_head(analysis.main), seed
        assert analysis.corner is None, seed


@pytest.mark.parametrize("turned", [0.0, 90.0, 180.0, -90.0])
def test_a_sheet_laid_on_its_side_keeps_its_figures(turned: float) -> None:
    design = draw_edging(np.random.default_rng(77))
    first = read_strip(design.points_mm)
    second = read_strip(turn(design.points_mm, turned))
    assert first.ground is not None
    assert second.ground is not None
    assert second.ground.lattice.pitch == pytest.approx(first.ground.lattice.pitch, rel=1e-4)
    assert second.ground.lattice.angle_deg == pytest.approx(
        first.ground.lattice.angle_deg, abs=0.02
    )
    assert first.repeat is not None
    assert second.repeat is not None
    assert second.repeat.rows == first.repeat.rows


def mitred(angle: float, rows: int = 24, columns: int = 8) -> Points:
    """An upright strip, footside at its right, and its mirror image about the mitre."""
    width = PITCH * np.tan(np.deg2rad(angle)) / 2
    strip = ground_patch(angle, PITCH, columns, rows) * (-1, 1)
    foot = np.column_stack([np.full(rows, 1.6 * width), np.arange(rows) * PITCH + PITCH / 2])
    upright = np.concatenate([strip, foot])
    at = np.array([1.6 * width, (rows + 0.5) * PITCH])
    along = upright - at
    return np.concatenate([upright, at - along[:, ::-1]])


@pytest.mark.parametrize("angle", [52.0, 60.0, 66.0])
def test_a_corner_is_read_as_two_strips(angle: float) -> None:
    analysis = analyse(mitred(angle))
    assert analysis.corner is not None
    assert len(analysis.strips) == 2
    for strip in analysis.strips:
        assert strip.ground is not None
        assert strip.ground.lattice.angle_deg == pytest.approx(angle, abs=1e-4)
        assert ground_columns(strip) == 8
    assert foot_side(analysis.main) == "right"
    assert analysis.doubts == []


def filled_corner(angle: float, rows: int = 24, columns: int = 8) -> tuple[Points, Points]:
    """A corner whose net is filled up to the mitre, and where the footsides meet."""
    width = PITCH * np.tan(np.deg2rad(angle)) / 2
    at = np.array([1.6 * width, (rows + 0.5) * PITCH])
    net = ground_patch(angle, PITCH, columns, rows + columns) * (-1, 1)
    net = net[(net - at).sum(axis=1) < -0.4 * PITCH]
    foot = np.column_stack([np.full(rows, at[0]), np.arange(rows) * PITCH + PITCH / 2])
    half = np.concatenate([net, foot])
    return np.concatenate([half, at - (half - at)[:, ::-1]]), at


@pytest.mark.parametrize("angle", [52.0, 60.0])
@pytest.mark.parametrize("seed", range(74_000, 74_004))
def test_a_fault_in_a_corner_is_told_by_its_mirror_image(angle: float, seed: int) -> None:
    """The two halves of the corner meet in a net that fits neither side's lattice."""
    rng = np.random.default_rng(seed)
    lace, at = filled_corner(angle)
    gone = lace[rng.choice(np.flatnonzero(np.hypot(*(lace - at).T) < 5 * PITCH))]
    kept = lace[np.hypot(*(lace - gone).T) > 0.1]
    assert missing_from(lace + rng.normal(0, 0.03, lace.shape)) == []
    (place,) = missing_from(kept + rng.normal(0, 0.03, kept.shape))
    assert place == pytest.approx(gone, abs=0.3)


def missing_from(points: Points, middles: Points = NO_POINTS) -> list[Points]:
    return [doubt.position for doubt in analyse(points, middles).doubts if doubt.kind == "missing"]


def but(points: Points, *gone: Points) -> Points:
    return points[np.hypot(*(points[:, None] - gone).transpose(2, 0, 1)).min(axis=1) > 0.1]


@pytest.mark.parametrize("angle", [45.0, 52.0, 58.0])
def test_a_hole_lost_on_the_mitre_is_told_by_the_columns_that_turn_there(angle: float) -> None:
    lace, turning = turned_corner(angle, PITCH)
    rng = np.random.default_rng(75_000)
    assert missing_from(lace + rng.normal(0, 0.02, lace.shape)) == []
    for place in turning[2:-2]:
        kept = but(lace, place)
        (told,) = missing_from(kept + rng.normal(0, 0.02, kept.shape))
        assert told == pytest.approx(place, abs=0.15)


def test_the_middle_of_a_ring_on_the_mitre_is_not_missing_and_witnesses_for_its_ring() -> None:
    lace, turning = turned_corner(52.0, PITCH)
    ringed = but(lace, turning[5])
    assert missing_from(ringed, turning[5:6]) == []
    (told,) = missing_from(but(ringed, turning[4]), turning[5:6])
    assert told == pytest.approx(turning[4], abs=0.01)


def test_several_empty_places_on_the_mitre_are_a_design() -> None:
    lace, turning = turned_corner(52.0, PITCH)
    for gone in (turning[3:5], turning[[3, 5]]):
        assert missing_from(but(lace, *gone)) == []


def test_a_corner_whose_halves_differ_by_design_is_not_doubted() -> None:
    lace, at = filled_corner(58.0)
    figure = np.hypot(*(lace - at - (-4 * PITCH, 1.5 * PITCH)).T) < 1.2 * PITCH
    assert figure.sum() > 2
    assert analyse(lace[~figure]).doubts == []


def test_the_borders_of_a_patch_are_no_corner() -> None:
    assert analyse(ground_patch(45, PITCH, 13, 13)).corner is None
    assert analyse(GROUND).corner is None


def test_titles_and_numbers_beside_the_lace_are_no_pins_of_it() -> None:
    rng = np.random.default_rng(3)
    words = rng.uniform((0, -16), (20, -12), (30, 2))
    lace = np.concatenate([GROUND, LEFT])
    analysis = analyse(np.concatenate([lace, words]))
    assert len(analysis.points) == len(lace)
    assert analysis.doubts == []


def test_laces_without_a_ground_say_so() -> None:
    for seed in range(5):
        tape = analyse(draw_tape(np.random.default_rng(seed)))
        assert tape.main.ground is None
        assert tape.main.feet == []
        assert tape.doubts == [] or tape.main.repeat is not None
        plaited = analyse(draw_plaited(np.random.default_rng(seed)))
        assert plaited.main.ground is None
        assert foot_side(plaited.main) == "left"
        assert plaited.corner is None


@pytest.mark.parametrize("seed", [91_213, 850_888])
def test_figures_that_come_again_and_again_are_no_ground(seed: int) -> None:
    """A third of the pins and more lie near a net at 27° or 90° from the footside.

    It has no repeat of its own, and no footside but for twelve pins at the end of one sheet.
    """
    design = draw_edging(np.random.default_rng(seed), figures=2.5)
    assert design.ground_share < 0.01
    assert read_strip(design.points_mm).ground is None


@pytest.mark.parametrize(("seed", "figures"), [(96_038, 2.5), (800_546, 1.5)])
def test_half_the_pins_near_the_places_of_a_net_are_no_ground_by_that(
    seed: int, figures: float
) -> None:
    """As many as 0.51 stand near places, less than a tenth of all in nets: its angle is chance."""
    design = draw_edging(np.random.default_rng(seed), figures=figures)
    assert design.ground_share < 0.25
    assert read_strip(design.points_mm).ground is None


def test_a_row_of_crossing_plaits_is_no_ground() -> None:
    """Plaits cross at twice the pitch of their footsides: no ground is wider than its foot."""
    plaits = ground_patch(59, 2 * PITCH, 4, 20)
    width = plaits[:, 0].max()
    feet = [
        np.column_stack([np.full(40, x), np.arange(40) * PITCH + offset])
        for x, offset in ((-3.0, 0.0), (-5.0, 1.0), (width + 3, 0.0), (width + 5, 1.0))
    ]
    strip = read_strip(np.concatenate([plaits, *feet]))
    assert strip.ground is None
    assert foot_side(strip) == "both"


@pytest.mark.parametrize("count", [0, 1, 2, 5])
def test_a_handful_of_pins_tells_nothing(count: int) -> None:
    analysis = analyse(np.random.default_rng(1).uniform(0, 50, (count, 2)))
    assert analysis.main.ground is None
    assert analysis.main.repeat is None
    assert analysis.tilt_deg is None
    assert analysis.doubts == []
