"""Drawn sheets made safe to publish: rewritten through a list of what may stay.

A sheet that came as an SVG drawing is published as a new drawing. Only shapes, groups and
words stay, with attributes that place and colour them; scripts, links, styles, pictures,
comments, titles, descriptions, names of layers and everything an editor noted are left
behind, and ids are numbered anew. Knows nothing of measurements or rights.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import parse

from archive.errors import UnreadableFile

MOST_ELEMENTS = 200_000
"""Elements in a drawing once every `use` is drawn; more would freeze a reader's browser."""
MOST_SIGNS = 8_000_000
"""Letters of a rewritten drawing; a sheet with 5,000 pins has 300,000."""
DEEPEST = 100
"""Levels of nesting; hand-made and exported sheets stay below twenty."""

SVG = "http://www.w3.org/2000/svg"
_XLINK_HREF = "{http://www.w3.org/1999/xlink}href"
PX_PER = {"": 1.0, "px": 1.0, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0, "pt": 96 / 72,
          "pc": 16.0}  # fmt: skip
"""CSS pixels in a unit of length. Source: CSS Values and Units Level 3, absolute lengths."""

_DAMAGED = (ElementTree.ParseError, DefusedXmlException, ValueError, LookupError, OSError)
"""How a drawing fails to be read; the LookupError is of an encoding nobody knows."""

_GROUPS = {"svg", "g", "defs", "symbol", "use"}
_SHAPES = {"path", "circle", "ellipse", "rect", "line", "polyline", "polygon", "text", "tspan"}
_PLACING = {
    "d", "cx", "cy", "r", "rx", "ry", "x", "y", "x1", "y1", "x2", "y2", "points", "width",
    "height", "transform", "viewBox", "preserveAspectRatio", "dx", "dy", "rotate",
}  # fmt: skip
_COLOURING = {
    "fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray",
    "stroke-dashoffset", "stroke-miterlimit", "opacity", "fill-opacity", "stroke-opacity",
    "fill-rule", "font-size", "font-weight", "font-style", "text-anchor", "display", "visibility",
}  # fmt: skip
_PLAIN_VALUE = re.compile(r"[\w\s.,%#+()\-]*\Z", re.ASCII)
_LENGTH = re.compile(r"\s*([0-9.]+(?:[eE][+-]?[0-9]+)?)\s*(px|mm|cm|in|pt|pc|)\s*\Z")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", re.ASCII)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")


@dataclass(frozen=True)
class Drawing:
    """A rewritten drawing: what is inside its `svg`, its viewBox and its size in CSS pixels."""

    inside: str
    view: tuple[float, float, float, float]
    width: float
    height: float

    def whole(self) -> str:
        """The drawing as a file."""
        return self._file(self.view, self.inside)

    def part(self, window: tuple[float, float, float, float], *, turn_deg: float = 0.0) -> str:
        """The part in a window (left, top, right, bottom in CSS pixels), turned clockwise."""
        x, y, width, height = self.view
        across, down = width / self.width, height / self.height
        left, top, right, bottom = window
        view = (
            x + left * across,
            y + top * down,
            (right - left) * across,
            (bottom - top) * down,
        )
        if abs(turn_deg) < 0.05:
            return self._file(view, self.inside)
        middle = f"{view[0] + view[2] / 2:.6g} {view[1] + view[3] / 2:.6g}"
        turned = f'<g transform="rotate({turn_deg:.6g} {middle})">{self.inside}</g>'
        return self._file(view, turned)

    def _file(self, view: tuple[float, float, float, float], inside: str) -> str:
        box = " ".join(f"{side:.6g}" for side in view)
        ratio = self.width / self.view[2]
        return (
            f'<svg xmlns="{SVG}" viewBox="{box}" width="{view[2] * ratio:.6g}" '
            f'height="{view[3] * ratio:.6g}" font-family="sans-serif">{inside}</svg>\n'
        )


def read_drawing(path: Path) -> Drawing:
    """Read a drawn sheet and keep of it what may be published.

    Raises:
        UnreadableFile: it is no SVG drawing, is damaged, or is made to overwhelm its reader.
    """
    try:
        root = parse(path).getroot()
    except _DAMAGED as refusal:
        raise _refused(path, "it is not a sound SVG drawing") from refusal
    if root is None or _name(root) != "svg":
        raise _refused(path, "it is not an SVG drawing")
    _check_size(path, root)
    view, width, height = _size(path, root)
    rewriting = _Rewriting(_style_rules(root))
    inside = "".join(rewriting.written(child) for child in root)
    if len(inside) > MOST_SIGNS:
        raise _refused(path, "it is larger than a page should make a reader wait for")
    own = rewriting.colouring(root)
    if own:
        inside = f"<g{own}>{inside}</g>"
    return Drawing(inside, view, width, height)


def _refused(path: Path, reason: str) -> UnreadableFile:
    return UnreadableFile(path, reason, "Save the drawing as plain SVG and attach it again.")


