"""Marks on a sheet, drawn once and written as SVG or as PNG.

Knows lines, circles, polygons and words at positions; nothing of what they mean.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw, ImageFont

from archive.errors import storage_errors

XY = Sequence[float]

LONGEST_SIDE_PX = 2600
"""A PNG is drawn no larger: it is for looking at, the scan itself is kept."""

SHORTEST_SIDE_PX = 1400
"""And a small drawing no smaller than this on its longer side."""

SMOOTHING = 2
"""A PNG is drawn this much larger and reduced, so that slanting lines are smooth."""

FONT = "sans-serif"


@dataclass(frozen=True)
class Stroke:
    """How something is drawn: colours as #rrggbb, width in pixels of the sheet."""

    line: str | None = None
    width: float = 1.0
    fill: str | None = None
    dash: float = 0.0


@dataclass(frozen=True)
class Polyline:
    """A line through points, closed or not."""

    points: list[tuple[float, float]]
    stroke: Stroke
    closed: bool = False


@dataclass(frozen=True)
class Circle:
    """A circle about a centre."""

    centre: tuple[float, float]
    radius: float
    stroke: Stroke


@dataclass(frozen=True)
class Words:
    """Words beginning at a point, their base line there."""

    at: tuple[float, float]
    text: str
    size: float
    colour: str


@dataclass(frozen=True)
class Region:
    """A tinted surface bounded by loops; a loop inside another is a hole."""

    loops: list[list[tuple[float, float]]]
    fill: str
    opacity: float


Item = Polyline | Circle | Words | Region


@dataclass
class Canvas:
    """Items in the order in which they are drawn, over a picture or over white.

    Attributes:
        width: of the whole, in pixels of the sheet.
        height: the same.
        picture: (rows, columns) float32 grey from 0 to 1 at the top left, or None.
        title: what a reader who cannot see it is told.
    """

    width: float
    height: float
    picture: NDArray[np.float32] | None
    title: str
    items: list[Item] = field(default_factory=list)

    def line(self, points: Sequence[XY], stroke: Stroke, *, closed: bool = False) -> None:
        """Draw a line or a polygon."""
        self.items.append(Polyline([(float(x), float(y)) for x, y in points], stroke, closed))

    def circle(self, centre: XY, radius: float, stroke: Stroke) -> None:
        """Draw a circle."""
        self.items.append(Circle((float(centre[0]), float(centre[1])), radius, stroke))

    def region(self, loops: Sequence[Sequence[XY]], fill: str, *, opacity: float) -> None:
        """Tint a surface."""
        bounds = [[(float(x), float(y)) for x, y in loop] for loop in loops]
        self.items.append(Region(bounds, fill, opacity))

    def words(self, at: XY, text: str, *, size: float, colour: str) -> None:
        """Write one line of words."""
        self.items.append(Words((float(at[0]), float(at[1])), text, size, colour))

    def write(self, out: Path) -> None:
        """Write the file in the format its ending names: `.svg`, or PNG.

        Raises:
            StorageError: there is no room or no permission.
        """
        content = self.svg().encode() if out.suffix.lower() == ".svg" else self.png()
        with storage_errors(out):
            out.write_bytes(content)

    # -- SVG ------------------------------------------------------------------------------

    def svg(self) -> str:
        """The canvas as an SVG document that needs no other file."""
        parts = [
            '<svg xmlns="http://www.w3.org/2000/svg" role="img" '
            f'viewBox="-0.5 -0.5 {_n(self.width)} {_n(self.height)}">',
            f"<title>{escape(self.title)}</title>",
            f'<rect x="-0.5" y="-0.5" width="{_n(self.width)}" height="{_n(self.height)}" '
            'fill="#ffffff"/>',
        ]
        if self.picture is not None:
            parts.append(_svg_picture(self.picture))
        parts.extend(_svg_item(item) for item in self.items)
        parts.append("</svg>\n")
        return "\n".join(parts)

    # -- PNG ------------------------------------------------------------------------------

    def png(self) -> bytes:
        """The canvas as a PNG picture."""
        longest = max(self.width, self.height)
        scale = min(LONGEST_SIDE_PX / longest, max(1.0, SHORTEST_SIDE_PX / longest))
        fine = scale * SMOOTHING
        size = (max(1, round(self.width * fine)), max(1, round(self.height * fine)))
        sheet = Image.new("RGB", size, "white")
        if self.picture is not None:
            grey = Image.fromarray(_bytes(self.picture))
            rows, columns = self.picture.shape
            sheet.paste(grey.resize((round(columns * fine), round(rows * fine))), (0, 0))
        for item in self.items:
            if isinstance(item, Region):
                _tint(sheet, item, fine)
            else:
                _paint(ImageDraw.Draw(sheet), item, fine)
        sheet = sheet.reduce(SMOOTHING)
        content = io.BytesIO()
        sheet.save(content, "PNG", optimize=True)
        return content.getvalue()


