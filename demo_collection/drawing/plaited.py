"""Draws plaited lace: foot strips of cloth, plaits and leaves, picots.

Every plait and every leaf is worked with two pairs. Where plaits meet at a pin, as many pairs
leave it as came; a foot strip lends pairs to the plaits and takes them back. In a motif that
is worked once, pairs are hung in where a leaf starts from the rim and laid back where it ends.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

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
from demo_collection.drawing.curves import flattened, length
from demo_collection.drawing.pairs import (
    END,
    HUNG_IN,
    LAID_BACK,
    START,
    Clock,
    Node,
    PairPaths,
)
from demo_collection.drawing.recipes import Plait, Plaited, Point

_PICOT_MM = 1.1
"""Distance of a picot pin from the middle of its plait: common practice, no source."""
_PICOT_SHARE = 0.62
"""Share of a plait, in its middle, that carries picots, so that those of two plaits that meet
keep apart."""
_MICROMETRE = 1000
_HAIR_MM = 1e-6


@dataclass(frozen=True)
class PlaitedDrawing:
    """A drawing with the pair paths it was checked by."""

    drawing: Drawing
    paths: PairPaths


def draw_plaited(lace: Plaited) -> PlaitedDrawing:
    """The lace of a recipe.

    Raises:
        ValueError: the pairs of a repeating lace do not stay constant.
    """
    pins: list[Pin] = []
    lines: list[Line] = []
    plaits = _all_plaits(lace)
    tall = lace.repeat * lace.repeats
    for strip in _strips(lace, tall):
        pins += strip
        way = sorted(strip, key=lambda pin: pin.y)
        lines.append(Line(pin_points(way), "working"))
    taken = {_key(pin.x, pin.y) for pin in pins}
    for plait in plaits:
        line = _line(plait)
        lines += _drawn(plait, line)
        for x, y in (line[0], line[-1]):
            if _key(x, y) not in taken:
                taken.add(_key(x, y))
                pins.append(Pin(float(x), float(y), "plait"))
        pins += _picots(plait, line)
    paths = follow_plaits(lace, plaits)
    repeat = None
    if lace.repeat:
        rows = round(lace.repeat / lace.pitch)
        repeat = find_repeat(pins, lace.repeat, rows, lace.repeats)
    pitch = None if lace.foot == "none" else lace.pitch
    facts = Facts(lace.foot, pitch, repeat=repeat, drawn_repeat_mm=lace.repeat or None)
    return PlaitedDrawing(Drawing(pins, lines, count_plait_pairs(lace, paths), facts), paths)


def _key(x: float, y: float) -> tuple[int, int]:
    """A place to the micrometre, so that equal places count as one."""
    return round(x * _MICROMETRE), round(y * _MICROMETRE)


def _all_plaits(lace: Plaited) -> list[Plait]:
    """The plaits of every repeat that lie wholly on the sheet; the head to the left."""
    tall = lace.repeat * lace.repeats if lace.repeat else math.inf
    found = []
    for repeat in range(-1, lace.repeats + 1) if lace.repeat else [0]:
        for plait in lace.plaits:
            points: list[Point] = [(-x, y + repeat * lace.repeat) for x, y in plait.points]
            heights = [points[0][1], points[-1][1]]
            if lace.repeat and (min(heights) < -_HAIR_MM or max(heights) > tall + _HAIR_MM):
                continue
            found.append(plait.model_copy(update={"points": points}))
    return found


def _line(plait: Plait) -> Points:
    points = np.array(plait.points, dtype=float)
    return points if len(points) == 2 else flattened(points, closed=False, steps=12)


def _drawn(plait: Plait, line: Points) -> list[Line]:
    """A plait is one line, a leaf a pointed oval along it."""
    if not plait.leaf:
        return [Line(line, "plait")]
    start, end = line[0], line[-1]
    along = end - start
    across = np.array([-along[1], along[0]]) / np.hypot(*along) * plait.leaf / 2
    t = np.linspace(0, 1, 13)[:, None]
    swell = np.sin(np.pi * t) ** 0.8
    sides = [start + t * along + side * swell * across for side in (1, -1)]
    return [Line(side, "leaf", smooth=True) for side in sides]


def _picots(plait: Plait, line: Points) -> list[Pin]:
    """Picots at even distances along a plait."""
    sides = {"left": [-1], "right": [1], "both": [-1, 1]}[plait.picot_side]
    steps = np.hypot(*np.diff(line, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)]) / length(line)
    pins = []
    for number in range(plait.picots):
        wanted = 0.5 + ((number + 0.5) / plait.picots - 0.5) * _PICOT_SHARE
        place = np.array([np.interp(wanted, along, line[:, axis]) for axis in (0, 1)])
        piece = min(int(np.searchsorted(along, wanted)), len(line) - 1)
        direction = line[piece] - line[piece - 1]
        direction = direction / np.hypot(*direction)
        for side in sides:
            x, y = place + side * _PICOT_MM * np.array([abs(direction[1]), -direction[0]])
            pins.append(Pin(float(x), float(y), "picot"))
    return pins


def _strips(lace: Plaited, tall: float) -> list[list[Pin]]:
    """Edge pins and inner pins of every foot strip, half a pitch apart."""
    feet = {"none": [], "right": [1], "both": [1, -1]}[lace.foot]
    strips = []
    for side in feet:
        edge = 0.0 if side == 1 else -lace.width
        rows = range(round(tall / lace.pitch) + 1)
        inner = [Pin(edge - side * lace.strip, row * lace.pitch, "cloth") for row in rows]
        outer = [Pin(edge, (row + 0.5) * lace.pitch, "foot") for row in rows[:-1]]
        strips.append(inner + outer)
    return strips


def follow_plaits(lace: Plaited, plaits: list[Plait]) -> PairPaths:
    """Where the pairs of plaits, leaves and strips go. Nodes are ("junction", x, y) in µm.

    Plaits that come from above the sheet or go on below it begin and end within one repeat.
    """
    paths = PairPaths()
    for plait in plaits:
        first, last = (_junction(plait.points[i]) for i in (0, -1))
        paths.add(first, last, 2)
    strips = {
        "none": [],
        "right": [-lace.strip],
        "both": [-lace.strip, lace.strip - lace.width],
    }[lace.foot]
    tall = lace.repeat * lace.repeats
    balance = paths.balance()
    for x in strips:
        rows = [_junction((x, row * lace.pitch)) for row in range(round(tall / lace.pitch) + 1)]
        held, least = 0, 0
        for node in rows:
            came, went = balance.get(node, (0, 0))
            held += came - went
            least = min(least, held)
        held = lace.strip_pairs - least
        previous = START
        for node in rows:
            paths.add(previous, node, held)
            came, went = balance.get(node, (0, 0))
            held += came - went
            previous = node
        paths.add(previous, END, held)
        paths.add(START, END)  # the edge pair
    for node, (came, went) in paths.balance().items():
        if node in (START, END):
            continue
        height = node[2] / _MICROMETRE
        if came < went:
            at_start = lace.repeat > 0 and height < lace.repeat
            paths.add(START if at_start else HUNG_IN, node, went - came)
        elif went < came:
            at_end = lace.repeat > 0 and height > tall - lace.repeat
            paths.add(node, END if at_end else LAID_BACK, came - went)
    return paths


def _junction(point: Point) -> Node:
    return ("junction", *_key(*point))


def count_plait_pairs(lace: Plaited, paths: PairPaths) -> PairCount:
    """Pairs on the pillow between every two heights at which pairs meet.

    Raises:
        ValueError: the number changes although the lace repeats.
    """
    heights = sorted({node[2] for edge in paths.edges for node in edge if node[0] == "junction"})
    moments = list(range(len(heights) - 1))
    order: dict[Node, int] = {START: -1, END: len(heights)}
    clock = Clock(lambda node: order.get(node, bisect_left(heights, node[2])), moments)
    counts = paths.crossing(clock)
    if lace.repeat and len(set(counts)) > 1:
        raise ValueError(f"the number of pairs changes: {counts}")
    return PairCount(counts[0], max(counts))
