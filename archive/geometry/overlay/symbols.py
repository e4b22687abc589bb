"""How each mark on an overlay looks.

Doubts differ by shape as well as by colour; no meaning hangs on red against green.
"""

from __future__ import annotations

import numpy as np

from archive.geometry.neighbours import Points
from archive.geometry.overlay.canvas import XY, Canvas, Stroke

INK = "#23262b"
PIN = "#007a80"
FOOT = "#22409c"
REPEAT = "#7c2478"
RING = "#4a3000"
LINES = "#7f8794"
DOUBT = "#c43a00"
HALO = "#ffffff"
TINTS = {"full net": "#e6b325", "honeycomb net": "#a35ab5", "open": "#6f9bd1"}
TINT_OPACITY = 0.28


def draw_ring(canvas: Canvas, pins: Points, by: float) -> None:
    """A circle round the pins of a ring, so far outside them, with a tick towards each."""
    middle = pins.mean(axis=0)
    radius = float(np.hypot(*(pins - middle).T).max()) + by
    for stroke in (Stroke(line=HALO, width=0.55 * by), Stroke(line=RING, width=0.3 * by)):
        canvas.circle(middle.tolist(), radius, stroke)
        for way in (pins - middle) / np.hypot(*(pins - middle).T)[:, None]:
            canvas.line([middle + part * way for part in (radius - 0.6 * by, radius)], stroke)


def draw_doubt(canvas: Canvas, kind: str, at: tuple[float, float], size: float) -> None:
    """The mark of one kind of doubt: diamond, cross or triangle, on a white rim."""
    shapes: dict[str, tuple[list[list[tuple[float, float]]], bool]] = {
        "missing": ([[(0, -1), (1, 0), (0, 1), (-1, 0)]], True),
        "extra": ([[(-0.8, -0.8), (0.8, 0.8)], [(0.8, -0.8), (-0.8, 0.8)]], False),
        "off-line": ([[(0, -1), (0.95, 0.7), (-0.95, 0.7)]], True),
    }
    lines, closed = shapes[kind]
    for stroke in (
        Stroke(line=HALO, width=0.55 * size),
        Stroke(line=DOUBT, width=0.28 * size),
    ):
        for line in lines:
            points = [(at[0] + size * x, at[1] + size * y) for x, y in line]
            canvas.line(points, stroke, closed=closed)


def draw_by_hand(canvas: Canvas, is_hole: bool, at: XY, size: float) -> None:
    """A square where a person says is a hole, a struck-out square where they say is none."""
    x, y = at
    corners = [
        (x - size, y - size),
        (x + size, y - size),
        (x + size, y + size),
        (x - size, y + size),
    ]
    strike = [(x - 1.5 * size, y + 1.5 * size), (x + 1.5 * size, y - 1.5 * size)]
    for stroke in (Stroke(line=HALO, width=0.6 * size), Stroke(line=INK, width=0.25 * size)):
        canvas.line(corners, stroke, closed=True)
        if not is_hole:
            canvas.line(strike, stroke)
