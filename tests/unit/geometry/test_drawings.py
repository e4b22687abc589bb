"""A drawn pricking gives its pins exactly, however it is written down."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from archive.errors import UnreadableFile
from archive.geometry.reading.drawings import read_drawing
from tests.strategies_geometry import ground_patch

PX_PER_MM = 96 / 25.4
PINS = ground_patch(58, 2.0, 5, 6) + 5
DOTS = "".join(f'<circle cx="{x}" cy="{y}" r=".3"/>' for x, y in PINS)


def write(folder: Path, body: str, attributes: str = "") -> Path:
    attributes = attributes or 'width="30mm" height="40mm" viewBox="0 0 30 40"'
    path = folder / "sheet.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>', encoding="utf-8"
    )
    return path


def pins_mm(path: Path) -> NDArray[np.float64]:
    drawing = read_drawing(path)
    assert drawing.px_per_mm is not None
    return drawing.pins_px / drawing.px_per_mm


def as_listed(points: NDArray[np.float64]) -> NDArray[np.float64]:
    rounded = np.round(points, 6)
    return points[np.lexsort((rounded[:, 0], rounded[:, 1]))]


def same(found: NDArray[np.float64], true: NDArray[np.float64]) -> bool:
    return found.shape == true.shape and bool(
        np.allclose(as_listed(found), as_listed(true), atol=1e-6)
    )


def test_circles_are_read_in_millimetres(tmp_path: Path) -> None:
    drawing = read_drawing(write(tmp_path, DOTS))
    assert drawing.px_per_mm == pytest.approx(PX_PER_MM)
    assert (drawing.width_px, drawing.height_px) == pytest.approx((30 * PX_PER_MM, 40 * PX_PER_MM))
    assert same(drawing.pins_px / PX_PER_MM, PINS)


def dots(shape: str) -> str:
    return "".join(shape.format(x=x, y=y, left=x - 0.3, top=y - 0.3) for x, y in PINS)


@pytest.mark.parametrize(
    "shape",
    [
        '<ellipse cx="{x}" cy="{y}" rx=".3" ry=".25"/>',
        '<circle cx="{x}" cy="{y}" r=".3" fill="none" stroke="black" stroke-width=".05"/>',
        '<rect x="{left}" y="{top}" width=".6" height=".6"/>',
        '<path d="M{x} {y}m-.3 0a.3 .3 0 1 1 .6 0a.3 .3 0 1 1-.6 0z"/>',
        '<path d="M{left} {top}h.6v.6h-.6z"/>',
        '<path d="M{x} {y}h0" stroke="#000" stroke-width=".6" stroke-linecap="round"/>',
        '<line x1="{x}" y1="{y}" x2="{x}" y2="{y}" stroke="#000" stroke-linecap="round"/>',
        '<g transform="translate({x},{y})"><polygon points="-.3,0 0,.3 .3,0 0,-.3"/></g>',
    ],
)
def test_pins_may_be_drawn_as_any_dot(tmp_path: Path, shape: str) -> None:
    assert same(pins_mm(write(tmp_path, dots(shape))), PINS)


def test_all_pins_may_be_one_path(tmp_path: Path) -> None:
    data = "".join(f"M{x - 0.3} {y}a.3 .3 0 1 1 .6 0a.3 .3 0 1 1-.6 0z" for x, y in PINS)
    assert same(pins_mm(write(tmp_path, f'<path d="{data}"/>')), PINS)


@pytest.mark.parametrize(
    "wrapped",
    [
        '<g transform="translate(3 4)"><g transform="translate(-3,-4)">{}</g></g>',
        '<g transform="scale(2)"><g transform="matrix(.5 0 0 .5 0 0)">{}</g></g>',
        '<svg x="2" y="1" width="30" height="40"><g transform="translate(-2,-1)">{}</g></svg>',
        '<svg width="15" height="20" viewBox="0 0 15 20" overflow="visible">{}</svg>',
        "<a><switch><g>{}</g></switch></a>",
        '<defs><g id="all">{}</g></defs><use href="#all"/>',
        '<g transform="translate(1,1)"><use href="#all" x="-1" y="-1"/></g>'
        '<defs><g id="all">{}</g></defs>',
        '<symbol id="all" viewBox="0 0 30 40">{}</symbol><use href="#all" width="30" height="40"/>',
    ],
)
def test_groups_symbols_and_reuse_place_pins(tmp_path: Path, wrapped: str) -> None:
    assert same(pins_mm(write(tmp_path, wrapped.format(DOTS))), PINS)


def test_one_pin_may_be_reused_for_all(tmp_path: Path) -> None:
    uses = "".join(f'<use xlink:href="#pin" x="{x}" y="{y}"/>' for x, y in PINS)
    body = f'<defs><circle id="pin" r=".3"/></defs>{uses}'
    path = write(
        tmp_path,
        body,
        'width="30mm" height="40mm" viewBox="0 0 30 40" xmlns:xlink="http://www.w3.org/1999/xlink"',
    )
    assert same(pins_mm(path), PINS)


def test_a_turned_and_stretched_group_moves_its_pins(tmp_path: Path) -> None:
    body = f'<g transform="rotate(10 15 20) scale(1.1 .9)">{DOTS}</g>'
    turned = math.radians(10)
    scaled = PINS * (1.1, 0.9) - (15, 20)
    x = scaled[:, 0] * math.cos(turned) - scaled[:, 1] * math.sin(turned) + 15
    y = scaled[:, 0] * math.sin(turned) + scaled[:, 1] * math.cos(turned) + 20
    assert same(pins_mm(write(tmp_path, body)), np.column_stack([x, y]))


@pytest.mark.parametrize(
    ("size", "scale", "moved"),
    [
        ('width="60mm" height="80mm" viewBox="0 0 30 40"', 2, (0, 0)),
        ('width="3in" viewBox="0 0 30 40"', 76.2 / 30, (0, 0)),
        ('width="60mm" height="40mm" viewBox="0 0 30 40"', 1, (15, 0)),
        (
            'width="60mm" height="40mm" viewBox="0 0 30 40" preserveAspectRatio="xMinYMin"',
            1,
            (0, 0),
        ),
        (
            'width="60mm" height="40mm" viewBox="0 0 30 40" preserveAspectRatio="xMaxYMid slice"',
            2,
            (0, -20),
        ),
        ('width="30mm" height="40mm" viewBox="-2 3 30 40"', 1, (2, -3)),
    ],
)
def test_the_view_box_is_fitted_into_the_page(
    tmp_path: Path, size: str, scale: float, moved: tuple[float, float]
) -> None:
    assert same(pins_mm(write(tmp_path, DOTS, size)), PINS * scale + moved)


def test_a_page_stretched_on_purpose_stretches_its_pins(tmp_path: Path) -> None:
    size = 'width="45mm" height="40mm" viewBox="0 0 30 40" preserveAspectRatio="none"'
    assert same(pins_mm(write(tmp_path, DOTS, size)), PINS * (1.5, 1))


@pytest.mark.parametrize(
    "size", ['width="300" height="400" viewBox="0 0 30 40"', 'viewBox="0 0 30 40"', 'width="300px"']
)
def test_sizes_in_pixels_leave_the_scale_unknown(tmp_path: Path, size: str) -> None:
    drawing = read_drawing(write(tmp_path, DOTS, size))
    assert drawing.px_per_mm is None
    assert len(drawing.pins_px) == len(PINS)


@pytest.mark.parametrize(
    "hidden",
    [
        "<defs>{}</defs>",
        '<symbol id="s">{}</symbol>',
        '<clipPath id="c">{}</clipPath>',
        '<g display="none">{}</g>',
        '<g style="display:none">{}</g>',
        '<g visibility="hidden">{}</g>',
        '<g opacity="0">{}</g>',
        '<g fill="none">{}</g>',
        "<style>.away {{ display: none }}</style><g class='away'>{}</g>",
        "<metadata>{}</metadata>",
        '<g xmlns="urn:other">{}</g>',
    ],
)
def test_what_does_not_show_is_no_pin(tmp_path: Path, hidden: str) -> None:
    path = write(tmp_path, hidden.format(DOTS))
    assert read_drawing(path).pins_px.shape == (0, 2)


def test_a_few_large_circles_are_no_pins(tmp_path: Path) -> None:
    large = "".join(f'<circle cx="{8 * k}" cy="30" r="3"/>' for k in range(1, 4))
    assert same(pins_mm(write(tmp_path, DOTS + large)), PINS)


def test_frames_lines_and_words_are_no_pins(tmp_path: Path) -> None:
    body = DOTS + (
        '<rect width="30" height="40" fill="white"/><path d="M1 1L29 39" stroke="black"/>'
        '<path d="M5 5C9 9 12 3 15 15" fill="none" stroke="black"/><text x="2" y="39">12</text>'
    )
    assert same(pins_mm(write(tmp_path, body)), PINS)


def test_a_second_size_of_pin_counts(tmp_path: Path) -> None:
    picots = "".join(f'<circle cx="25" cy="{5 + 2 * k}" r=".55"/>' for k in range(5))
    assert len(pins_mm(write(tmp_path, DOTS + picots))) == len(PINS) + 5


def test_a_ringed_dot_is_one_pin(tmp_path: Path) -> None:
    ring = '<circle cx="{x}" cy="{y}" r=".6" fill="none" stroke="black"/>'
    assert same(pins_mm(write(tmp_path, DOTS + dots(ring))), PINS)


def test_a_drawing_without_pins_has_none(tmp_path: Path) -> None:
    assert read_drawing(write(tmp_path, "<g/>")).pins_px.shape == (0, 2)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("<svg", "breaks off"),
        ("<html/>", "no SVG"),
        ('<!DOCTYPE svg><svg xmlns="http://www.w3.org/2000/svg"/>', "document type"),
        ('<svg xmlns="http://www.w3.org/2000/svg" width="0" height="5"/>', "no size"),
        ('<svg xmlns="http://www.w3.org/2000/svg" width="9e8mm" height="5"/>', "larger"),
        ('<svg xmlns="http://www.w3.org/2000/svg" width="wide" height="5"/>', "not a length"),
    ],
)
def test_what_is_no_drawing_is_refused_with_its_reason(
    tmp_path: Path, content: str, reason: str
) -> None:
    path = tmp_path / "sheet.svg"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(UnreadableFile, match=reason):
        read_drawing(path)


def test_reuse_that_multiplies_itself_is_refused(tmp_path: Path) -> None:
    layers = "".join(
        f'<g id="l{k}">' + f'<use href="#l{k - 1}"/>' * 10 + "</g>" for k in range(1, 9)
    )
    path = write(tmp_path, f'<g id="l0"><circle r="1"/></g>{layers}')
    with pytest.raises(UnreadableFile, match="reused"):
        read_drawing(path)


def test_reuse_that_draws_itself_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, '<g id="own"><use href="#own"/></g>')
    with pytest.raises(UnreadableFile, match="reuses parts of itself"):
        read_drawing(path)


def test_deep_nesting_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path, "<g>" * 5000 + "</g>" * 5000)
    with pytest.raises(UnreadableFile, match="deep"):
        read_drawing(path)


@pytest.mark.parametrize(
    "line",
    [
        '<circle cx="9" cy="11" r="1.8" fill="none" stroke="black"/>',
        '<path d="M7 9 H11 V13 H7 Z" fill="none" stroke="black"/>',
    ],
)
def test_closed_lines_wider_than_a_mesh_are_kept_beside_the_pins(tmp_path: Path, line: str) -> None:
    drawing = read_drawing(write(tmp_path, DOTS + line))
    assert same(drawing.pins_px / PX_PER_MM, PINS)
    (outline,) = drawing.outlines_px
    assert outline.mean(axis=0) / PX_PER_MM == pytest.approx([9, 11], abs=0.01)
