"""Draws tape lace: braids with pins on either side, sewn together where they touch.

Where a later braid touches an earlier one it has no pin of its own: it is sewn into the
earlier edge there. The working line is the worker's way from side to side.
"""

from __future__ import annotations

import numpy as np

from demo_collection.drawing.canvas import (
    Drawing,
    Facts,
    Line,
    PairCount,
    Pin,
    Points,
    find_repeat,
    pin_points,
)
from demo_collection.drawing.curves import length, spaced
from demo_collection.drawing.recipes import Braid, Tape

_FINE = 1200
"""Points to draw the middle of one braid with."""
_TOUCHING = 0.5
"""Braids touch where pins come nearer than this share of their pitch."""


def draw_tape(lace: Tape) -> Drawing:
    """The lace of a recipe."""
    pins: list[Pin] = []
    lines: list[Line] = []
    for number, braid in enumerate(lace.braids):
        middle, closed = _middle(lace, braid)
        edges, at_right = _edges(lace, braid, middle, closed=closed)
        earlier = pin_points(pins)
        for place, right in zip(edges, at_right, strict=True):
            distances = np.hypot(*(earlier - place).T)
            if len(distances) and distances.min() < _TOUCHING * braid.pitch:
                lines.append(_sewing(earlier[int(distances.argmin())]))
                continue
            at_foot = right and lace.foot == "right" and number == 0
            pins.append(Pin(float(place[0]), float(place[1]), "foot" if at_foot else "braid"))
        lines.append(Line(edges, "working", closed=closed))
        if braid.vein:
            lines.append(Line(spaced(middle, 200), "working", smooth=True))
    pairs = 1 + max(braid.passives for braid in lace.braids)
    repeat, pitch = None, None
    if lace.repeat:
        rows = None
        if lace.foot == "right":
            pitch = lace.braids[0].pitch
            rows = round(lace.repeat / pitch)
        repeat = find_repeat(pins, lace.repeat, rows, lace.repeats)
    facts = Facts(
        lace.foot,
        pitch,
        repeat=repeat,
        drawn_repeat_mm=lace.repeat or None,
        round=not lace.repeat,
    )
    return Drawing(pins, lines, PairCount(pairs, pairs), facts)


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


def _edges(lace: Tape, braid: Braid, middle: Points, *, closed: bool) -> tuple[Points, list[bool]]:
    """Pins on both sides of a braid, half a step apart, and which lie on its right-hand side."""
    count = lace.repeats * round(length(middle) / lace.repeats / braid.pitch)
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
    x, y = place
    return Line(np.array([(x - 0.9, y), (x + 0.9, y)]), "sewing")
