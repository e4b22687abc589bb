"""Lace drawn for the site itself: the edging under the masthead, and stand-ins for pictures.

A stand-in shows what a pattern makes, as an outline of pins, and bare net at its measured angle
where that is known. Drawn from the geometry of lace, not from anybody's pattern: a ground whose
lines stand at an angle to the footside, a footside of passive pairs, a scalloped head with a gimp
and picots, a ring of four pins.
Source: the lattice tan(angle) = 2 × column / pitch is plane geometry. The curve of the
scallop, the spacing of its picots and the outlines are our own drawing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import partial

PITCH = 8.0
"""Distance of pins along the footside of the edging, in the drawing's units."""
ROWS = 12
"""Pins of the footside in one scallop."""
GROUND = math.radians(60)
"""Angle between a ground line of the edging and its footside."""
FOOT, HEIGHT = 6.0, 60.0
RING = (28.0, 9.0)
"""Middle of the ring below the top, and its radius."""
NET_ANGLES = (45, 50, 55, 60, 65, 70)
WIDE, HIGH = 480, 360
"""The size of a stand-in."""
NET_PITCH = 30.0
"""Distance of pins along the footside of its net, in the drawing's units."""
PIN_GAP = 20.0
"""Distance of the pins of its outline, about."""

Outline = tuple[tuple[float, float], ...]


def _arc(radius: Callable[[float], float], start: int = 0, end: int = 360, *,
         middle: tuple[float, float] = (240, 180)) -> Outline:  # fmt: skip
    """A curve about a middle, from one turn in degrees to another; 0 is to the right, 90 up."""
    step = 3 if end > start else -3
    turns = [math.radians(turn) for turn in range(start, end + step, step)]
    return tuple(
        (middle[0] + radius(turn) * math.cos(turn), middle[1] - radius(turn) * math.sin(turn))
        for turn in turns
    )


def _band(inner: float, outer: float, start: int, end: int, y: float) -> Outline:
    """A bent strip between two radii about a middle at a height."""
    around = (240.0, y)
    return (
        *_arc(lambda _: outer, start, end, middle=around),
        *_arc(lambda _: inner, end, start, middle=around),
    )


def _box(left: float, top: float, right: float, bottom: float) -> Outline:
    return ((right, top), (right, bottom), (left, bottom), (left, top))


_SCALLOPS = tuple((190.0 - 44 * abs(math.sin(math.pi * y / 100)), float(y))
                  for y in range(370, -11, -5))  # fmt: skip
OUTLINES: dict[str, tuple[Outline, ...]] = {
    "edging": (((300, -10), (300, 370), *_SCALLOPS),),
    "corner_edging": (((120, 370), (120, 60), (490, 60), (490, 170), (230, 170), (230, 370)),),
    "insertion": (_box(180, -10, 300, 370),),
    "braid": (_box(210, -10, 270, 370),),
    "mat": (_arc(lambda _: 140),),
    "motif": (_arc(lambda turn: 84 + 26 * abs(math.cos(3 * turn))),),
    "bookmark": (_box(190, 30, 290, 320),),
    "collar": (_band(70, 150, -35, 215, 190),),
    "handkerchief": (_box(100, 40, 380, 320), _box(180, 120, 300, 240)),
    "fan_leaf": (_band(120, 270, 20, 160, 320),),
    "sampler": (_box(140, 40, 340, 310),),
    "other": (_arc(lambda _: 118),),
}
"""What each kind of pattern makes, as outlines; within an inner one there is no lace."""
ICON = "pictures/other-60.svg"


def stand_in_path(kind: str | None, angle_deg: float | None) -> str:
    """The drawing for a kind of pattern with the net nearest to an angle, if that is known."""
    if angle_deg is None:
        return f"pictures/{kind or 'other'}-no-net.svg"
    nearest = min(NET_ANGLES, key=lambda angle: abs(angle - angle_deg))
    return f"pictures/{kind or 'other'}-{nearest}.svg"


def drawings(stand_ins: Iterable[str]) -> dict[str, Callable[[], str]]:
    """How the edging, the icon and the stand-ins of these paths are drawn, by path."""
    drawn: dict[str, Callable[[], str]] = {
        path: partial(_draw_stand_in, path) for path in sorted({*stand_ins, ICON})
    }
    drawn["style/edging.svg"] = edging
    return drawn


def _draw_stand_in(path: str) -> str:
    """Thread on cloth: the outline in pins, and net within it, its footside upright."""
    kind, _, net = path.removeprefix("pictures/").removesuffix(".svg").partition("-")
    outlines = OUTLINES[kind]
    pins = [pin for outline in outlines for pin in _along(outline)]
    lines, holes = [], []
    if net != "no-net":
        column = NET_PITCH * math.tan(math.radians(int(net))) / 2
        for i in range(-20, 21):
            for j in range(-20, 21):
                x, y = 240 + i * column, 180 + (j + (i % 2) / 2) * NET_PITCH
                if not _within(outlines, x, y):
                    continue
                holes.append((x, y))
                for side in (-1, 1):
                    end = (x + side * column, y + NET_PITCH / 2)
                    middle = ((x + end[0]) / 2, (y + end[1]) / 2)
                    if _within(outlines, *end) and _within(outlines, *middle):
                        lines.append(f"M{x:.1f} {y:.1f}L{end[0]:.1f} {end[1]:.1f}")
    dots = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in pins)
    small = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in holes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" '
        f'width="{WIDE}" height="{HIGH}"><rect width="{WIDE}" height="{HIGH}" '
        'fill="#2c4a58"/><g fill="none" stroke="#efe6d3" stroke-linecap="round">'
        f'<path d="{"".join(lines)}" stroke-width="1.8" opacity=".75"/>'
        f'<path d="{small}" stroke-width="4"/><path d="{dots}" stroke-width="6"/></g></svg>\n'
    )


