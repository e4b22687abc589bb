"""Test scans whose holes are known: invented prickings, drawn and then spoilt.

A `Drawing` says where the holes, lines and words of a sheet lie in millimetres; a `Look` says
how it was marked, on what, and how badly it was scanned; `draw` makes the grey picture and
tells where each hole's centre came to lie. Everything random comes from the generator given.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from scipy import ndimage
from scipy.spatial import cKDTree

Points = NDArray[np.float64]
Mark = Literal["dot", "ring", "cross", "pricked"]

MM_PER_INCH = 25.4


@dataclass(frozen=True)
class Curve:
    """A drawn line: (n, 2) points in mm, its width in mm and how black it is, 0 to 1."""

    points_mm: Points
    width_mm: float
    ink: float


@dataclass(frozen=True)
class Word:
    """A number or word, its middle and height in mm and how black it is, 0 to 1."""

    text: str
    middle_mm: tuple[float, float]
    height_mm: float
    ink: float


@dataclass(frozen=True)
class Drawing:
    """Where everything on a sheet lies, in mm from its top left corner, y down."""

    size_mm: tuple[float, float]
    holes_mm: Points
    curves: tuple[Curve, ...] = ()
    words: tuple[Word, ...] = ()


@dataclass(frozen=True)
class Look:
    """How a drawing is marked and scanned.

    Attributes:
        dpi: Resolution of the scan.
        mark: What shows a hole: a printed dot, ring or cross, or a pricked hole whose one edge
            catches the light.
        radius_mm: Half the mark's width.
        paper: Grey of the sheet, 0 to 1; below 0.5 the marks are light.
        contrast: Difference between sheet and full ink.
        turn_deg: How far the sheet lay turned on the glass.
        blur_mm: Standard deviation of the scanner's blur.
        noise: Standard deviation of the scanner's noise.
        specks: Dirt specks per square centimetre.
        stains: Number of stains.
        bilevel: Whether it is a photocopy without greys.
        jpeg_quality: None for a file without loss.
    """

    dpi: float = 300.0
    mark: Mark = "dot"
    radius_mm: float = 0.25
    paper: float = 0.93
    contrast: float = 0.8
    turn_deg: float = 0.0
    blur_mm: float = 0.04
    noise: float = 0.01
    specks: float = 0.0
    stains: int = 0
    bilevel: bool = False
    jpeg_quality: int | None = None


@dataclass(frozen=True)
class Rendered:
    """A test scan and the truth about it: (n, 2) hole centres as (x, y) in px."""

    grey: NDArray[np.float32]
    positions_px: Points
    px_per_mm: float


# ------------------------------------------------------------------ what lies on a sheet


def net(width_mm: float, length_mm: float, pitch_mm: float, angle_deg: float) -> Points:
    """A full net: pitch along the columns, ground lines at the angle from them."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    columns = np.arange(int(width_mm / column_mm) + 1)
    rows = np.arange(int(length_mm / pitch_mm) + 1)
    across, down = np.meshgrid(columns, rows)
    points = np.stack([across * column_mm, (down + across % 2 / 2) * pitch_mm], axis=-1)
    return points.reshape(-1, 2)


