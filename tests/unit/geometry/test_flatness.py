"""Sheets photographed at a slant, cockled and stretched: found, told and made flat."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from archive.geometry import measure_points
from archive.geometry.analysing import analyse
from archive.geometry.flatness.bends import FLAT
from archive.geometry.flatness.finding import find_bend
from archive.geometry.flatness.numbering import Part
from archive.geometry.lattice import find_lattices
from archive.records.measurement import MeasuredBend, Measurement
from tests.strategies_geometry import Design, draw_edging, ground_patch, turn, turned_corner

Points = NDArray[np.float64]


def design(seed: int, jitter: float = 0.1) -> Design:
    return draw_edging(np.random.default_rng(seed), jitter=jitter, missing=0.02, extra=0.01)


def at_a_slant(points: Points, across: float, down: float) -> Points:
    """The points as a camera sees them that leans over, the mean scale growing by these parts."""
    low, high = points.min(axis=0), points.max(axis=0)
    q = points - (low + high) / 2
    lean = np.array([across, down]) / 1.5 / (high - low)
    seen: Points = q / (1 - q @ lean)[:, None] + (low + high) / 2
    return seen


def cockled(points: Points, strain: float, wave_mm: float) -> Points:
    """The points on paper that is drawn out and shrunk in waves down the sheet."""
    turns = 2 * np.pi / wave_mm
    moved: Points = points + strain / turns * np.sin(turns * points[:, 1:]) * (0, 1)
    return moved


def bend_of(found: Measurement) -> MeasuredBend:
    assert found.bend is not None
    return found.bend


def test_a_flat_sheet_is_told_to_be_flat() -> None:
    """Thirty designs with jitter of 0.1 mm."""
    told = 0
    for seed in range(200, 230):
        points = design(seed).points_mm
        lattices = find_lattices(points)
        if lattices:
            told += 1
            assert find_bend(points, [Part(points, points, lattices[0])]) is FLAT, seed
    assert told >= 28


@pytest.mark.parametrize(("across", "down"), [(0.0, 0.02), (0.03, 0.0), (0.03, -0.03), (0, 0.06)])
def test_a_slant_is_found_and_the_lace_measured_as_if_flat(across: float, down: float) -> None:
    for seed in (302, 304):
        drawn = design(seed)
        found = measure_points(at_a_slant(drawn.points_mm, across, down), px_per_mm=1)
        bend = bend_of(found)
        assert bend.kind == "slanted"
        assert bend.across_percent == pytest.approx(100 * across, abs=4 * bend.across_sd_percent)
        assert bend.down_percent == pytest.approx(100 * down, abs=4 * bend.down_sd_percent)
        assert bend.down_sd_percent < 0.15
        assert found.ground is not None
        assert found.ground.angle_deg == pytest.approx(drawn.angle_deg, abs=0.05)
        assert found.ground.pitch_mm == pytest.approx(drawn.pitch_mm, rel=1e-3)
        assert found.repeat is not None
        assert found.repeat.rows == drawn.repeat_rows


@settings(max_examples=6, deadline=None)
@given(turned=st.sampled_from([0, 90, 180, 270]), mirrored=st.booleans(), size=st.floats(0.5, 20))
def test_turning_mirroring_and_scaling_change_no_slant(
    turned: int, mirrored: bool, size: float
) -> None:
    ground = ground_patch(58, 2.0, 14, 40) + np.random.default_rng(4).normal(0, 0.05, (560, 2))
    there = at_a_slant(ground, 0.0, 0.03)
    back = turn(there * ((-1, 1) if mirrored else (1, 1)), turned) * size
    change, error = bend_of(measure_points(there)), bend_of(measure_points(back))
    down = {0: error.down_percent, 90: -error.across_percent, 180: -error.down_percent}
    expected = {**down, 270: error.across_percent}[turned]
    assert expected == pytest.approx(change.down_percent, abs=0.01)


def test_an_exact_drawing_at_a_slant_is_not_cockled() -> None:
    """What the computer's rounding leaves over of a drawing is no cockle, however regular it is."""
    bend = bend_of(measure_points(at_a_slant(ground_patch(58, 2.0, 14, 40) + 8, 0, 0.05)))
    assert (bend.kind, bend.cockles_sd_percent) == ("slanted", 0)


def test_cockles_are_found_and_smoothed() -> None:
    drawn = design(302, jitter=0.03)
    found = measure_points(cockled(drawn.points_mm, 0.01, 90), px_per_mm=1)
    bend = bend_of(found)
    assert bend.kind == "cockled"
    # one direction alone is drawn out by 1 %: the mean scale changes by half of it
    assert bend.largest_percent - bend.smallest_percent == pytest.approx(1.0, abs=0.3)
    assert found.ground is not None
    assert found.ground.rms_px < 0.05


