"""Lace drawn for the site itself: the edging under the masthead and swatches of bare net.

Drawn from the geometry of lace, not from anybody's pattern: a ground whose lines stand at an
angle to the footside, a footside of passive pairs, a scalloped head with a gimp and picots.
Source: the lattice tan(angle) = 2 × column / pitch is plane geometry. The curve of the
scallop and the spacing of its picots are our own drawing.
"""

from __future__ import annotations

import math

PITCH = 12.0
"""Distance of pins along the footside, in the drawing's units."""
ROWS = 8
"""Pins of the footside in one scallop."""
SWATCH_ANGLES = (45, 50, 55, 60, 65, 70)


def swatch_path(angle_deg: float | None) -> str:
    """The swatch whose net is nearest to an angle; one without net where none is known."""
    if angle_deg is None:
        return "pictures/no-net.svg"
    nearest = min(SWATCH_ANGLES, key=lambda angle: abs(angle - angle_deg))
    return f"pictures/net-{nearest}.svg"


def swatches() -> dict[str, str]:
    """Every swatch by its path in the site."""
    drawn = {swatch_path(angle): _swatch(angle) for angle in SWATCH_ANGLES}
    drawn[swatch_path(None)] = _swatch(None)
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
    column = PITCH * math.tan(math.radians(60)) / 2  # across the lace: down the drawing
    foot, depth = 4.0, 34.0

    def head(x: float) -> float:
        """How far down the lace reaches at a place along it."""
        return foot + depth * (0.62 + 0.38 * abs(math.sin(math.pi * (x % length) / length)))

    ground = []
    for i in range(-8, ROWS + 9):
        for j in range(0, 6):
            x, y = i * PITCH + (j % 2) * PITCH / 2, foot + 3 + j * column
            for side in (-1, 1):
                end = (x + side * PITCH / 2, y + column)
                if end[1] < head(end[0]) - 2 and y < head(x) - 2:
                    ground.append(f"M{x:.2f} {y:.2f}L{end[0]:.2f} {end[1]:.2f}")
    steps = 48
    outline = [(length * k / steps, head(length * k / steps)) for k in range(steps + 1)]
    gimp = "M" + "L".join(f"{x:.2f} {y - 1.5:.2f}" for x, y in outline)
    picots = []
    for k in range(2, steps - 1, 4):
        (x0, y0), (x1, y1) = outline[k - 1], outline[k + 1]
        slope = math.hypot(x1 - x0, y1 - y0)
        x = outline[k][0] - (y1 - y0) / slope * 2.6
        y = outline[k][1] + (x1 - x0) / slope * 2.6
        picots.append(f"M{x - 1.3:.2f} {y:.2f}a1.3 1.3 0 1 0 2.6 0a1.3 1.3 0 1 0 -2.6 0z")
    footside = f"M0 {foot - 2.5}H{length}M0 {foot}H{length}M0 {foot + 2.2}H{length}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {length:g} 46" '
        f'width="{length:g}" height="46"><g fill="none" stroke="#efe6d3">'
        f'<path d="{footside}" stroke-width=".7"/>'
        f'<path d="{"".join(ground)}" stroke-width=".6" opacity=".85"/>'
        f'<path d="{gimp}" stroke-width="1.7" stroke-linejoin="round"/>'
        f'<path d="{"".join(picots)}" stroke-width=".7"/></g></svg>\n'
    )
