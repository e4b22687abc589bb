"""From positions and files to a measurement, with units, and with nulls where nothing is known."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import Polygon

from archive.geometry import measure, measure_points
from archive.records.house import HouseRules
from archive.records.measurement import Measurement
from tests.strategies_geometry import draw_edging, draw_insertion, ground_patch, turn

Points = NDArray[np.float64]

PX_PER_MM = 300 / 25.4
PITCH, ANGLE, COLUMNS, ROWS = 2.0, 58.0, 9, 30
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2


def edging(seed: int = 4) -> Points:
    """A design in millimetres, with jitter but whole."""
    return draw_edging(np.random.default_rng(seed), jitter=0.03, missing=0, extra=0).points_mm


def plain() -> Points:
    foot = np.column_stack([np.full(ROWS, -1.6 * WIDTH), np.arange(ROWS) * PITCH + 1])
    return np.concatenate([ground_patch(ANGLE, PITCH, COLUMNS, ROWS), foot])


def figures(found: Measurement) -> dict[str, object]:
    """Everything that tells of the lace and nothing of where it lies on the sheet."""
    assert found.ground is not None
    assert found.repeat is not None
    assert found.pairs is not None
    return {
        "pins": found.pins.count,
        "kinds": sorted(area.kind for area in found.areas),
        "rings": found.rings,
        "rows": found.repeat.rows,
        "repeat pins": found.repeat.pins,
        "repeats": found.repeat.count,
        "mirrored": found.repeat.mirrored,
        "symmetry": found.repeat.symmetry,
        "head": found.head,
        "pairs": (found.pairs.low, found.pairs.estimate, found.pairs.high),
        "doubts": sorted(doubt.kind for doubt in found.doubts),
    }


def lengths(found: Measurement) -> list[float]:
    assert found.ground is not None
    assert found.repeat is not None
    assert found.foot.pitch_mm is not None
    assert found.ground.pitch_mm is not None
    assert found.ground.column_mm is not None
    assert found.repeat.length_mm is not None
    return [
        found.foot.pitch_mm,
        found.ground.pitch_mm,
        found.ground.column_mm,
        found.repeat.length_mm,
    ]


def test_a_plain_edging_is_measured_in_millimetres() -> None:
    found = measure_points(plain() * PX_PER_MM, px_per_mm=PX_PER_MM)
    assert found.scale.how == "given"
    assert found.foot.side == "left"
    assert found.foot.pitch_mm == pytest.approx(PITCH)
    assert found.foot.pitch_px == pytest.approx(PITCH * PX_PER_MM, abs=1e-4)
    assert found.foot.pins == ROWS
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(ANGLE)
    assert found.ground.column_mm == pytest.approx(WIDTH, abs=1e-5)
    assert found.ground.share_on_lattice == pytest.approx(COLUMNS / (COLUMNS + 1), abs=1e-3)
    assert found.extent_mm == pytest.approx(
        ((COLUMNS - 1 + 1.6) * WIDTH, (ROWS - 0.5) * PITCH), abs=1e-3
    )
    assert found.areas[0].kind == "full net"
    assert found.areas[0].area_mm2 == pytest.approx(found.areas[0].pins * PITCH * WIDTH, rel=1e-4)
    assert found.pairs is not None
    assert found.pairs.estimate == COLUMNS + 1 + 2 + 1
    assert found.thread is not None
    assert (found.thread.wraps_per_cm_low, found.thread.wraps_per_cm_high) == (40, 50)
    assert found.doubts == ()
    assert found.repeat is not None
    assert found.repeat.symmetry == "p1m1"
    assert found.head is not None
    assert (found.head.pins_per_repeat, found.head.scallops_per_repeat) == (0, 0)
    assert found.effort is not None
    assert found.effort.pins_per_10cm == pytest.approx(100 * (COLUMNS + 1) / PITCH)
    assert found.effort.pair_path_cm == round(10 * ((COLUMNS + 1) / np.cos(np.deg2rad(ANGLE)) + 3))


@pytest.mark.parametrize("seed", range(4))
def test_the_size_of_an_open_figure_is_that_of_its_outline(seed: int) -> None:
    """Oracle: shapely, of the outline in pixels; the figures hold no pins."""
    rng = np.random.default_rng(seed)
    drawn = draw_insertion(rng, "p1", jitter=0.02, missing=0, extra=0)
    found = measure_points(drawn.points_mm * PX_PER_MM, px_per_mm=PX_PER_MM)
    figures = [area for area in found.areas if area.kind == "open"]
    assert len(figures) > 2
    for figure in figures:
        size_mm2 = Polygon(figure.outline_px).area / PX_PER_MM**2
        assert figure.area_mm2 == pytest.approx(size_mm2, rel=1e-3)


def test_an_unknown_scale_leaves_every_length_unknown() -> None:
    found = measure_points(plain() * 7)
    assert found.scale.px_per_mm is None
    assert found.scale.how == "unknown"
    assert found.pins.positions_mm is None
    assert found.extent_mm is None
    assert found.foot.pitch_mm is None
    assert found.foot.pitch_sd_mm is None
    assert found.foot.pitch_px == pytest.approx(14)
    assert found.ground is not None
    assert found.ground.pitch_mm is None
    assert found.ground.column_mm is None
    assert found.ground.pitch_px == pytest.approx(14)
    assert found.areas[0].area_mm2 is None
    assert found.repeat is not None
    assert found.repeat.length_mm is None
    assert found.thread is None
    assert found.pairs is not None
    assert found.effort is not None
    assert found.effort.pins_per_10cm is None
    assert found.effort.pair_path_cm is not None


@settings(max_examples=8)
@given(turned=st.floats(-20, 20), shift=st.floats(-500, 500))
def test_turning_and_shifting_the_sheet_changes_no_figure(turned: float, shift: float) -> None:
    upright = measure_points(edging(), px_per_mm=1)
    moved = measure_points(turn(edging(), turned) + shift, px_per_mm=1)
    assert figures(moved) == figures(upright)
    assert lengths(moved) == pytest.approx(lengths(upright), rel=2e-4)
    assert moved.tilt_deg is not None
    assert upright.tilt_deg is not None
    assert moved.tilt_deg == pytest.approx(upright.tilt_deg - turned, abs=0.02)
    assert moved.foot.side == upright.foot.side


def test_mirroring_the_sheet_changes_only_the_side() -> None:
    there = measure_points(edging(), px_per_mm=1)
    back = measure_points(edging() * (-1, 1), px_per_mm=1)
    assert figures(back) == figures(there)
    assert lengths(back) == pytest.approx(lengths(there), rel=2e-4)
    assert {there.foot.side, back.foot.side} == {"left", "right"}


def test_twice_the_resolution_gives_the_same_millimetres() -> None:
    coarse = measure_points(edging() * 12, px_per_mm=12)
    fine = measure_points(edging() * 24, px_per_mm=24)
    assert figures(fine) == figures(coarse)
    assert lengths(fine) == pytest.approx(lengths(coarse), rel=1e-5)
    assert fine.ground is not None
    assert coarse.ground is not None
    assert fine.ground.pitch_px == pytest.approx(2 * coarse.ground.pitch_px, rel=1e-5)
    assert fine.extent_mm == pytest.approx(coarse.extent_mm, abs=1e-3)


def test_scaling_the_lace_scales_lengths_and_leaves_angle_and_pairs() -> None:
    small = measure_points(edging(), px_per_mm=1)
    large = measure_points(edging() * 1.25, px_per_mm=1)
    assert figures(large) == figures(small)
    assert lengths(large) == pytest.approx([1.25 * one for one in lengths(small)], rel=1e-4)
    assert large.ground is not None
    assert small.ground is not None
    assert large.ground.angle_deg == pytest.approx(small.ground.angle_deg, abs=1e-3)
    assert small.thread is not None
    assert large.thread is not None
    assert large.thread.wraps_per_cm_low == pytest.approx(
        small.thread.wraps_per_cm_low / 1.25, rel=1e-3
    )


def test_a_measurement_kept_by_an_older_analyser_can_still_be_read() -> None:
    kept = measure_points(plain(), px_per_mm=1).model_dump(mode="json")
    for later in ("head", "effort", "round"):
        del kept[later]
    del kept["repeat"]["symmetry"]
    read = Measurement.model_validate(kept)
    assert (read.head, read.effort, read.round) == (None, None, None)
    assert read.repeat is not None
    assert read.repeat.symmetry is None


def test_the_order_of_the_pins_changes_nothing() -> None:
    points = edging()
    shuffled = np.random.default_rng(1).permutation(points)
    assert measure_points(shuffled, px_per_mm=1) == measure_points(points, px_per_mm=1)


def test_a_stretch_across_turns_45_into_45_85() -> None:
    """3 % across: tan 45.85° = 1.03."""
    found = measure_points(ground_patch(45, 3.0, 15, 30) * (1.03, 1))
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(np.rad2deg(np.arctan(1.03)), abs=1e-3)


def test_house_rules_change_estimates_and_nothing_else() -> None:
    usual = measure_points(plain(), px_per_mm=1)
    house = HouseRules(foot_passive_pairs=3, point_ground_wraps_low=7)
    ours = measure_points(plain(), px_per_mm=1, settings=house)
    assert ours.pairs is not None
    assert usual.pairs is not None
    assert ours.pairs.estimate == usual.pairs.estimate + 1
    assert ours.thread is not None
    assert ours.thread.wraps_per_cm_low == 35
    assert ours.effort is not None
    assert usual.effort is not None
    assert ours.effort.pair_path_cm == (usual.effort.pair_path_cm or 0) + 10
    rest = {"pairs": None, "thread": None, "effort": None}
    assert ours.model_copy(update=rest) == usual.model_copy(update=rest)


@pytest.mark.parametrize("positions", [[], [(5.0, 5.0)], [(5.0, 5.0)] * 30])
def test_nothing_to_see_is_a_measurement_too(positions: list[tuple[float, float]]) -> None:
    found = measure_points(positions, px_per_mm=10)
    assert found.pins.count == len(positions)
    assert found.extent_mm == (0, 0)
    assert found.foot.side == "none"
    assert found.ground is None
    assert found.pairs is None
    assert found.areas == ()


def drawing(path: Path) -> Path:
    dots = "".join(f'<circle cx="{x + 10}" cy="{y + 10}" r=".3"/>' for x, y in plain())
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="80mm" '
        f'viewBox="0 0 40 80">{dots}</svg>',
        encoding="utf-8",
    )
    return path


def test_a_drawing_is_measured_by_its_own_units(tmp_path: Path) -> None:
    path = drawing(tmp_path / "sheet.svg")
    found = measure(path)
    assert found.source is not None
    assert found.source.file == "sheet.svg"
    assert found.source.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert found.source.media_type == "image/svg+xml"
    assert found.scale.how == "drawing-units"
    assert found.ground is not None
    assert found.ground.pitch_mm == pytest.approx(PITCH)


def test_a_scale_that_is_given_outranks_the_drawing(tmp_path: Path) -> None:
    found = measure(drawing(tmp_path / "sheet.svg"), px_per_mm=2 * 96 / 25.4)
    assert found.scale.how == "given"
    assert found.ground is not None
    assert found.ground.pitch_mm == pytest.approx(PITCH / 2)


def test_a_file_is_known_by_its_content_not_its_ending(tmp_path: Path) -> None:
    found = measure(drawing(tmp_path / "sheet.png"))
    assert found.source is not None
    assert found.source.media_type == "image/svg+xml"
