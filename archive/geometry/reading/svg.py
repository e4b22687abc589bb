"""An SVG file becomes its small closed marks, or a refusal that says why.

Knows the structure of SVG: groups, reused symbols, viewports, visibility. Knows nothing of
pins. The file is not trusted: no document type, no entities, limits on size, depth, number of
elements and on what reuse multiplies. Nothing outside the file is ever opened.

Source: W3C, Scalable Vector Graphics (SVG) 2, chapters 5 and 8.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError, TreeBuilder

import numpy as np
from defusedxml.common import DefusedXmlException, DTDForbidden
from defusedxml.ElementTree import DefusedXMLParser

from archive.errors import UnreadableFile
from archive.geometry.reading.marks import Mark, Matrix, Points, affine, ellipse_mark, polygon_mark
from archive.geometry.reading.svg_paths import (
    BadNumber,
    read_length,
    read_numbers,
    read_path,
    read_points,
    read_transform,
)

MOST_BYTES = 64_000_000
MOST_ELEMENTS = 400_000
MOST_DRAWN = 100_000
"""Elements drawn once reuse is followed: the densest pricking of an A3 sheet has 15,000 pins."""

DEEPEST = 100
DEEPEST_REUSE = 16
WIDEST_PX = 1e6
"""Ten metres at 96 to the inch is 38,000."""

_SIMPLIFY = "Save it again from your drawing program as a plain SVG, or as a PNG at 600 dpi."
_INHERITED = ("fill", "stroke", "stroke-width", "stroke-linecap", "visibility")
_ONCE = ("display", "opacity")
_DRAWN_THROUGH = ("g", "a", "svg", "switch")
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")


@dataclass(frozen=True)
class Sheet:
    """The drawing's size in CSS pixels, whether that is a true size, and its marks."""

    width: float
    height: float
    physical: bool
    marks: list[Mark]


@dataclass(frozen=True)
class _Place:
    """Where and how an element is drawn."""

    matrix: Matrix
    width: float
    height: float
    style: Mapping[str, str]
    depth: int
    reuse: int


class _TooMuch(Exception):
    """A limit is passed; the message says which."""


class _CountingBuilder(TreeBuilder):
    """Builds the tree, and stops at its limits."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0
        self.depth = 0

    def start(self, tag: str, attrs: dict[str, str], /) -> Element:
        self.count += 1
        self.depth += 1
        if self.count > MOST_ELEMENTS:
            raise _TooMuch(f"it has more than {MOST_ELEMENTS:,} elements")
        if self.depth > DEEPEST:
            raise _TooMuch(f"its groups lie more than {DEEPEST} deep in each other")
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self.depth -= 1
        return super().end(tag)


def read_sheet(path: Path) -> Sheet:
    """The marks of an SVG file.

    Raises:
        UnreadableFile: the file is no SVG, is damaged, or passes a limit.
    """
    try:
        return _Reader(_parse(path)).sheet()
    except DTDForbidden as cause:
        reason = "it carries a document type (DOCTYPE), which may hide harmful instructions"
        raise UnreadableFile(path, reason, _SIMPLIFY) from cause
    except DefusedXmlException as cause:
        reason = "it carries entities or outside references, which may hide harmful instructions"
        raise UnreadableFile(path, reason, _SIMPLIFY) from cause
    except ParseError as cause:
        reason = f"its XML breaks off or is damaged in line {cause.position[0]}"
        raise UnreadableFile(path, reason, _SIMPLIFY) from cause
    except (_TooMuch, BadNumber) as cause:
        raise UnreadableFile(path, str(cause), _SIMPLIFY) from cause
    except (LookupError, ValueError) as cause:
        raise UnreadableFile(path, "its text is in an unknown encoding", _SIMPLIFY) from cause


def _parse(path: Path) -> Element:
    if path.stat().st_size > MOST_BYTES:
        raise _TooMuch(f"it is larger than {MOST_BYTES // 1_000_000} MB")
    parser = DefusedXMLParser(target=_CountingBuilder(), forbid_dtd=True)
    parser.feed(path.read_bytes())
    root: Element = parser.close()
    if _name(root) != "svg":
        raise BadNumber("it is no SVG drawing")
    return root


def _name(element: Element) -> str:
    """The element's name without its namespace; empty for foreign ones."""
    tag = element.tag if isinstance(element.tag, str) else ""
    space, _, name = tag.rpartition("}")
    return name if space in ("", "{http://www.w3.org/2000/svg") else ""