def honeycomb_gaps(holes_mm: Points, pitch_mm: float, angle_deg: float) -> NDArray[np.bool_]:
    """Which points of `net` a honeycomb net leaves out: one in four."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    column = np.rint(holes_mm[:, 0] / column_mm).astype(int)
    half_row = np.rint(2 * holes_mm[:, 1] / pitch_mm).astype(int)
    first, second = (half_row + column) // 2, (half_row - column) // 2
    return (first % 2 == 0) & (second % 2 == 0)


def edging(rng: Generator, length_mm: float, pitch_mm: float, angle_deg: float) -> Drawing:
    """A strip with a foot, scallops with picots, gimps round honeycomb and open figures."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    repeat_mm = pitch_mm * int(rng.integers(8, 15))
    depth_mm, width_mm = rng.uniform(1.5, 4) * pitch_mm, column_mm * int(rng.integers(12, 26))

    def head_mm(y: Points) -> Points:
        return depth_mm * (1 - np.abs(np.sin(np.pi * y / repeat_mm)))

    holes = net(width_mm, length_mm, pitch_mm, angle_deg)
    gaps = honeycomb_gaps(holes, pitch_mm, angle_deg)
    keep = holes[:, 0] > head_mm(holes[:, 1]) + 1.2 * pitch_mm
    curves, words = [], []
    radius_mm = min(0.3 * repeat_mm, 0.3 * width_mm)
    middle_x = depth_mm + (width_mm - depth_mm) * rng.uniform(0.4, 0.6)
    round_about = np.linspace(0, 2 * np.pi, 60)
    gimp_mm, gimp_ink = rng.uniform(0.25, 0.7), rng.uniform(0.6, 1.0)
    open_middle = bool(rng.integers(2))
    for y in np.arange(repeat_mm / 2, length_mm, repeat_mm):
        middle = np.array([middle_x, y])
        far = np.hypot(*(holes - middle).T)
        keep &= ~((far < radius_mm) & gaps)
        if open_middle:
            keep &= far > 0.45 * radius_mm
        ring = middle + radius_mm * np.stack([np.cos(round_about), np.sin(round_about)], axis=1)
        curves.append(Curve(ring, gimp_mm, gimp_ink))
    down = np.arange(0, length_mm, 0.5)
    edge = np.stack([head_mm(down) + 0.8 * pitch_mm, down], axis=1)
    curves.append(Curve(edge, gimp_mm, gimp_ink))
    fine = np.stack([head_mm(np.arange(0, length_mm, 0.05)), np.arange(0, length_mm, 0.05)], axis=1)
    steps = np.cumsum(np.hypot(*np.diff(fine, axis=0).T))
    picots = fine[np.searchsorted(steps, np.arange(0, steps[-1], 0.85 * pitch_mm))]
    foot_x = (np.rint(width_mm / column_mm) + 1.7) * column_mm
    foot_y = np.arange(0, length_mm, pitch_mm) + pitch_mm * rng.choice([0.25, 0.5])
    foot = np.stack([np.full_like(foot_y, foot_x), foot_y], axis=1)
    holes = np.concatenate([foot, picots, holes[keep]])
    holes = _no_two_within(holes[holes[:, 1] <= length_mm], 0.55 * pitch_mm)
    for _ in range(int(rng.integers(0, 4))):
        ends = rng.uniform([0, 0], [foot_x, length_mm], (2, 2))
        curves.append(Curve(ends, rng.uniform(0.1, 0.25), rng.uniform(0.2, 0.5)))
    for number in range(int(rng.integers(0, 25))):
        x, y = holes[rng.integers(len(holes))] + [0.9, 0.9]
        words.append(Word(str(number + 1), (x, y), rng.uniform(1.2, 2.2), rng.uniform(0.5, 1)))
    return Drawing((foot_x, length_mm), holes, tuple(curves), tuple(words))


def _no_two_within(points: Points, gap: float) -> Points:
    """The points without the later one of each pair that lies too close."""
    pairs = cKDTree(points).query_pairs(gap, output_type="ndarray")
    return np.delete(points, np.unique(pairs.max(axis=1, initial=0)) if len(pairs) else [], axis=0)


def sheet(rng: Generator, pitch_mm: float, angle_deg: float) -> Drawing:
    """An A4 sheet with as many strips as fit, a title, a scale and loose remarks."""
    width_mm, height_mm, margin_mm = 210.0, 297.0, 18.0
    holes, curves, words, x = [], [], [], margin_mm
    while True:
        strip = edging(rng, rng.uniform(150, 235), pitch_mm, angle_deg)
        if x + strip.size_mm[0] > width_mm - margin_mm and holes:
            break
        shift = np.array([x, rng.uniform(28, 36)])
        fits = strip.holes_mm[:, 0] + x < width_mm - 6
        holes.append(strip.holes_mm[fits] + shift)
        curves += [replace(curve, points_mm=curve.points_mm + shift) for curve in strip.curves]
        words += [
            replace(word, middle_mm=(word.middle_mm[0] + shift[0], word.middle_mm[1] + shift[1]))
            for word in strip.words
        ]
        x += strip.size_mm[0] + rng.uniform(8, 14)
        if rng.random() < 0.3:
            break
    ink = rng.uniform(0.6, 1.0)
    words.append(Word("Edging with rings, No. 17 (20 pairs)", (80.0, 16.0), 4.0, ink))
    words.append(Word("foot . . . head : turn here i", (120.0, 280.0), 3.0, ink))
    border = np.array([[8, 8], [202, 8], [202, 289], [8, 289], [8, 8]], dtype=float)
    if rng.random() < 0.5:
        curves.append(Curve(border, 0.3, ink))
    return Drawing((width_mm, height_mm), np.concatenate(holes), tuple(curves), tuple(words))