def _n(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")


def _bytes(grey: NDArray[np.float32]) -> NDArray[np.uint8]:
    return np.clip(np.rint(grey * 255), 0, 255).astype(np.uint8)


def _svg_picture(grey: NDArray[np.float32]) -> str:
    content = io.BytesIO()
    Image.fromarray(_bytes(grey)).save(content, "JPEG", quality=82)
    data = base64.b64encode(content.getvalue()).decode("ascii")
    rows, columns = grey.shape
    return (
        f'<image x="-0.5" y="-0.5" width="{columns}" height="{rows}" '
        f'href="data:image/jpeg;base64,{data}"/>'
    )


def _svg_item(item: Item) -> str:
    if isinstance(item, Words):
        return (
            f'<text x="{_n(item.at[0])}" y="{_n(item.at[1])}" font-size="{_n(item.size)}" '
            f'font-family="{FONT}" fill="{item.colour}">{escape(item.text)}</text>'
        )
    if isinstance(item, Region):
        data = "".join(
            "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in loop) + "Z" for loop in item.loops
        )
        return (
            f'<path d="{data}" fill="{item.fill}" fill-rule="evenodd" '
            f'opacity="{_n(item.opacity)}"/>'
        )
    stroke = item.stroke
    style = f'fill="{stroke.fill or "none"}"'
    if stroke.line is not None:
        style += f' stroke="{stroke.line}" stroke-width="{_n(stroke.width)}"'
        style += ' stroke-linejoin="round" stroke-linecap="round"'
    if stroke.dash:
        style += f' stroke-dasharray="{_n(stroke.dash)}"'
    if isinstance(item, Circle):
        x, y = item.centre
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(item.radius)}" {style}/>'
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in item.points)
    name = "polygon" if item.closed else "polyline"
    return f"<{name} points={quoteattr(points)} {style}/>"


def _tint(sheet: Image.Image, region: Region, scale: float) -> None:
    """Lay a region's colour over the sheet, holes left out."""
    loops = [[_at(point, scale) for point in loop] for loop in region.loops]
    xs, ys = zip(*(point for loop in loops for point in loop), strict=True)
    left, top = max(0, int(min(xs))), max(0, int(min(ys)))
    right, bottom = min(sheet.width, int(max(xs)) + 2), min(sheet.height, int(max(ys)) + 2)
    if right <= left or bottom <= top:
        return
    inside = Image.new("1", (right - left, bottom - top))
    for loop in loops:
        one = Image.new("1", inside.size)
        ImageDraw.Draw(one).polygon([(x - left, y - top) for x, y in loop], fill=1)
        inside = ImageChops.logical_xor(inside, one)
    strength = inside.convert("L").point(lambda level: round(level * region.opacity))
    sheet.paste(region.fill, (left, top), strength)


def _paint(draw: ImageDraw.ImageDraw, item: Polyline | Circle | Words, scale: float) -> None:
    if isinstance(item, Words):
        font = ImageFont.load_default(max(6.0, item.size * scale))
        draw.text(_at(item.at, scale), item.text, fill=item.colour, font=font, anchor="ls")
        return
    stroke = item.stroke
    width = max(1, round(stroke.width * scale))
    if isinstance(item, Circle):
        x, y = _at(item.centre, scale)
        radius = item.radius * scale
        box = (x - radius, y - radius, x + radius, y + radius)
        draw.ellipse(box, fill=stroke.fill, outline=stroke.line, width=width)
        return
    points = [_at(point, scale) for point in item.points]
    if stroke.fill is not None:
        draw.polygon(points, fill=stroke.fill)
    if stroke.line is not None:
        if item.closed:
            points = [*points, points[0]]
        for piece in _dashes(points, stroke.dash * scale) if stroke.dash else [points]:
            draw.line(piece, fill=stroke.line, width=width, joint="curve")


def _at(point: tuple[float, float], scale: float) -> tuple[float, float]:
    return (point[0] + 0.5) * scale, (point[1] + 0.5) * scale


def _dashes(points: list[tuple[float, float]], dash: float) -> Iterator[list[tuple[float, float]]]:
    """Pieces of each straight part, one dash long and one dash apart."""
    for (x0, y0), (x1, y1) in pairwise(points):
        length = float(np.hypot(x1 - x0, y1 - y0))
        for start in np.arange(0, length, 2 * dash):
            ends = (start / length, min(start + dash, length) / length)
            yield [(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in ends]
