"""The small languages inside SVG attributes. Source: W3C, Scalable Vector Graphics (SVG) 2."""

from __future__ import annotations

import numpy as np
import pytest

from archive.geometry.reading.svg_paths import (
    BadNumber,
    finite,
    read_length,
    read_numbers,
    read_path,
    read_points,
    read_transform,
)


@pytest.mark.parametrize(
    ("written", "px", "physical"),
    [
        ("25.4mm", 96, True),
        ("2.54cm", 96, True),
        ("1in", 96, True),
        ("72pt", 96, True),
        ("6pc", 96, True),
        ("101.6Q", 96, True),
        ("96px", 96, False),
        ("96", 96, False),
        ("50%", 100, False),
        (" 1e1 mm ", 96 / 2.54, True),
        (".5in", 48, True),
    ],
)
def test_lengths_come_in_css_pixels(written: str, px: float, physical: bool) -> None:
    """Source: W3C, CSS Values and Units 3, section 6.2 (96 px to the inch)."""
    length = read_length(written, whole=200)
    assert length.px == pytest.approx(px)
    assert length.is_physical is physical


@pytest.mark.parametrize("written", ["", "wide", "3em", "1..2", "nan", "inf", "1e999"])
def test_what_is_no_length_is_refused(written: str) -> None:
    with pytest.raises(BadNumber):
        read_length(written)


def test_numbers_need_no_space_between_them() -> None:
    assert read_numbers("1-2,.5.5 3e-1") == [1, -2, 0.5, 0.5, 0.3]
    assert read_points("1,2 3,4 5") == pytest.approx(np.array([(1, 2), (3, 4)]))


@pytest.mark.parametrize("number", ["1e10", "abc", "nan"])
def test_numbers_beyond_any_drawing_are_refused(number: str) -> None:
    with pytest.raises(BadNumber):
        finite(number)


def moved(transform: str, x: float, y: float) -> list[float]:
    return (read_transform(transform) @ (x, y, 1))[:2].tolist()  # type: ignore[no-any-return]


@pytest.mark.parametrize(
    ("transform", "place"),
    [
        ("", (3, 4)),
        ("translate(10)", (13, 4)),
        ("translate(10, -1)", (13, 3)),
        ("scale(2)", (6, 8)),
        ("scale(2 -1)", (6, -4)),
        ("rotate(90)", (-4, 3)),
        ("rotate(90, 3, 4)", (3, 4)),
        ("skewX(45)", (7, 4)),
        ("skewY(45)", (3, 7)),
        ("matrix(1 2 3 4 5 6)", (3 + 12 + 5, 6 + 16 + 6)),
        ("translate(1,0) scale(2), rotate(90)", (1 - 8, 6)),
    ],
)
def test_transforms_move_a_point(transform: str, place: tuple[float, float]) -> None:
    assert moved(transform, 3, 4) == pytest.approx(place)


@pytest.mark.parametrize("transform", ["turn(3)", "rotate(1,2)", "scale()", "scale(2", "x"])
def test_unknown_transforms_are_refused(transform: str) -> None:
    with pytest.raises(BadNumber):
        read_transform(transform)


def test_lines_are_drawn_absolute_and_relative() -> None:
    (piece,) = read_path("M1 1 h2 v2 H1 z")
    assert piece.closed
    assert piece.points == pytest.approx(np.array([(1, 1), (3, 1), (3, 3), (1, 3)]))
    (other,) = read_path("m1,1 2,0 0,2 l-2 0")
    assert not other.closed
    assert other.points == pytest.approx(piece.points)


def test_a_path_may_have_many_pieces() -> None:
    pieces = read_path("M0 0h1v1z M5 5h1v1z m2 0h1v1z")
    assert [piece.points[0].tolist() for piece in pieces] == [[0, 0], [5, 5], [7, 5]]


@pytest.mark.parametrize(
    "circle",
    [
        "M-2 0A2 2 0 0 1 2 0A2 2 0 0 1-2 0Z",
        "M-2 0a2,2 0 1,1 4,0 2,2 0 1,1-4 0",
        "M-2 0A2 2 0 112 0A2 2 0 11-2 0",
        "M2 0C2 1.1046 1.1046 2 0 2S-2 1.1046-2 0-1.1046-2 0-2 2-1.1046 2 0Z",
    ],
)
def test_a_circle_drawn_as_a_path_is_round(circle: str) -> None:
    (piece,) = read_path(circle)
    assert np.hypot(*piece.points.T) == pytest.approx(2, abs=0.01)
    assert len(piece.points) > 12


def test_an_arc_too_small_for_its_ends_is_enlarged() -> None:
    (piece,) = read_path("M0 0A1 1 0 0 1 4 0")
    assert np.hypot(*(piece.points - (2, 0)).T) == pytest.approx(2)


def test_smooth_curves_mirror_the_handle_before_them() -> None:
    (smooth,) = read_path("M0 0Q1 2 2 0T4 0")
    (written_out,) = read_path("M0 0Q1 2 2 0Q3-2 4 0")
    assert smooth.points == pytest.approx(written_out.points)


def test_a_faulty_path_is_drawn_up_to_its_fault() -> None:
    (piece,) = read_path("M0 0L1 1L2 2Q oops L9 9")
    assert piece.points == pytest.approx(np.array([(0, 0), (1, 1), (2, 2)]))
    assert read_path("") == []
