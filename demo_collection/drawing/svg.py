"""A sheet as a vector drawing: one unit is one millimetre."""

from __future__ import annotations

from html import escape

from demo_collection.drawing.canvas import Line, LineRole
from demo_collection.drawing.curves import curve_controls
from demo_collection.drawing.sheet import LaidOut, Text

INK, PENCIL, PAPER = "#221d1a", "#8b95a0", "#fffdf7"
_STROKES: dict[LineRole, tuple[str, float]] = {
    "gimp": (INK, 0.34),
    "plait": (INK, 0.26),
    "leaf": (INK, 0.22),
    "tally": (INK, 0.24),
    "sewing": (INK, 0.2),
    "working": (PENCIL, 0.15),
    "fringe": (PENCIL, 0.2),
    "ruler": (INK, 0.14),
}


def svg(sheet: LaidOut) -> str:
    """The sheet as an SVG document."""
    wide, high = _number(sheet.width), _number(sheet.height)
    title = escape(f"{sheet.recipe.title} ({sheet.recipe.shelfmark})")
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
        f'viewBox="0 0 {wide} {high}">',
        f"<title>{title}</title>",
        f'<rect width="{wide}" height="{high}" fill="{PAPER}"/>',
        '<g fill="none" stroke-linecap="round" stroke-linejoin="round">',
        *(_path(line) for line in [*sheet.drawing.lines, *sheet.ruler]),
        "</g>",
        f'<g fill="{INK}">',
        *(
            f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(sheet.recipe.sheet.hole)}"/>'
            for x, y in sheet.holes()
        ),
        "</g>",
        f'<g fill="{INK}" font-family="Georgia, \'Times New Roman\', serif">',
        *(_lettering(text) for text in sheet.texts),
        "</g>",
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _number(value: float) -> str:
    """A number to the micrometre, without trailing noughts."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _path(line: Line) -> str:
    points = line.points
    start = f"M{_number(points[0][0])} {_number(points[0][1])}"
    if line.smooth:
        pieces = [
            "C" + " ".join(f"{_number(x)} {_number(y)}" for x, y in piece)
            for piece in curve_controls(points, closed=line.closed)
        ]
        way = start + "".join(pieces)
    else:
        way = start + "".join(f"L{_number(x)} {_number(y)}" for x, y in points[1:])
    colour, thick = _STROKES[line.role]
    end = "Z" if line.closed else ""
    return f'<path d="{way}{end}" stroke="{colour}" stroke-width="{thick}"/>'


def _lettering(text: Text) -> str:
    style = ' font-style="italic"' if text.weight == "title" else ""
    return (
        f'<text x="{_number(text.x)}" y="{_number(text.y)}" font-size="{_number(text.size)}"'
        f"{style}>{escape(text.words)}</text>"
    )