def test_flattened_positions_find_back_to_where_they_lie() -> None:
    drawn = at_a_slant(cockled(design(302).points_mm, 0.01, 90), 0.03, 0.03)
    bend = analyse(drawn).bend
    assert bend.cockles is not None
    assert bend.on_sheet(bend.flatten(drawn)) == pytest.approx(drawn, abs=1e-9)
    found = measure_points(drawn)
    told = np.array(found.pins.positions_px)
    order = np.lexsort((drawn[:, 0], drawn[:, 1]))
    assert told == pytest.approx(drawn[order], abs=2e-3)


def test_the_slant_is_that_of_the_usual_projective_fit() -> None:
    """Source: the direct linear transformation, Hartley and Zisserman, Multiple View Geometry."""
    rng = np.random.default_rng(7)
    flat = ground_patch(60, 2.0, 14, 40)
    seen = at_a_slant(flat, 0.02, 0.04) + rng.normal(0, 0.02, flat.shape)
    middle = (seen.min(axis=0) + seen.max(axis=0)) / 2
    p, q = seen - middle, flat - flat.mean(axis=0)
    one, none = np.ones((len(p), 1)), np.zeros((len(p), 3))
    rows = np.concatenate(
        [
            np.hstack([q, one, none, -p[:, :1] * q, -p[:, :1]]),
            np.hstack([none, q, one, -p[:, 1:] * q, -p[:, 1:]]),
        ]
    )
    forth = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    back = np.linalg.inv(forth)
    bend = analyse(seen).bend
    assert bend.slant == pytest.approx(back[2, :2] / back[2, 2], abs=4 * bend.slant_sd.max())


def test_the_doubts_of_a_slanted_sheet_lie_where_the_hole_is_missing() -> None:
    flat = ground_patch(58, 2.0, 14, 40)
    seen = at_a_slant(flat, 0.0, 0.05)
    gone = 7 * 40 + 30
    found = measure_points(np.delete(seen, gone, axis=0))
    assert [doubt.kind for doubt in found.doubts] == ["missing"]
    assert (found.doubts[0].x_px, found.doubts[0].y_px) == pytest.approx(seen[gone], abs=0.02)


def corner(angle: float, seed: int = 86_000) -> Points:
    lace, _ = turned_corner(angle, 2.0)
    moved: Points = lace + np.random.default_rng(seed).normal(0, 0.05, lace.shape)
    return moved


@pytest.mark.parametrize(("across", "down"), [(0.0, 0.01), (0.012, 0.0), (0.02, 0.03), (0.06, 0.0)])
@pytest.mark.parametrize("angle", [45.0, 55.0])
def test_a_slanted_corner_is_measured_as_if_flat(angle: float, across: float, down: float) -> None:
    """And no slant is called a stretch of one side against the other."""
    found = measure_points(at_a_slant(corner(angle), across, down), px_per_mm=1)
    bend = bend_of(found)
    assert bend.kind == "slanted"
    assert bend.across_percent == pytest.approx(100 * across, abs=4 * bend.across_sd_percent)
    assert bend.down_percent == pytest.approx(100 * down, abs=4 * bend.down_sd_percent)
    # both sides lose their likeness by a slant towards the mitre: that is told best
    both = bend.across_percent + bend.down_percent
    assert both == pytest.approx(100 * (across + down), abs=0.2)
    assert found.corner.present
    assert found.stretch is None
    assert found.doubts == ()
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(angle, abs=0.07)
    assert found.ground.pitch_mm == pytest.approx(2.0, rel=1.5e-3)


@pytest.mark.parametrize("across", [0.96, 0.97, 0.995, 1.005, 1.03, 1.04])
@pytest.mark.parametrize("angle", [45.0, 52.0, 60.0])
def test_the_sides_of_a_corner_tell_a_stretch(angle: float, across: float) -> None:
    """The paper lay a little askew: the sides are then no longer square."""
    found = measure_points(turn(corner(angle), 1.0) * (across, 1))
    assert found.corner.present
    assert found.bend is None
    assert found.stretch is not None
    assert found.stretch.told_by == "corner"
    assert found.stretch.along_percent == pytest.approx(100 * (1 / across - 1), abs=0.2)
    assert found.doubts == ()


def test_a_flat_corner_is_told_to_be_flat() -> None:
    for seed in range(86_010, 86_020):
        found = measure_points(corner(55.0, seed))
        assert (found.bend, found.stretch) == (None, None), seed


def test_a_stretched_45_ground_is_asked_about_and_not_put_right() -> None:
    """3 % across turn 45° into 45.85°: tan θ' = 1.03 tan 45°. Source: geometry."""
    found = measure_points(ground_patch(45, 3.0, 15, 30) * (1.03, 1))
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(45.85, abs=0.005)
    assert found.bend is None
    assert found.stretch is not None
    assert found.stretch.told_by == "ground"
    assert found.stretch.along_percent == pytest.approx(100 * (1 / 1.03 - 1), abs=0.01)
    assert measure_points(ground_patch(45, 3.0, 15, 30)).stretch is None
    assert measure_points(ground_patch(52, 3.0, 15, 30)).stretch is None