class _Reader:
    """Walks one tree."""

    def __init__(self, root: Element) -> None:
        self.root = root
        self.named = {
            name: element for element in root.iter() if (name := element.get("id")) is not None
        }
        self.rules = dict(_style_rules(root))
        self.drawn = 0

    def sheet(self) -> Sheet:
        box = _view_box(self.root)
        sizes = []
        for side, whole in (("width", 2), ("height", 3)):
            fallback = box[whole] if box else (300.0, 150.0)[whole - 2]
            sizes.append(read_length(self.root.get(side, "100%"), whole=fallback))
        width, height = (size.px for size in sizes)
        if box and self.root.get("width") is None and self.root.get("height") is not None:
            width = height * box[2] / box[3]
        if box and self.root.get("height") is None and self.root.get("width") is not None:
            height = width * box[3] / box[2]
        if not (0 < width <= WIDEST_PX and 0 < height <= WIDEST_PX):
            raise _TooMuch("its page has no size, or is larger than any sheet")
        matrix = _view_matrix(self.root, width, height)
        place = _Place(matrix, width, height, {}, 0, 0)
        own = self._enter(self.root, place)
        inner = _Place(matrix, *(box[2:] if box else (width, height)), own or {}, 1, 0)
        marks = [] if own is None else list(self._children(self.root, inner))
        return Sheet(width, height, any(size.is_physical for size in sizes), marks)

    # -- structure ----------------------------------------------------------------------

    def _children(self, element: Element, place: _Place) -> Iterator[Mark]:
        for child in element:
            yield from self._draw(child, place)

    def _draw(self, element: Element, place: _Place) -> Iterator[Mark]:
        self.drawn += 1
        if self.drawn > MOST_DRAWN:
            raise _TooMuch(f"it draws more than {MOST_DRAWN:,} elements, reused ones counted")
        if place.depth > 2 * DEEPEST:
            raise _TooMuch("its groups and reused parts lie too deep in each other")
        name = _name(element)
        drawing = name in _DRAWN_THROUGH or name == "use" or name in _SHAPES
        if not drawing:
            return
        style = self._enter(element, place)
        if style is None:
            return
        matrix = place.matrix @ read_transform(element.get("transform", ""))
        here = replace(place, matrix=matrix, style=style, depth=place.depth + 1)
        if name == "use":
            yield from self._reuse(element, here)
        elif name == "svg":
            yield from self._children(element, _viewport(element, here))
        elif name in _DRAWN_THROUGH:
            yield from self._children(element, here)
        elif style.get("visibility", "visible") == "visible" and _is_painted(style):
            yield from _SHAPES[name](element, here)

    def _reuse(self, element: Element, place: _Place) -> Iterator[Mark]:
        link = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = self.named.get(link[1:]) if link.startswith("#") else None
        if target is None:
            return
        if place.reuse >= DEEPEST_REUSE:
            raise _TooMuch(f"it reuses parts of itself more than {DEEPEST_REUSE} deep")
        x = _length(element, "x", place.width)
        y = _length(element, "y", place.height)
        moved = replace(place, matrix=place.matrix @ affine(1, 0, 0, 1, x, y))
        moved = replace(moved, reuse=place.reuse + 1)
        if _name(target) == "symbol":
            style = self._enter(target, moved)
            if style is not None:
                sized = _viewport(target, replace(moved, style=style), element)
                yield from self._children(target, sized)
        else:
            yield from self._draw(target, moved)

    # -- style --------------------------------------------------------------------------

    def _enter(self, element: Element, place: _Place) -> dict[str, str] | None:
        """The style inside an element; None where nothing of it shows."""
        own = {
            key: element.attrib[key].strip()
            for key in (*_INHERITED, *_ONCE)
            if key in element.attrib
        }
        selectors = [_name(element)]
        selectors += [f".{word}" for word in element.get("class", "").split()]
        selectors += [f"#{element.get('id')}"]
        for selector in selectors:
            own.update(self.rules.get(selector, {}))
        own.update(_declarations(element.get("style", "")))
        if own.get("display") == "none" or _is_zero(own.get("opacity", "1")):
            return None
        inherited = {key: own[key] for key in _INHERITED if own.get(key, "inherit") != "inherit"}
        return {**place.style, **inherited}


def _style_rules(root: Element) -> Iterator[tuple[str, dict[str, str]]]:
    """Rules of style sheets for single elements, classes and names; others are passed over."""
    found: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if _name(element) != "style":
            continue
        text = re.sub(r"/\*.*?\*/", "", element.text or "", flags=re.DOTALL)
        for selectors, body in _RULE.findall(text):
            for selector in selectors.split(","):
                found.setdefault(selector.strip(), {}).update(_declarations(body))
    yield from found.items()


def _declarations(text: str) -> dict[str, str]:
    found = {}
    for part in text.split(";"):
        key, colon, value = part.partition(":")
        if colon and key.strip() in (*_INHERITED, *_ONCE):
            found[key.strip()] = value.replace("!important", "").strip()
    return found


def _is_zero(text: str) -> bool:
    try:
        return float(text.rstrip("% ")) == 0
    except ValueError:
        return False


