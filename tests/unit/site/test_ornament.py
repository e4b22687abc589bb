from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from archive.site.ornament import FOOT, PITCH, ROWS, SWATCH_ANGLES, drawings, edging, swatch_path


def _segments(drawing: str) -> list[tuple[float, float, float, float]]:
    found = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)(?=[M\"])", drawing)
    return [(float(a), float(b), float(c), float(d)) for a, b, c, d in found]


@pytest.mark.parametrize("angle", SWATCH_ANGLES)
def test_the_lines_of_a_swatch_stand_at_its_angle_from_the_upright_footside(angle: int) -> None:
    segments = _segments(drawings()[swatch_path(angle)]())
    assert len(segments) > 20
    for x0, y0, x1, y1 in segments:
        assert math.degrees(math.atan2(abs(x1 - x0), y1 - y0)) == pytest.approx(angle, abs=0.3)


def test_the_nearest_swatch_stands_for_an_angle() -> None:
    assert swatch_path(44.2) == "pictures/net-45.svg"
    assert swatch_path(59.7) == "pictures/net-60.svg"
    assert swatch_path(None) == "pictures/no-net.svg"


def test_the_ground_of_the_edging_stands_at_60_degrees_to_its_footside() -> None:
    for x0, y0, x1, y1 in _segments(edging()):
        if y1 - y0 > 2:
            angle = math.degrees(math.atan2(y1 - y0, abs(x1 - x0)))
            assert angle == pytest.approx(60, abs=0.5)


def test_the_ground_of_the_edging_goes_on_from_one_scallop_to_the_next() -> None:
    length = PITCH * ROWS

    def begun_in(low: float) -> list[tuple[float, ...]]:
        return sorted(
            (round(x0 - low, 1), round(y0, 1), round(x1 - low, 1), round(y1, 1))
            for x0, y0, x1, y1 in _segments(edging())
            if y0 == FOOT and low <= x0 < low + length
        )

    assert len(begun_in(0)) == 2 * ROWS
    for before, after in zip(begun_in(-length), begun_in(0), strict=True):
        assert before == pytest.approx(after, abs=0.3)


def test_every_drawing_is_sound_xml() -> None:
    for draw in drawings().values():
        assert ElementTree.fromstring(draw()).tag.endswith("svg")