def _along(outline: Outline) -> list[tuple[float, float]]:
    """Pins at equal gaps along a closed outline, near `PIN_GAP` apart."""
    ends = [*outline[1:], outline[0]]
    sides = [math.dist(start, end) for start, end in zip(outline, ends, strict=True)]
    count = round(sum(sides) / PIN_GAP)
    gap, due, pins = sum(sides) / count, 0.0, []
    for (x0, y0), (x1, y1), side in zip(outline, ends, sides, strict=True):
        while due < side - 1e-6:
            pins.append((x0 + (x1 - x0) * due / side, y0 + (y1 - y0) * due / side))
            due += gap
        due -= side
    return pins


def _within(outlines: tuple[Outline, ...], x: float, y: float) -> bool:
    """Whether a point lies inside, by the even-odd rule."""
    return sum(_crossings(outline, x, y) for outline in outlines) % 2 == 1


def _crossings(outline: Outline, x: float, y: float) -> int:
    """How many sides of an outline a line to the right of a point crosses."""
    return sum(
        (y0 > y) != (y1 > y) and x < x0 + (x1 - x0) * (y - y0) / (y1 - y0)
        for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True)
    )


def edging() -> str:
    """One scallop of an edging, made to be repeated side by side; the footside lies on top."""
    length = PITCH * ROWS
    lines = [
        part
        for place in range(-2 * ROWS, 2 * ROWS)
        for side in (-1, 1)
        for part in _ground_line(place * PITCH, side)
    ]
    ground = "".join(f"M{x0:.2f} {y0:.2f}L{x1:.2f} {y1:.2f}" for x0, y0, x1, y1 in lines)
    steps = 48
    outline = [(length * k / steps, _head(length * k / steps)) for k in range(steps + 1)]
    gimp = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in outline)
    picots = []
    for k in range(2, steps - 1, 4):
        (x0, y0), (x1, y1) = outline[k - 1], outline[k + 1]
        slope = math.hypot(x1 - x0, y1 - y0)
        x = outline[k][0] - (y1 - y0) / slope * 2.4
        y = outline[k][1] + (x1 - x0) / slope * 2.4
        picots.append(f"M{x - 1.5:.2f} {y:.2f}a1.5 1.5 0 1 0 3 0a1.5 1.5 0 1 0 -3 0z")
    middle, down = length / 2, RING[0]
    ring = f"M{middle - RING[1]:.2f} {down}a{RING[1]} {RING[1]} 0 1 0 {2 * RING[1]} 0"
    ring += f"a{RING[1]} {RING[1]} 0 1 0 {-2 * RING[1]} 0z"
    pins = "".join(
        f"M{middle + x * RING[1] * 0.45:.2f} {down + y * RING[1] * 0.45:.2f}h0"
        for x, y in ((0, -1), (1, 0), (0, 1), (-1, 0))
    )
    footside = f"M0 1.5H{length:g}M0 3.8H{length:g}M0 {FOOT:g}H{length:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {length:g} {HEIGHT:g}" '
        f'width="{length:g}" height="{HEIGHT:g}"><g fill="none" stroke="#efe6d3" '
        f'stroke-linecap="round"><path d="{footside}" stroke-width=".7"/>'
        f'<path d="{ground}" stroke-width=".6" opacity=".8"/>'
        f'<path d="{gimp}{ring}" stroke-width="1.7" stroke-linejoin="round"/>'
        f'<path d="{"".join(picots)}" stroke-width=".7"/>'
        f'<path d="{pins}" stroke-width="1.8"/></g></svg>\n'
    )


def _head(x: float) -> float:
    """How far down the lace reaches at a place along it."""
    return 34.0 + 20.0 * abs(math.sin(math.pi * x / (PITCH * ROWS)))


def _ground_line(start: float, side: int) -> list[tuple[float, float, float, float]]:
    """The parts of a ground line from the footside to the head, left out inside the ring."""
    length, fine = PITCH * ROWS, 0.1
    parts: list[tuple[float, float, float, float]] = []
    x, y, begun = start, FOOT, (start, FOOT)
    inside = False
    while y < _head(x):
        x += side * fine * math.cos(GROUND)
        y += fine * math.sin(GROUND)
        ringed = math.hypot(x % length - length / 2, y - RING[0]) < RING[1]
        if ringed and not inside:
            parts.append((*begun, x, y))
        elif inside and not ringed:
            begun = (x, y)
        inside = ringed
    return [*parts, (*begun, x, y)]
