"""A sheet as a scan at 300 dots per inch, with the faults of its paper.

Holes and lines are set down directly in pixels, as the share of each pixel they cover, so
that their places are exact. Pixel centres lie at whole numbers.
"""

from __future__ import annotations

import io
import math
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from archive.resolution import MM_PER_INCH
from demo_collection.drawing.canvas import LineRole, Points
from demo_collection.drawing.curves import flattened
from demo_collection.drawing.sheet import LaidOut

DPI = 300
PX_PER_MM = DPI / MM_PER_INCH

Plane = NDArray[np.float64]
"""Shape (height, width), or (height, width, 3) for colours 0-255."""

_PAPERS = {
    "white": ((250.0, 250.0, 248.0), (38.0, 34.0, 34.0), 1.2),
    "cream": ((240.0, 230.0, 205.0), (60.0, 44.0, 36.0), 3.0),
    "brown card": ((190.0, 156.0, 112.0), (56.0, 34.0, 22.0), 5.0),
    "photocopy": ((244.0, 244.0, 244.0), (24.0, 24.0, 24.0), 0.0),
}
"""Colour of paper, of ink, and how uneven the paper is."""
_THICK_MM: dict[LineRole, float] = {
    "gimp": 0.34,
    "plait": 0.26,
    "leaf": 0.22,
    "tally": 0.24,
    "sewing": 0.2,
    "working": 0.12,
    "fringe": 0.2,
    "ruler": 0.15,
}
_FAINT: tuple[LineRole, ...] = ("working", "fringe", "ruler")


def scan(sheet: LaidOut) -> bytes:
    """The sheet as the bytes of a JPEG or PNG file."""
    style = sheet.recipe.sheet
    random = np.random.default_rng(style.seed)
    width, height = size_px(sheet)
    paper, ink, uneven = _PAPERS[style.paper]
    picture = np.empty((height, width, 3))
    picture[:] = paper
    picture += uneven * _clouds(random, height, width, 40)[..., None]
    picture += 0.6 * uneven * _clouds(random, height, width, 5)[..., None]
    for _ in range(style.stains):
        _stain(picture, random)

    lines, faint = np.zeros((height, width)), np.zeros((height, width))
    for line in [*sheet.drawing.lines, *sheet.ruler]:
        points = flattened(line.points, closed=line.closed) if line.smooth else line.points
        if line.closed and not line.smooth:
            points = np.vstack([points, points[:1]])
        plane = faint if line.role in _FAINT else lines
        _cover_line(plane, to_px(sheet, points), _THICK_MM[line.role] * PX_PER_MM / 2)
    lines = np.maximum(lines, _lettering(sheet, width, height))
    holes, rims = np.zeros((height, width)), np.zeros((height, width))
    radius = style.hole * PX_PER_MM
    for centre in to_px(sheet, sheet.holes()):
        _cover_disc(rims, centre, radius + 1.6)
        _cover_disc(holes, centre, radius)
    if style.paper == "brown card":
        picture += 22.0 * (rims - holes)[..., None].clip(0, 1)
    for plane, strength in ((faint, 0.45), (lines, 0.9), (holes, 1.0)):
        share = (strength * plane)[..., None]
        picture = picture * (1 - share) + np.array(ink) * share
    _show_bed(sheet, picture)
    if style.paper == "photocopy":
        _copy_again(picture, random)
    else:
        picture += random.normal(0, 1.6, (height, width, 1))
    return _encoded(sheet, picture)


def size_px(sheet: LaidOut) -> tuple[int, int]:
    """Width and height of the scan: the turned sheet fits into it."""
    turn = math.radians(sheet.recipe.sheet.tilt)
    cos, sin = abs(math.cos(turn)), abs(math.sin(turn))
    width = math.ceil((sheet.width * cos + sheet.height * sin) * PX_PER_MM)
    return width, math.ceil((sheet.width * sin + sheet.height * cos) * PX_PER_MM)


def to_px(sheet: LaidOut, points_mm: Points) -> Points:
    """Places on the sheet (mm) as places on the scan (pixels)."""
    width, height = size_px(sheet)
    turn = math.radians(sheet.recipe.sheet.tilt)
    rotation = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    middle_mm = np.array([sheet.width, sheet.height]) / 2
    middle_px = np.array([width, height]) / 2 - 0.5
    return np.asarray((points_mm - middle_mm) @ rotation * PX_PER_MM + middle_px)


