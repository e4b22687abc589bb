"""The overlay shows what was found, over the sheet, for every eye."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from archive.errors import StorageError, UsageError
from archive.geometry import draw_overlay, measure, measure_points
from archive.geometry.overlay.canvas import Canvas, Stroke
from archive.geometry.overlay.symbols import DOUBT, FOOT, LINES, PIN, REPEAT, RING, TINTS
from archive.records.byhand import make_by_hand
from tests.strategies_geometry import ground_patch, turned_corner

SVG = "{http://www.w3.org/2000/svg}"
PITCH = 2.0
WIDTH = PITCH * np.tan(np.deg2rad(58)) / 2


def sheet(folder: Path) -> Path:
    """A drawing with a footside, a figure every six rows, one pin missing and one too many."""
    ground = ground_patch(58, PITCH, 9, 30)
    half_row = np.rint(ground[:, 1]).astype(int) % 12
    column = np.rint(ground[:, 0] / WIDTH).astype(int)
    ground = ground[np.abs(column - 4) + np.abs(half_row - 6) > 2]
    foot = np.column_stack([np.full(30, -1.6 * WIDTH), np.arange(30) * PITCH + 1])
    points = np.concatenate([ground, foot, [(6.5 * WIDTH, 20.4)]])
    gone = np.hypot(*(points - (7 * WIDTH, 35)).T).argmin()
    points = np.delete(points, gone, axis=0) + 8
    path = folder / "sheet.svg"
    dots = "".join(f'<circle cx="{x}" cy="{y}" r=".3"/>' for x, y in points)
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="35mm" height="76mm" '
        f'viewBox="0 0 35 76">{dots}</svg>',
        encoding="utf-8",
    )
    return path


def overlay(folder: Path, name: str = "overlay.svg") -> Path:
    path = sheet(folder)
    draw_overlay(path, measure(path), folder / name)
    return folder / name


def test_every_pin_is_ringed_and_every_doubt_is_marked(tmp_path: Path) -> None:
    found = measure(sheet(tmp_path))
    root = ET.parse(overlay(tmp_path)).getroot()
    rings = [one for one in root.iter(SVG + "circle") if one.get("stroke") == PIN]
    assert len(rings) == found.pins.count + 1  # and one in the legend
    marks = [one for one in root.iter() if one.get("stroke") == DOUBT]
    assert sorted(doubt.kind for doubt in found.doubts) == ["extra", "missing"]
    diamonds = [one for one in marks if one.tag == SVG + "polygon"]
    crosses = [one for one in marks if one.tag == SVG + "polyline"]
    assert (len(diamonds), len(crosses)) == (2, 4)  # on the sheet and in the legend


def drawn(path: Path) -> tuple[ET.Element, list[str | None]]:
    """The overlay of a sheet, and the words on it."""
    draw_overlay(path, measure(path), path.with_name("overlay.svg"))
    root = ET.parse(path.with_name("overlay.svg")).getroot()
    return root, [one.text for one in root.iter(SVG + "text")]


def circles(root: ET.Element, colour: str) -> list[tuple[float, float, float]]:
    return [
        (float(one.get("cx", "")), float(one.get("cy", "")), float(one.get("r", "")))
        for one in root.iter(SVG + "circle")
        if one.get("stroke") == colour
    ]


def test_a_wide_circle_leads_the_eye_to_every_doubt(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    root, _ = drawn(path)
    places = [(round(x, 1), round(y, 1)) for x, y, _ in circles(root, DOUBT)]
    doubts = measure(path).doubts
    assert places == [(round(doubt.x_px, 1), round(doubt.y_px, 1)) for doubt in doubts]


def test_rings_are_circled_with_a_tick_for_each_of_their_pins(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    four = np.array([(6, 50), (7, 51), (5, 51), (6, 52)]) * (WIDTH, PITCH / 2) + 8
    middle = four.mean(axis=0)
    x, y = middle
    gimp = f'<ellipse cx="{x}" cy="{y}" rx="{1.3 * WIDTH}" ry="1.4" fill="none" stroke="#000"/>'
    path.write_text(
        path.read_text(encoding="utf-8").replace("</svg>", f"{gimp}</svg>"), encoding="utf-8"
    )
    root, words = drawn(path)
    assert "rings of four pins: 1" in words
    px_per_mm = measure(path).scale.px_per_mm
    assert px_per_mm is not None
    (x, y, radius), _ = circles(root, RING)  # and one in the legend
    assert (x, y) == pytest.approx(tuple(middle * px_per_mm), abs=0.1)
    assert radius > np.hypot(*(four - middle).T).max() * px_per_mm
    ticks = [one for one in root.iter(SVG + "polyline") if one.get("stroke") == RING]
    assert len(ticks) == 2 * 4


def dots(folder: Path, points: np.ndarray) -> Path:
    points = points - points.min(axis=0) + 8
    width, height = points.max(axis=0) + 8
    path = folder / "dots.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">'
        + "".join(f'<circle cx="{x}" cy="{y}" r=".3"/>' for x, y in points)
        + "</svg>",
        encoding="utf-8",
    )
    return path


def test_the_mitre_of_a_corner_is_drawn(tmp_path: Path) -> None:
    lace, turning = turned_corner(55.0, PITCH)
    root, words = drawn(dots(tmp_path, lace))
    assert "corner: the mitre" in words
    mitre = next(
        np.array([place.split(",") for place in str(one.get("points")).split()], dtype=float)
        for one in root.iter(SVG + "polyline")
        if one.get("stroke") == FOOT and one.get("stroke-dasharray")
    )
    slope = np.diff(mitre, axis=0)[0]
    assert slope[1] / -slope[0] == pytest.approx(1, abs=0.01)
    placed = (turning - lace.min(axis=0) + 8) * 96 / 25.4
    across = np.cross(np.append(slope, 0), np.column_stack([placed - mitre[0], np.zeros(9)]))
    assert np.abs(across[:, 2]).max() / np.hypot(*slope) < 1


def test_the_parts_of_a_round_are_drawn(tmp_path: Path) -> None:
    turns = np.arange(60) * (2 * np.pi / 60)
    petals = 20 + 3 * np.abs(np.cos(3 * turns))
    pins = np.concatenate(
        [
            radius[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
            for radius in (petals, petals - 4)
        ]
    )
    root, words = drawn(dots(tmp_path, pins))
    assert "6 like parts, 20 pins each" in words
    spokes = [one for one in root.iter(SVG + "polyline") if one.get("stroke") == REPEAT]
    assert len(spokes) == 6 + 1  # and one in the legend


def test_lattice_footside_repeat_and_areas_are_drawn(tmp_path: Path) -> None:
    root = ET.parse(overlay(tmp_path)).getroot()
    strokes = [one.get("stroke") for one in root.iter()]
    assert strokes.count(LINES) > 300
    assert strokes.count(FOOT) > 30
    assert strokes.count(REPEAT) == 5 + 1 + 1
    fills = [one.get("fill") for one in root.iter(SVG + "path")]
    assert {TINTS["full net"], TINTS["open"]} <= set(fills)


def test_the_legend_tells_the_figures_in_words(tmp_path: Path) -> None:
    words = [one.text for one in ET.parse(overlay(tmp_path)).getroot().iter(SVG + "text")]
    assert "ground at 58.0° from the footside" in words
    assert "footside: left, 2.00 mm a pin" in words
    assert "repeat: 6 rows, 12.00 mm" in words
    assert "1 perhaps missing" in words
    assert "1 perhaps one too many" in words
    assert any(text and "estimated" in text for text in words)
    assert any(text and re.fullmatch(r"\d+ mm", text) for text in words)


def test_the_overlay_needs_no_other_file_and_says_what_it_is(tmp_path: Path) -> None:
    text = overlay(tmp_path).read_text(encoding="utf-8")
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "<title>Measured pricking:" in text
    assert 'role="img"' in text


def test_the_same_sheet_gives_the_same_overlay(tmp_path: Path) -> None:
    first = overlay(tmp_path, "one.svg").read_bytes()
    assert overlay(tmp_path, "two.svg").read_bytes() == first


def test_a_png_shows_the_same_marks(tmp_path: Path) -> None:
    with Image.open(overlay(tmp_path, "overlay.png")) as picture:
        assert picture.format == "PNG"
        counted = {
            colour: count for count, colour in picture.convert("RGB").getcolors(1 << 24) or []
        }
    for colour in (PIN, FOOT, DOUBT, REPEAT):
        assert counted.get(tuple(rgb(colour).tolist()), 0) > 20, colour


def test_a_scan_lies_under_its_marks(tmp_path: Path) -> None:
    grey = np.full((400, 300), 255, dtype=np.uint8)
    row, column = np.indices(grey.shape)
    for x, y in ground_patch(45, 24.0, 18, 12) + 30:
        grey[(row - y) ** 2 + (column - x) ** 2 < 9] = 20
    path = tmp_path / "scan.png"
    Image.fromarray(grey).save(path)
    draw_overlay(path, measure(path), tmp_path / "overlay.svg")
    root = ET.parse(tmp_path / "overlay.svg").getroot()
    (image,) = root.iter(SVG + "image")
    assert (image.get("width"), image.get("height")) == ("300", "400")
    assert (image.get("href") or "").startswith("data:image/jpeg;base64,")


def test_an_unknown_scale_is_said(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    text = path.read_text(encoding="utf-8").replace("35mm", "350").replace("76mm", "760")
    path.write_text(text, encoding="utf-8")
    draw_overlay(path, measure(path), tmp_path / "overlay.svg")
    assert "scale unknown" in (tmp_path / "overlay.svg").read_text(encoding="utf-8")


def test_only_svg_and_png_are_written(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    with pytest.raises(UsageError, match=r"overlay\.pdf"):
        draw_overlay(path, measure(path), tmp_path / "overlay.pdf")
    with pytest.raises(UsageError):
        draw_overlay(path, measure_points([]), tmp_path / "overlay.svg")
    with pytest.raises(StorageError):
        draw_overlay(path, measure(path), tmp_path / "nowhere" / "overlay.svg")


def test_words_are_escaped() -> None:
    canvas = Canvas(10, 10, None, 'a <b> & "c"')
    canvas.words((1, 1), "<script>", size=1, colour="#000000")
    canvas.line([(0, 0), (1, 1)], Stroke(line="#000000"))
    root = ET.fromstring(canvas.svg())
    assert root.findtext(SVG + "title") == 'a <b> & "c"'
    assert root.findtext(SVG + "text") == "<script>"


def rgb(colour: str) -> np.ndarray:
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)])


LINEAR_TO_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
DICHROMATS = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                   [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                     [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
                   [0.004733, 0.691367, 0.303900]],
}  # fmt: skip


def lab(linear: np.ndarray) -> np.ndarray:
    xyz = LINEAR_TO_XYZ @ np.clip(linear, 0, 1) / (0.9505, 1.0, 1.089)
    root = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


@pytest.mark.parametrize("sight", ["normal", *DICHROMATS])
def test_marks_are_told_apart_by_every_eye(sight: str) -> None:
    """Colour distances as three kinds of colour-blind readers see them; 2.3 is just noticeable.

    Source: Machado, Oliveira and Fernandes 2009, severity 1.0, on linear sRGB; distance of
    CIE 1976.
    """
    matrix = np.array(DICHROMATS.get(sight, np.eye(3)))
    seen = {
        colour: lab(matrix @ ((rgb(colour) / 255) ** 2.2))
        for colour in (PIN, FOOT, REPEAT, DOUBT, RING)
    }
    for one, other in combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[other]) > 12, (one, other)


def test_what_is_said_by_hand_is_drawn_as_such(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    found = measure(path)
    x, y = found.pins.positions_px[0]
    extra = next(doubt for doubt in found.doubts if doubt.kind == "extra")
    said = make_by_hand(
        holes=[f"{x},{y} px", "20,270 px"],
        no_holes=[f"{extra.x_px},{extra.y_px} px"],
        foot="right",
    )
    draw_overlay(path, measure(path, by_hand=said), tmp_path / "overlay.svg")
    root = ET.parse(tmp_path / "overlay.svg").getroot()
    words = [one.text for one in root.iter(SVG + "text")]
    assert "2 by hand: a hole" in words
    assert "1 by hand: no hole" in words
    feet = [one for one in root.iter(SVG + "polyline") if one.get("stroke") == FOOT]
    longest = max(feet, key=lambda line: len(str(line.get("points"))))
    across = float(str(longest.get("points")).split()[0].split(",")[0])
    assert across > np.mean([place[0] for place in found.pins.positions_px])


def test_a_mark_that_was_said_otherwise_later_is_not_drawn(tmp_path: Path) -> None:
    path = sheet(tmp_path)
    said = make_by_hand(holes=["20,270 px"]).then(make_by_hand(no_holes=["20,270 px"]))
    draw_overlay(path, measure(path, by_hand=said), tmp_path / "overlay.svg")
    words = [one.text for one in ET.parse(tmp_path / "overlay.svg").getroot().iter(SVG + "text")]
    assert "1 by hand: no hole" in words
    assert "1 by hand: a hole" not in words