def _is_painted(style: Mapping[str, str]) -> bool:
    filled = style.get("fill", "black") not in ("none", "transparent")
    stroked = style.get("stroke", "none") not in ("none", "transparent")
    return filled or (stroked and not _is_zero(style.get("stroke-width", "1")))


# -- viewports ----------------------------------------------------------------------------


def _view_box(element: Element) -> tuple[float, float, float, float] | None:
    numbers = read_numbers(element.get("viewBox", ""))
    if len(numbers) != 4 or numbers[2] <= 0 or numbers[3] <= 0:
        return None
    return numbers[0], numbers[1], numbers[2], numbers[3]


def _view_matrix(element: Element, width: float, height: float) -> Matrix:
    """From the view box of an element to its own viewport of that size."""
    box = _view_box(element)
    if box is None:
        return np.eye(3)
    left, top, wide, high = box
    across, down = width / wide, height / high
    align, _, mode = element.get("preserveAspectRatio", "xMidYMid").strip().partition(" ")
    if align == "none":
        return affine(across, 0, 0, down, -left * across, -top * down)
    scale = max(across, down) if mode.strip() == "slice" else min(across, down)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    x = (width - wide * scale) * share.get(align[1:4], 0.5) - left * scale
    y = (height - high * scale) * share.get(align[5:8], 0.5) - top * scale
    return affine(scale, 0, 0, scale, x, y)


def _viewport(element: Element, place: _Place, sizing: Element | None = None) -> _Place:
    """The place inside a nested `svg`, or inside a symbol sized by the `use` that draws it."""
    matrix = place.matrix
    if sizing is None:
        x, y = _length(element, "x", place.width), _length(element, "y", place.height)
        matrix = matrix @ affine(1, 0, 0, 1, x, y)
    sides = []
    for side, whole in (("width", place.width), ("height", place.height)):
        given = sizing.get(side) if sizing is not None else None
        written = given or element.get(side) or "100%"
        sides.append(read_length(written, whole=whole).px)
    matrix = matrix @ _view_matrix(element, sides[0], sides[1])
    box = _view_box(element)
    width, height = box[2:] if box else sides
    return replace(place, matrix=matrix, width=width, height=height)


def _length(element: Element, name: str, whole: float) -> float:
    return read_length(element.get(name, "0"), whole=whole).px


# -- shapes -------------------------------------------------------------------------------


def _ellipse(element: Element, place: _Place) -> Iterator[Mark]:
    diagonal = float(np.hypot(place.width, place.height)) / np.sqrt(2)
    x, y = _length(element, "cx", place.width), _length(element, "cy", place.height)
    if _name(element) == "circle":
        rx = ry = _length(element, "r", diagonal)
    else:
        rx, ry = _length(element, "rx", place.width), _length(element, "ry", place.height)
    if rx <= 0 or ry <= 0:
        return
    yield from ellipse_mark(np.array([x, y]), (rx, ry), place.matrix)


def _rectangle(element: Element, place: _Place) -> Iterator[Mark]:
    x, y = _length(element, "x", place.width), _length(element, "y", place.height)
    w, h = _length(element, "width", place.width), _length(element, "height", place.height)
    corners = np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
    yield from polygon_mark(corners, place.matrix)


def _polygon(element: Element, place: _Place) -> Iterator[Mark]:
    yield from polygon_mark(read_points(element.get("points", "")), place.matrix)


def _polyline(element: Element, place: _Place) -> Iterator[Mark]:
    corners = read_points(element.get("points", ""))
    yield from polygon_mark(corners, place.matrix, closed=_is_filled(place))


def _is_filled(place: _Place) -> bool:
    return place.style.get("fill", "black") != "none"


def _path(element: Element, place: _Place) -> Iterator[Mark]:
    for piece in read_path(element.get("d", "")):
        if len(piece.points) > 1 and (piece.points == piece.points[0]).all():
            yield from _round_cap(piece.points[0], place)
        else:
            closed = piece.closed or _is_filled(place)
            yield from polygon_mark(piece.points, place.matrix, closed=closed)


def _line(element: Element, place: _Place) -> Iterator[Mark]:
    start, end = (
        (_length(element, f"x{side}", place.width), _length(element, f"y{side}", place.height))
        for side in (1, 2)
    )
    if start == end:
        yield from _round_cap(np.array(start), place)


def _round_cap(point: Points, place: _Place) -> Iterator[Mark]:
    """The dot that a line of no length draws where its ends are round."""
    if place.style.get("stroke-linecap") != "round" or place.style.get("stroke", "none") == "none":
        return
    width = read_length(place.style.get("stroke-width", "1")).px
    yield from ellipse_mark(point, (width / 2, width / 2), place.matrix)


_SHAPES = {
    "circle": _ellipse,
    "ellipse": _ellipse,
    "rect": _rectangle,
    "polygon": _polygon,
    "polyline": _polyline,
    "path": _path,
    "line": _line,
}