def _clouds(random: np.random.Generator, height: int, width: int, grain: int) -> Plane:
    """Soft unevenness between about -1 and 1, `grain` pixels across."""
    coarse = random.normal(0, 1, (height // grain + 2, width // grain + 2)).astype(np.float32)
    return np.asarray(
        Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC), float
    )


def _stain(picture: Plane, random: np.random.Generator) -> None:
    """Darken an irregular patch with a darker border, as tea leaves it."""
    height, width = picture.shape[:2]
    x, y = random.uniform(0.1, 0.9) * width, random.uniform(0.15, 0.9) * height
    radius = random.uniform(50, 130)
    x0, x1 = max(int(x - 1.5 * radius), 0), min(int(x + 1.5 * radius), width)
    y0, y1 = max(int(y - 1.5 * radius), 0), min(int(y + 1.5 * radius), height)
    ys, xs = np.mgrid[y0:y1, x0:x1]
    angle = np.arctan2(ys - y, xs - x)
    lobes = 0.12 * np.sin(3 * angle + random.uniform(0, 6)) + 0.06 * np.sin(7 * angle)
    share = np.hypot(xs - x, ys - y) / (radius * (1 + lobes))
    border = np.exp(-(((share - 0.97) / 0.05) ** 2))
    depth = (0.35 + 0.65 * border) / (1 + np.exp((share - 1) * 30))
    tea = np.array([26.0, 36.0, 50.0]) * random.uniform(0.6, 1.0)
    picture[y0:y1, x0:x1] -= depth[..., None] * tea


def _cover_disc(plane: Plane, centre: Points, radius: float) -> None:
    height, width = plane.shape
    reach = math.ceil(radius + 1)
    column, row = round(float(centre[0])), round(float(centre[1]))
    x0, x1 = max(column - reach, 0), min(column + reach + 1, width)
    y0, y1 = max(row - reach, 0), min(row + reach + 1, height)
    ys, xs = np.mgrid[y0:y1, x0:x1]
    covered = np.clip(radius + 0.5 - np.hypot(xs - centre[0], ys - centre[1]), 0, 1)
    plane[y0:y1, x0:x1] = np.maximum(plane[y0:y1, x0:x1], covered)


def _cover_line(plane: Plane, points: Points, half: float) -> None:
    height, width = plane.shape
    for start, end in pairwise(points):
        low = np.floor(np.minimum(start, end) - half - 1).astype(int)
        high = np.ceil(np.maximum(start, end) + half + 2).astype(int)
        x0, x1 = max(low[0], 0), min(high[0], width)
        y0, y1 = max(low[1], 0), min(high[1], height)
        if x0 >= x1 or y0 >= y1:
            continue
        ys, xs = np.mgrid[y0:y1, x0:x1]
        along = end - start
        squared = float(along @ along) or 1.0
        t = np.clip(((xs - start[0]) * along[0] + (ys - start[1]) * along[1]) / squared, 0, 1)
        distance = np.hypot(xs - start[0] - t * along[0], ys - start[1] - t * along[1])
        covered = np.clip(half + 0.5 - distance, 0, 1)
        plane[y0:y1, x0:x1] = np.maximum(plane[y0:y1, x0:x1], covered)


def _lettering(sheet: LaidOut, width: int, height: int) -> Plane:
    """The words on the sheet, turned with it."""
    upright = Image.new("L", (width, height))
    pen = ImageDraw.Draw(upright)
    left = (width - sheet.width * PX_PER_MM) / 2
    top = (height - sheet.height * PX_PER_MM) / 2
    for text in sheet.texts:
        font = ImageFont.load_default(size=text.size * PX_PER_MM)
        place = left + text.x * PX_PER_MM, top + text.y * PX_PER_MM
        pen.text(place, text.words, fill=255, font=font, anchor="ls")
    turned = upright.rotate(-sheet.recipe.sheet.tilt, Image.Resampling.BICUBIC)
    return np.asarray(turned, float) / 255


def _show_bed(sheet: LaidOut, picture: Plane) -> None:
    """Beyond the edges of a turned sheet lies the white lid, with a thin shadow."""
    height, width = picture.shape[:2]
    turn = math.radians(sheet.recipe.sheet.tilt)
    ys, xs = np.mgrid[0:height, 0:width]
    dx, dy = xs - (width - 1) / 2, ys - (height - 1) / 2
    across = np.abs(dx * math.cos(turn) + dy * math.sin(turn)) - sheet.width * PX_PER_MM / 2
    down = np.abs(dy * math.cos(turn) - dx * math.sin(turn)) - sheet.height * PX_PER_MM / 2
    beyond = np.maximum(across, down)
    lid = 252.0 - 70.0 * np.exp(-np.maximum(beyond, 0) / 3)
    share = np.clip(beyond + 0.5, 0, 1)[..., None]
    picture[:] = picture * (1 - share) + lid[..., None] * share


def _copy_again(picture: Plane, random: np.random.Generator) -> None:
    """Hard contrast and specks, as copies of copies have."""
    height, width = picture.shape[:2]
    grey = picture.mean(axis=2) + 6.0 * _clouds(random, height, width, 60)
    grey = 255 / (1 + np.exp(-(grey - 150) / 16))
    specks = np.zeros((height, width))
    for _ in range(60):
        centre = np.array([random.uniform(0, width), random.uniform(0, height)])
        _cover_disc(specks, centre, random.uniform(0.4, 1.3))
    picture[:] = (grey * (1 - 0.8 * specks))[..., None]


def _encoded(sheet: LaidOut, picture: Plane) -> bytes:
    style = sheet.recipe.sheet
    image = Image.fromarray(np.clip(np.rint(picture), 0, 255).astype(np.uint8))
    if style.blur:
        image = image.filter(ImageFilter.GaussianBlur(style.blur * PX_PER_MM))
    file = io.BytesIO()
    dpi = {"dpi": (DPI, DPI)} if style.tagged else {}
    if style.lossless:
        levels = np.rint(np.asarray(image.convert("L"), float) / 17) * 17
        Image.fromarray(levels.astype(np.uint8)).save(file, "PNG", optimize=True, **dpi)
    else:
        image.save(file, "JPEG", quality=74, **dpi)
    return file.getvalue()