def random_look(rng: Generator, dpi: float, pitch_mm: float) -> Look:
    """A mark, a ground and scanning faults as they come in a guild's box."""
    kind = rng.choice(["paper", "paper", "card", "blueprint", "photocopy"])
    mark: Mark = "pricked" if kind == "card" else rng.choice(["dot", "dot", "dot", "ring", "cross"])
    radius_mm = min(rng.uniform(0.17, 0.32), 0.22 * pitch_mm)
    if mark in ("ring", "cross"):
        radius_mm = min(1.4 * radius_mm, 0.24 * pitch_mm)
    paper = {"paper": 0.93, "card": 0.55, "blueprint": 0.25, "photocopy": 0.95}[str(kind)]
    contrast = {"paper": 0.8, "card": 0.4, "blueprint": 0.6, "photocopy": 0.9}[str(kind)]
    return Look(
        dpi=dpi,
        mark=mark,
        radius_mm=radius_mm,
        paper=paper + rng.uniform(-0.05, 0.05),
        contrast=contrast * rng.uniform(0.7, 1.0),
        turn_deg=rng.uniform(-5, 5),
        blur_mm=rng.uniform(0.03, 0.09),
        noise=rng.uniform(0.005, 0.03),
        specks=rng.uniform(0, 1.0) if rng.random() < 0.6 else 0.0,
        stains=int(rng.integers(0, 5)),
        bilevel=kind == "photocopy",
        jpeg_quality=70 if rng.random() < 0.5 else None,
    )


# ------------------------------------------------------------------ how it is scanned


def draw(drawing: Drawing, look: Look, rng: Generator, *, jitter_mm: float = 0.04) -> Rendered:
    """The drawing is marked and scanned as the look says; the truth comes with it."""
    px_per_mm = look.dpi / MM_PER_INCH
    turned = _turned(drawing, look.turn_deg)
    shape = tuple(round(side * px_per_mm) for side in reversed(drawing.size_mm))
    jittered = turned.holes_mm + rng.normal(0, jitter_mm, turned.holes_mm.shape)
    positions_px = jittered * px_per_mm - 0.5
    ink = _lines_and_words(turned, shape, px_per_mm)
    positions_px = positions_px[~_hidden(ink, positions_px, look.radius_mm * px_per_mm)]
    grey = _sheet_of_paper(look, shape, rng)
    darker = -look.contrast if look.paper >= 0.5 else look.contrast
    glow = np.zeros(shape, dtype=np.float32)
    for x, y in positions_px:
        radius_px = look.radius_mm * px_per_mm
        if look.mark == "pricked":
            radius_px *= rng.uniform(0.85, 1.15)
            _stamp(glow, x - 0.45 * radius_px, y - 0.45 * radius_px, radius_px * 1.1, "dot", 1.0)
        _stamp(ink, x, y, radius_px, look.mark, 1.0)
    _add_specks(ink, look, px_per_mm, rng)
    grey += 0.25 * glow * (1 - ink) + darker * ink
    blur_px = look.blur_mm * px_per_mm
    grey = ndimage.gaussian_filter(grey, blur_px, truncate=3)
    grey += rng.normal(0, look.noise, shape).astype(np.float32)
    if look.bilevel:
        middle = look.paper + darker / 2
        grey = np.where(grey > middle, np.float32(0.98), np.float32(0.03))
    grey = np.clip(grey, 0, 1)
    if look.jpeg_quality is not None:
        grey = _through_jpeg(grey, look.jpeg_quality)
    return Rendered(grey.astype(np.float32), positions_px, px_per_mm)


def _hidden(ink: NDArray[np.float32], positions_px: Points, radius_px: float) -> NDArray[np.bool_]:
    """Which marks a dark line covers so far that nobody could see them."""
    covered = ndimage.uniform_filter(ink, 2 * round(0.8 * radius_px) + 1)
    columns, rows = np.rint(positions_px).astype(int).T
    return covered[rows, columns] > 0.75


def _turned(drawing: Drawing, turn_deg: float) -> Drawing:
    """The drawing turned about the middle of its sheet; what leaves the sheet is dropped."""
    middle = np.array(drawing.size_mm) / 2
    cos, sin = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turn = np.array([[cos, -sin], [sin, cos]])

    def about(points: Points) -> Points:
        return (points - middle) @ turn.T + middle

    holes = about(drawing.holes_mm)
    inside = np.all((holes > 1.0) & (holes < np.array(drawing.size_mm) - 1.0), axis=1)
    words = []
    for word in drawing.words:
        x, y = about(np.array([word.middle_mm]))[0]
        words.append(replace(word, middle_mm=(float(x), float(y))))
    curves = tuple(replace(curve, points_mm=about(curve.points_mm)) for curve in drawing.curves)
    return replace(drawing, holes_mm=holes[inside], curves=curves, words=tuple(words))


