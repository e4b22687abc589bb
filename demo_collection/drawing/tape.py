"""Draws tape lace: braids with pins on either side, sewn together where they touch.

The working line is the worker's way from side to side.
Where a later braid touches an earlier one it has no pin of its own: it is sewn into the
earlier edge there.
"""

from __future__ import annotations

import numpy as np

from demo_collection.drawing.canvas import Drawing, Line, PairCount, Pin, Points
from demo_collection.drawing.curves import length, spaced
from demo_collection.drawing.recipes import Braid, Tape

_FINE = 1200
"""Points to draw the middle of one braid with."""


def draw_tape(lace: Tape) -> Drawing:
    """The lace of a recipe."""
    drawing = Drawing()
    earlier = np.empty((0, 2))
    for number, braid in enumerate(lace.braids):
        middle, closed = _middle(lace, braid)
        edges, at_foot = _edges(braid, middle, closed=closed)
        kept = []
        for (x, y), foot in zip(edges, at_foot, strict=True):
            distances = np.hypot(*(earlier - (x, y)).T)
            if len(distances) and distances.min() < 0.5 * braid.pitch:
                drawing.lines.append(_sewing(earlier[int(distances.argmin())]))
                continue
            kept.append((x, y))
            outer = foot and lace.foot == "right" and number == 0
            drawing.pins.append(Pin(float(x), float(y), "foot" if outer else "braid"))
        earlier = np.vstack([earlier, np.array(kept).reshape(-1, 2)])
        drawing.lines.append(Line(edges, "working", closed=closed))
        if braid.vein:
            drawing.lines.append(Line(spaced(middle, 200), "working", smooth=True))
    pairs = 1 + max(braid.passives for braid in lace.braids)
    drawing.pairs = PairCount(pairs, pairs)
    drawing.facts = {
        "foot": {
            "side": lace.foot,
            "pitch_mm": lace.braids[0].pitch if lace.foot != "none" else None,
        },
        "ground": None,
        "rings": {"four_pin": 0, "six_pin": 0},
        "repeat": {"length_mm": lace.repeat, "rows": None, "pins": None, "count": lace.repeats}
        if lace.repeat
        else None,
        "corner": {"present": False},
        "round": lace.repeat == 0,
        "outlines": [],
    }
    return drawing


def _middle(lace: Tape, braid: Braid) -> tuple[Points, bool]:
    """The middle line of a braid, and whether it closes."""
    turn = np.linspace(0, 2 * np.pi, _FINE + 1)
    tall = lace.repeat * lace.repeats
    match braid.curve:
        case "line":
            return np.array([(braid.at, 0.0), (braid.at, tall)]), False
        case "wave":
            t = np.linspace(0, lace.repeats, _FINE + 1)
            side = -1 if braid.turn == "mirrored" else 1
            x = braid.at - side * braid.swing * np.cos(2 * np.pi * t)
            y = lace.repeat * t + braid.swell * np.sin(4 * np.pi * t)
            return np.column_stack([x, y]), False
        case "circle":
            radius = np.full_like(turn, braid.radius)
        case "garland":
            radius = braid.radius + braid.swing * np.cos(braid.lobes * turn)
    return np.column_stack([radius * np.sin(turn), -radius * np.cos(turn)]), True


def _edges(braid: Braid, middle: Points, *, closed: bool) -> tuple[Points, list[bool]]:
    """Pins on both sides of a braid, half a step apart, and which lie on its right-hand side."""
    count = round(length(middle) / braid.pitch)
    halves = spaced(middle, 2 * count)
    directions = np.gradient(halves, axis=0)
    if closed:
        directions[0] = directions[-1] = halves[1] - halves[-2]
        halves, directions = halves[:-1], directions[:-1]
    directions = directions / np.hypot(*directions.T)[:, None]
    right_hand = np.column_stack([directions[:, 1], -directions[:, 0]]) * braid.width / 2
    pins = [
        place + (across if step % 2 else -across)
        for step, (place, across) in enumerate(zip(halves, right_hand, strict=True))
    ]
    return np.array(pins), [bool(step % 2) for step in range(len(pins))]


def _sewing(place: Points) -> Line:
    """A short stroke through the pin a braid is sewn to."""
    return Line(np.array([place - (0.9, 0.0), place + (0.9, 0.0)]), "sewing")
