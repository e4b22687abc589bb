"""What the analyser found, as lines over the sheet.

Turns a measurement into SVG path data in the coordinates of the measured file, `(x, y)` from
the top left corner, y down. Also says which part of a sheet a small picture should show.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

from archive.records.measurement import Area, Measurement, Point
from archive.site.figures import counted
from archive.site.pages import Layer

Window = tuple[float, float, float, float]

GROUND_REACH = 0.18
"""How far from its place a neighbour may lie to be joined, in parts of the ground's pitch."""
ARM_SHOWN = 2.4
"""How much of a corner's arms a small picture shows, from the corner on, in widths of the lace."""
FALLBACK_STROKE = 1 / 400
"""Width of a drawn hole in parts of the longer side where no pitch is known."""


def hole_width(measurement: Measurement) -> float:
    """The width of a drawn hole in the sheet's own coordinates: a fifth of the pin distance."""
    pitch = measurement.foot.pitch_px or (measurement.ground and measurement.ground.pitch_px)
    source = measurement.source
    longest = max(source.width_px, source.height_px) if source else 1000.0
    return pitch / 5 if pitch else longest * FALLBACK_STROKE


def layers(measurement: Measurement) -> tuple[Layer, ...]:
    """The layers that can be switched over a sheet; one that found nothing is left out."""
    pins = measurement.pins.positions_px
    joined = _ground_lines(measurement)
    nets = [area for area in measurement.areas if area.kind == "honeycomb net"]
    gaps = [area for area in measurement.areas if area.kind == "open"]
    width = hole_width(measurement)
    doubts = "".join(_ring(doubt.x_px, doubt.y_px, 1.6 * width) for doubt in measurement.doubts)
    found = (
        Layer("holes", f"Pinholes ({len(pins)})", len(pins), _dots(pins)),
        Layer("ground", "Lines of the ground", len(joined), "".join(joined)),
        Layer("honeycomb", f"Honeycomb ({counted(len(nets), 'area')})", len(nets), _outlines(nets)),
        Layer("open", f"Without pins ({counted(len(gaps), 'area')})", len(gaps), _outlines(gaps)),
        Layer(
            "doubts",
            f"Places to look at ({len(measurement.doubts)})",
            len(measurement.doubts),
            doubts,
        ),
    )
    return tuple(layer for layer in found if layer.marks)


def lace_window(measurement: Measurement, shape: tuple[int, int]) -> Window | None:
    """The part of the sheet for a small picture of `shape`, in the upright sheet's pixels.

    A strip is cut to about one repeat at full width from the middle of its length, away from
    headings; of a corner the corner itself is shown, and a compact piece whole. The window is
    upright and lies about the middle of what it shows, so the sheet is turned about that middle
    by the measured tilt. None where there are no pins.
    """
    pins = measurement.pins.positions_px
    if not pins:
        return None
    turn = math.radians(upright_turn(measurement))
    upright = [_turned(point, turn) for point in pins]
    if measurement.corner.present:
        upright = _about_corner(upright)
    left, right = _reach([x for x, _ in upright])
    top, bottom = _reach([y for _, y in upright])
    margin = 3 * hole_width(measurement)
    width, height = right - left + 2 * margin, bottom - top + 2 * margin
    across = shape[0] / shape[1]
    if height > 1.6 * width:
        repeat = measurement.repeat.length_px if measurement.repeat else 0.0
        height = min(height, max(width, 1.15 * repeat))
    elif width > 2.2 * height:
        width = height * across
    width, height = max(width, height * across), max(height, width / across)
    x, y = _turned(((left + right) / 2, (top + bottom) / 2), -turn)
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _about_corner(points: list[Point]) -> list[Point]:
    """The points of a corner and the beginning of its arms, found opposite the emptiest quarter."""
    left, right = _reach([x for x, _ in points])
    top, bottom = _reach([y for _, y in points])
    middle = ((left + right) / 2, (top + bottom) / 2)
    held = Counter((x > middle[0], y > middle[1]) for x, y in points)
    quarters = [(east, south) for east in (False, True) for south in (False, True)]
    east, south = min(quarters, key=lambda quarter: held[quarter])
    tip = (left if east else right, top if south else bottom)
    arm = [abs(y - tip[1]) for x, y in points if (x > middle[0]) == east]
    side = ARM_SHOWN * _reach(arm)[1]
    return [(x, y) for x, y in points if max(abs(x - tip[0]), abs(y - tip[1])) <= side]


def upright_turn(measurement: Measurement) -> float:
    """The clockwise turn in degrees that sets a sheet upright; a sheet laid across stays so."""
    tilt = measurement.tilt_deg or 0.0
    return tilt if abs(tilt) < 45 else 0.0


def _reach(places: list[float]) -> tuple[float, float]:
    """Where nearly all places lie: a stray hole far off does not widen it."""
    ranked = sorted(places)
    stray = len(ranked) // 200
    return ranked[stray], ranked[-1 - stray]


def _turned(point: Point, clockwise: float) -> Point:
    """A point turned about the origin; clockwise as seen, because y points down."""
    x, y = point
    return (
        x * math.cos(clockwise) - y * math.sin(clockwise),
        x * math.sin(clockwise) + y * math.cos(clockwise),
    )


def _dots(points: Iterable[Point]) -> str:
    """Lines without length, which a round line end draws as dots."""
    return "".join(f"M{x:.1f} {y:.1f}h0" for x, y in points)


def _ring(x: float, y: float, radius: float) -> str:
    return (
        f"M{x - radius:.1f} {y:.1f}a{radius:.1f} {radius:.1f} 0 1 0 {2 * radius:.1f} 0"
        f"a{radius:.1f} {radius:.1f} 0 1 0 {-2 * radius:.1f} 0z"
    )


def _outlines(areas: Iterable[Area]) -> str:
    return "".join(
        "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in area.outline_px) + "z"
        for area in areas
        if len(area.outline_px) > 2
    )


def _ground_lines(measurement: Measurement) -> list[str]:
    """Each pair of pins that are neighbours along a ground line, as a line between them."""
    ground = measurement.ground
    if ground is None:
        return []
    turn = -math.radians(measurement.tilt_deg or 0.0)
    reach = GROUND_REACH * ground.pitch_px
    cells: dict[tuple[int, int], list[Point]] = {}
    for x, y in measurement.pins.positions_px:
        cells.setdefault((int(x // reach), int(y // reach)), []).append((x, y))
    lines = []
    for side in (-1, 1):
        step = _turned((side * ground.column_px, ground.pitch_px / 2), turn)
        for x, y in measurement.pins.positions_px:
            aim = (x + step[0], y + step[1])
            column, row = int(aim[0] // reach), int(aim[1] // reach)
            near = [
                point
                for across in (-1, 0, 1)
                for down in (-1, 0, 1)
                for point in cells.get((column + across, row + down), ())
                if math.dist(point, aim) < reach
            ]
            if near:
                end = min(near, key=lambda point: math.dist(point, aim))
                lines.append(f"M{x:.1f} {y:.1f}L{end[0]:.1f} {end[1]:.1f}")
    return lines
