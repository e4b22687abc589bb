from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest
from shapely import Point, Polygon

from archive.site.ornament import (
    FOOT,
    NET_ANGLES,
    OUTLINES,
    PITCH,
    ROWS,
    drawings,
    edging,
    stand_in_path,
)
from archive.vocabulary import kinds


def _segments(drawing: str) -> list[tuple[float, float, float, float]]:
    found = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)(?=[M\"])", drawing)
    return [(float(a), float(b), float(c), float(d)) for a, b, c, d in found]


@pytest.mark.parametrize("angle", NET_ANGLES)
def test_the_lines_of_a_stand_in_are_at_its_angle_from_the_upright_footside(angle: int) -> None:
    path = stand_in_path("mat", angle)
    segments = _segments(drawings([path])[path]())
    assert len(segments) > 20
    for x0, y0, x1, y1 in segments:
        assert math.degrees(math.atan2(abs(x1 - x0), y1 - y0)) == pytest.approx(angle, abs=0.3)


def test_the_nearest_net_stands_for_an_angle() -> None:
    assert stand_in_path("mat", 44.2) == "pictures/mat-45.svg"
    assert stand_in_path(None, 59.7) == "pictures/other-60.svg"
    assert stand_in_path("edging", None) == "pictures/edging-no-net.svg"


def test_every_kind_of_pattern_has_an_outline_of_its_own() -> None:
    assert set(OUTLINES) == {kind.id for kind in kinds()}
    assert len(set(OUTLINES.values())) == len(OUTLINES)


@pytest.mark.parametrize("kind", OUTLINES)
def test_net_lies_within_the_outline(kind: str) -> None:
    """Source: shapely, a general-purpose library of plane geometry, as the judge."""
    path = stand_in_path(kind, 60)
    outer, *holes = OUTLINES[kind]
    lace = Polygon(outer, holes).buffer(0.2)
    segments = _segments(drawings([path])[path]())
    assert len(segments) > 8
    for x0, y0, x1, y1 in segments:
        assert lace.contains(Point(x0, y0))
        assert lace.contains(Point(x1, y1))


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
    every = [stand_in_path(kind, angle) for kind in OUTLINES for angle in (*NET_ANGLES, None)]
    assert len(drawings(every)) == len(every) + 1
    for draw in drawings(every).values():
        assert ElementTree.fromstring(draw()).tag.endswith("svg")