def _lines_and_words(
    drawing: Drawing, shape: tuple[int, ...], px_per_mm: float
) -> NDArray[np.float32]:
    """(rows, columns) ink from 0 to 1, smoothed by drawing at twice the resolution."""
    canvas = Image.new("L", (shape[1] * 2, shape[0] * 2))
    pen = ImageDraw.Draw(canvas)
    scale = 2 * px_per_mm
    for curve in drawing.curves:
        width = max(1, round(curve.width_mm * scale))
        path = [(float(x), float(y)) for x, y in curve.points_mm * scale]
        pen.line(path, fill=round(255 * curve.ink), width=width, joint="curve")
    for word in drawing.words:
        font = ImageFont.load_default(size=max(4.0, word.height_mm * scale))
        middle = (word.middle_mm[0] * scale, word.middle_mm[1] * scale)
        pen.text(middle, word.text, fill=round(255 * word.ink), font=font, anchor="mm")
    return np.asarray(canvas.reduce(2), dtype=np.float32) / np.float32(255)


def _sheet_of_paper(look: Look, shape: tuple[int, ...], rng: Generator) -> NDArray[np.float32]:
    """(rows, columns) the empty sheet: fibres, uneven light and stains."""
    rows, columns = shape
    coarse = rng.normal(0, 1, (rows // 24 + 2, columns // 24 + 2)).astype(np.float32)
    cloud = Image.fromarray(coarse).resize((columns, rows), Image.Resampling.BICUBIC)
    grey = np.float32(look.paper) + np.float32(0.012) * np.asarray(cloud)
    down, across = np.mgrid[-1:1:16j, -1:1:16j]
    light = rng.uniform(-0.05, 0.05) * across + rng.uniform(-0.05, 0.05) * down
    for _ in range(look.stains):
        x, y = rng.uniform(-1, 1, 2)
        far = np.hypot(across - x, down - y) / rng.uniform(0.15, 0.5)
        light -= rng.uniform(0.03, 0.15) * look.paper / (1 + far**6)
    light_image = Image.fromarray(light.astype(np.float32))
    light_image = light_image.resize((columns, rows), Image.Resampling.BICUBIC)
    return grey + np.asarray(light_image)


def _stamp(
    layer: NDArray[np.float32], x: float, y: float, radius: float, mark: Mark, ink: float
) -> None:
    """Put one mark on the layer, its edges shared among pixels by the area covered."""
    reach = int(radius) + 3
    left, top = round(x) - reach, round(y) - reach
    rows = slice(max(top, 0), max(min(top + 2 * reach + 1, layer.shape[0]), 0))
    columns = slice(max(left, 0), max(min(left + 2 * reach + 1, layer.shape[1]), 0))
    down = np.arange(rows.start, rows.stop)[:, None] - y
    across = np.arange(columns.start, columns.stop)[None, :] - x
    far = np.hypot(across, down)
    covered = np.clip(radius + 0.5 - far, 0, 1)
    if mark == "ring":
        covered *= np.clip(far - 0.6 * radius + 0.5, 0, 1)
    elif mark == "cross":
        half = max(0.17 * radius, 0.5)
        near = np.minimum(np.abs(across + down), np.abs(across - down)) / np.sqrt(2)
        covered *= np.clip(half + 0.5 - near, 0, 1)
    layer[rows, columns] = np.maximum(layer[rows, columns], ink * covered)


def _add_specks(ink: NDArray[np.float32], look: Look, px_per_mm: float, rng: Generator) -> None:
    """Dirt: mostly smaller than a hole, some as large."""
    area_cm2 = ink.size / (10 * px_per_mm) ** 2
    for _ in range(rng.poisson(look.specks * area_cm2)):
        x, y = rng.uniform(0, ink.shape[1]), rng.uniform(0, ink.shape[0])
        radius_px = px_per_mm * min(rng.lognormal(np.log(0.09), 0.5), 0.35)
        _stamp(ink, x, y, radius_px, "dot", rng.uniform(0.3, 1))


def _through_jpeg(grey: NDArray[np.float32], quality: int) -> NDArray[np.float32]:
    """The picture saved as JPEG and read again."""
    buffer = io.BytesIO()
    Image.fromarray((grey * 255).round().astype(np.uint8)).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer), dtype=np.float32) / np.float32(255)
