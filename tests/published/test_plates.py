"""Three prickings of a handbook, of which the text says how many pairs they take.

Source: Th. de Dillmont, Encyclopedia of Needlework, c. 1886 (public domain; Project Gutenberg
20776), figures 785, 787 and 791. `plates.csv` holds the hole centres in pixels of low-resolution
scans of the engraved plates, found by eye and refined by their grey centroid; the plates give
no scale. The angles and pitches to compare with were fitted to the same positions by another
program, and stand beside each check.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from archive.geometry import measure_points
from archive.records.measurement import Measurement


def plate(figure: str) -> Measurement:
    with (Path(__file__).parent / "plates.csv").open(encoding="utf-8") as file:
        places = [
            (float(row["x_px"]), float(row["y_px"]))
            for row in csv.DictReader(file)
            if row["figure"] == figure
        ]
    return measure_points(np.array(places))


@pytest.mark.parametrize(
    ("figure", "holes", "pairs"),
    [
        ("785", 20, 6),  # text: a pair at each of the 6 pins of the top row
        ("787", 59, 10),  # text: two pairs at each of 5 pins; and 9 columns + 1
        ("791", 73, 10),  # text: two pairs at a, one at each of b to i; and 9 columns + 1
    ],
)
def test_the_pairs_of_the_text_are_those_of_the_plate(figure: str, holes: int, pairs: int) -> None:
    found = plate(figure)
    assert found.pins.count == holes
    assert found.pairs is not None
    assert found.pairs.estimate == pairs
    assert found.pairs.low <= pairs <= found.pairs.high
    assert found.pairs.high - found.pairs.low <= 2, "no wider than the nearest numbers"


@pytest.mark.parametrize(
    ("figure", "angle_deg", "pitch_px", "across_px"),
    [
        ("787", 45.0, 47.75, 47.61),  # torchon ground: always 45° (Nottingham); fitted 44.9°
        ("791", 60.0, 29.43, 50.60),  # an isometric grid; fitted 59.8°, left 60.6°, right 59.1°
    ],
)
def test_the_ground_of_a_plate_stands_at_its_angle(
    figure: str, angle_deg: float, pitch_px: float, across_px: float
) -> None:
    ground = plate(figure).ground
    assert ground is not None
    assert ground.angle_deg == pytest.approx(angle_deg, abs=0.5)
    assert ground.pitch_px == pytest.approx(pitch_px, abs=0.1)
    assert 2 * ground.column_px == pytest.approx(across_px, abs=0.1)
    assert ground.share_on_lattice > 0.95


def test_what_the_book_calls_rose_ground_is_honeycomb_by_its_holes() -> None:
    """Figure 791: three quarters of the lattice, worked half stitch and twist, pin, the same."""
    assert [area.kind for area in plate("791").areas] == ["honeycomb net"]


def test_the_edges_of_honeycomb_are_its_outermost_pins() -> None:
    """Figure 791: the outer columns of nine hold every second pin, six on either side."""
    foot = plate("791").foot
    assert (foot.side, foot.pins) == ("both", 12)
    assert foot.pitch_px == pytest.approx(2 * 29.43, abs=0.3)


def test_a_strip_without_ground_has_none() -> None:
    """Figure 785: a half-stitch strip; side pins at 27.7 px, opposite sides half a gap apart."""
    found = plate("785")
    assert found.ground is None
    assert found.foot.side == "both"
    assert found.foot.pitch_px == pytest.approx(27.7, abs=0.4)


def test_a_plate_without_a_scale_gives_no_millimetres() -> None:
    found = plate("787")
    assert found.extent_mm is None
    assert found.foot.pitch_mm is None
    assert found.thread is None


def test_the_edge_of_a_honeycomb_tells_no_thread() -> None:
    """The house rule is for the gaps of a ground's footside; figure 791 leaves out every second."""
    found = measure_points(np.array(plate("791").pins.positions_px), px_per_mm=10)
    assert found.ground is not None
    assert found.foot.pitch_px == pytest.approx(2 * found.ground.pitch_px, rel=0.03)
    assert found.thread is None


def test_a_speck_taken_for_a_hole_adds_no_headside_and_no_pairs() -> None:
    """Beside figure 791 stands a speck; two of its holes stand beside their places."""
    places = np.array(plate("791").pins.positions_px)
    found = measure_points(np.concatenate([places, [[46.3, 158.3]]]))
    assert found.pairs is not None
    assert found.pairs.low <= 10 <= found.pairs.high
    assert [doubt.kind for doubt in found.doubts] == ["extra"]


def test_the_edge_of_honeycomb_is_not_doubted_for_its_every_second_pin() -> None:
    """Figure 791 ends in a column of six pins beyond the last one that is pricked throughout."""
    assert plate("791").doubts == ()
