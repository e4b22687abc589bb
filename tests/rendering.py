"""Test scans whose holes are known: drawings marked on a sheet, scanned and spoilt.

A `Look` says how a drawing is marked, on what, and how badly it is scanned; `draw` makes the
grey picture and tells where each hole's centre came to lie. Everything random comes from the
generator given.
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

from tests.designs import Drawing, Points

Mark = Literal["dot", "ring", "cross", "pricked"]

MM_PER_INCH = 25.4


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
        left = _copied_share(grey < middle, positions_px, look.radius_mm * px_per_mm, look.mark)
        positions_px = positions_px[left > 0.1]
    grey = np.clip(grey, 0, 1)
    if look.jpeg_quality is not None:
        grey = _through_jpeg(grey, look.jpeg_quality)
    return Rendered(grey.astype(np.float32), positions_px, px_per_mm)


def _hidden(ink: NDArray[np.float32], positions_px: Points, radius_px: float) -> NDArray[np.bool_]:
    """Which marks a dark line covers so far that nobody could see them."""
    covered = ndimage.uniform_filter(ink, 2 * round(0.8 * radius_px) + 1)
    columns, rows = np.rint(positions_px).astype(int).T
    return covered[rows, columns] > 0.75


def _copied_share(
    ink: NDArray[np.bool_], positions_px: Points, radius_px: float, mark: Mark
) -> NDArray[np.float64]:
    """(n,) the ink a photocopy has at each mark, as a share of what was drawn there.

    Of thin rings and crosses, blurred, a copy without greys can leave nothing: no hole to be found.
    """
    side = 2 * round(radius_px) + 3
    drawn = np.zeros((side, side), dtype=np.float32)
    _stamp(drawn, side // 2, side // 2, radius_px, mark, 1.0)
    copied = ndimage.uniform_filter(ink.astype(np.float32), side) * side**2
    columns, rows = np.rint(positions_px).astype(int).T
    return np.asarray(copied[rows, columns] / drawn.sum(), dtype=np.float64)


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
    left, top = round(float(x)) - reach, round(float(y)) - reach
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


def matched(found_px: Points, truth_px: Points, within_px: float) -> NDArray[np.intp]:
    """(n, 2) numbers of a found and a true hole that are each other's nearest, and near."""
    if not len(found_px) or not len(truth_px):
        return np.empty((0, 2), dtype=np.intp)
    apart, theirs = cKDTree(truth_px).query(found_px)
    nearest_found = cKDTree(found_px).query(truth_px)[1]
    number = np.arange(len(found_px))
    mutual = (nearest_found[theirs] == number) & (apart <= within_px)
    return np.stack([number[mutual], theirs[mutual]], axis=1)


def engraved(holes_px: Points, rng: Generator) -> NDArray[np.float32]:
    """A plate as old handbooks engraved it, so coarsely scanned that a hole is four pixels wide.

    Ruled with fine waving lines, the holes dark with a light rim, most of them with a number.
    """
    columns, rows = (int(side) for side in holes_px.max(axis=0) + 22)
    down, across = np.mgrid[0:rows, 0:columns].astype(np.float64)
    wave = sum(
        0.4 * np.sin(across / rng.uniform(15, 50) + down / 90 + rng.uniform(0, 6)) for _ in range(3)
    )
    grey = 0.55 + 0.25 * np.sin((down + wave) * 2 * np.pi / 3.3)
    rim = np.zeros((rows, columns), dtype=np.float32)
    ink = np.zeros((rows, columns), dtype=np.float32)
    for x, y in holes_px:
        _stamp(rim, x, y, 3.2, "dot", 1.0)
        _stamp(ink, x, y, rng.uniform(1.8, 2.3), "dot", 1.0)
    numbers = Image.new("L", (columns * 4, rows * 4))
    pen, font = ImageDraw.Draw(numbers), ImageFont.load_default(size=44)
    for number, (x, y) in enumerate(holes_px):
        if rng.random() < 0.7:
            place = (4 * x + rng.uniform(-6, 6), 4 * y + 34)
            pen.text(place, str(number + 1), fill=255, font=font, anchor="mm")
    digits = np.asarray(numbers.reduce(4), dtype=np.float32) / np.float32(255)
    rim = np.maximum(rim, np.clip(2 * ndimage.gaussian_filter(digits, 1.0), 0, 1))
    grey += 0.8 * rim * (0.85 - grey)
    grey += np.maximum(ink, digits) * (0.12 - grey)
    grey = ndimage.gaussian_filter(grey, 0.5) + rng.normal(0, 0.05, grey.shape)
    return _through_jpeg(np.clip(grey, 0, 1).astype(np.float32), 75)