def _name(element: ElementTree.Element) -> str:
    """The element's name where it belongs to SVG; comments and foreign elements have none."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    return tag.removeprefix(f"{{{SVG}}}") if tag.startswith(f"{{{SVG}}}") or "}" not in tag else ""


def _check_size(path: Path, root: ElementTree.Element) -> None:
    by_id: dict[str, ElementTree.Element] = {}
    level = [root]
    for depth in range(DEEPEST + 2):
        if depth > DEEPEST:
            raise _refused(path, "its parts are nested too deeply")
        for element in level:
            if element.get("id"):
                by_id.setdefault(element.get("id", ""), element)
        level = [child for element in level for child in element]
        if not level:
            break
    weights: dict[ElementTree.Element, float] = {}

    def weight(element: ElementTree.Element, inside: frozenset[ElementTree.Element]) -> float:
        if element in inside or len(inside) > DEEPEST:
            return float("inf")
        if element not in weights:
            within = inside | {element}
            total = 1 + sum(weight(child, within) for child in element)
            used = by_id.get(_target(element)) if _name(element) == "use" else None
            if used is not None:
                total += weight(used, within)
            weights[element] = total
        return weights[element]

    if weight(root, frozenset()) > MOST_ELEMENTS:
        raise _refused(path, "it has too many parts, or parts that use themselves")


def _target(element: ElementTree.Element) -> str:
    href = element.get("href") or element.get(_XLINK_HREF) or ""
    return href[1:] if href.startswith("#") else ""


def _size(
    path: Path, root: ElementTree.Element
) -> tuple[tuple[float, float, float, float], float, float]:
    stated = [_length(root.get(side)) for side in ("width", "height")]
    numbers = [float(part) for part in _NUMBER.findall(root.get("viewBox", ""))]
    if len(numbers) == 4 and numbers[2] > 0 and numbers[3] > 0:
        view = (numbers[0], numbers[1], numbers[2], numbers[3])
    elif stated[0] and stated[1]:
        view = (0.0, 0.0, stated[0], stated[1])
    else:
        raise _refused(path, "it says no size")
    width, height = stated[0] or view[2], stated[1] or view[3]
    if max(width, height) > 1e6 or max(map(abs, view)) > 1e9:
        raise _refused(path, "its size is beyond any sheet")
    return view, width, height


def _length(text: str | None) -> float:
    found = _LENGTH.match(text or "")
    try:
        return float(found[1]) * PX_PER[found[2]] if found else 0.0
    except ValueError:
        return 0.0


def _style_rules(root: ElementTree.Element) -> dict[str, dict[str, str]]:
    """The rules of the drawing's own style sheets that name one element or class."""
    rules: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if _name(element) == "style":
            for selectors, body in _RULE.findall(element.text or ""):
                for selector in selectors.split(","):
                    if re.fullmatch(r"\.?[\w-]+", selector.strip()):
                        rules.setdefault(selector.strip(), {}).update(_declarations(body))
    return rules


def _declarations(body: str) -> dict[str, str]:
    pairs = (declaration.partition(":") for declaration in body.split(";"))
    return {name.strip(): value.replace("!important", "").strip() for name, _, value in pairs}


class _Rewriting:
    """Writes elements anew, numbering ids in the order in which they are met."""

    def __init__(self, rules: Mapping[str, Mapping[str, str]]) -> None:
        self._rules = rules
        self._ids: dict[str, str] = {}

    def written(self, element: ElementTree.Element) -> str:
        """The element and what is inside it as text; empty where it may not stay."""
        name = _name(element)
        if name not in _GROUPS | _SHAPES:
            return ""
        if name == "svg":
            name = "g"
        attributes = "".join(self._attributes(element, name)) + self.colouring(element)
        words = _escaped(element.text or "") if name in ("text", "tspan") else ""
        inside = words + "".join(
            self.written(child) + (_escaped(child.tail or "") if name in ("text", "tspan") else "")
            for child in element
        )
        if name in ("g", "defs") and not inside:
            return ""
        return f"<{name}{attributes}>{inside}</{name}>" if inside else f"<{name}{attributes}/>"

    def _attributes(self, element: ElementTree.Element, name: str) -> Iterator[str]:
        mark = element.get("id")
        if mark:
            yield f' id="{self._numbered(mark)}"'
        for attribute in sorted(_PLACING & set(element.keys())):
            value = element.get(attribute, "")
            if _PLAIN_VALUE.match(value) and (name != "g" or attribute == "transform"):
                yield f' {attribute}="{" ".join(value.split())}"'
        if name == "use" and _target(element):
            yield f' href="#{self._numbered(_target(element))}"'

    def colouring(self, element: ElementTree.Element) -> str:
        """The attributes that colour an element, whether it says so itself or by a style."""
        found: dict[str, str] = {}
        found.update({key: element.get(key, "") for key in _COLOURING & set(element.keys())})
        found.update(self._rules.get(_name(element), {}))
        for mark in element.get("class", "").split():
            found.update(self._rules.get(f".{mark}", {}))
        found.update(_declarations(element.get("style", "")))
        kept = []
        for key in sorted(_COLOURING & set(found)):
            value = found[key]
            if value.startswith("url("):
                value = "#777"  # a pattern or gradient, which is not carried over
            if _PLAIN_VALUE.match(value):
                kept.append(f' {key}="{" ".join(value.split())}"')
        return "".join(kept)

    def _numbered(self, mark: str) -> str:
        return self._ids.setdefault(mark, f"s{len(self._ids) + 1}")


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
