"""Lace drawn for the site itself: the edging under the masthead and swatches of bare net.

Drawn from the geometry of lace, not from anybody's pattern: a ground whose lines stand at an
angle to the footside, a footside of passive pairs, a scalloped head with a gimp and picots,
a ring of four pins.
Source: the lattice tan(angle) = 2 × column / pitch is plane geometry. The curve of the
scallop and the spacing of its picots are our own drawing.
"""

from __future__ import annotations

import math
from collections.abc import Callable
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
SWATCH_ANGLES = (45, 50, 55, 60, 65, 70)


def swatch_path(angle_deg: float | None) -> str:
    """The swatch whose net is nearest to an angle; one without net where none is known."""
    if angle_deg is None:
        return "pictures/no-net.svg"
    nearest = min(SWATCH_ANGLES, key=lambda angle: abs(angle - angle_deg))
    return f"pictures/net-{nearest}.svg"


def drawings() -> dict[str, Callable[[], str]]:
    """How each swatch and the edging is drawn, by its path in the site."""
    drawn: dict[str, Callable[[], str]] = {
        swatch_path(angle): partial(_swatch, angle) for angle in (*SWATCH_ANGLES, None)
    }
    drawn["style/edging.svg"] = edging
    return drawn


def _swatch(angle_deg: float | None) -> str:
    """Net in a soft-edged round, footside upright at the right, as thread on cloth."""
    width, height, middle, radius = 480, 360, (240.0, 180.0), 128.0
    pitch = 34.0
    lines, pins = [], []
    if angle_deg is not None:
        column = pitch * math.tan(math.radians(angle_deg)) / 2
        for i in range(-20, 21):
            for j in range(-20, 21):
                x = middle[0] + i * column
                y = middle[1] + j * pitch + (i % 2) * pitch / 2
                for side in (-1, 1):
                    end = (x + side * column, y + pitch / 2)
                    if max(math.dist((x, y), middle), math.dist(end, middle)) < radius:
                        lines.append(f"M{x:.1f} {y:.1f}L{end[0]:.1f} {end[1]:.1f}")
                if math.dist((x, y), middle) < radius - 2:
                    pins.append(f"M{x:.1f} {y:.1f}h0")
    else:
        for step in range(24):
            turn = math.radians(step * 15)
            x, y = middle[0] + radius * math.cos(turn), middle[1] + radius * math.sin(turn)
            pins.append(f"M{x:.1f} {y:.1f}h0")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}"><rect width="{width}" height="{height}" '
        'fill="#2c4a58"/><g fill="none" stroke="#efe6d3" stroke-linecap="round">'
        f'<path d="{"".join(lines)}" stroke-width="2.2" opacity=".8"/>'
        f'<path d="{"".join(pins)}" stroke-width="7"/></g></svg>\n'
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
