"""Invented prickings with known answers, as bare points, for tests and benchmarks.

A design is drawn in millimetres with the footside upright and then spoilt the way a scan
spoils it: jitter, missing and extra holes, a turn. Angles, pitches and habits are those of
common practice; every design is made of random numbers from its seed alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from archive.records.measurement import Frieze

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Design:
    """Pin positions (n, 2) in millimetres, and the truth about them."""

    points_mm: Points
    angle_deg: float
    pitch_mm: float
    repeat_rows: int
    repeats: float
    foot_side: str
    turn_deg: float
    ground_share: float


def turn(points: Points, degrees: float) -> Points:
    """Return the points turned about the origin, clockwise on a page with y down."""
    angle = np.deg2rad(degrees)
    matrix = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return points @ matrix.T


def ground_patch(angle_deg: float, pitch: float, columns: int, rows: int) -> Points:
    """Return a plain patch of ground, `rows` pins in every column, columns half a pitch apart."""
    width = pitch * np.tan(np.deg2rad(angle_deg)) / 2
    return np.array(
        [
            (column * width, (row + column % 2 / 2) * pitch)
            for column in range(columns)
            for row in range(rows)
        ]
    )


def honeycomb_patch(angle_deg: float, pitch: float, columns: int, rows: int) -> Points:
    """Return honeycomb: a ground patch without one place in four."""
    width = pitch * np.tan(np.deg2rad(angle_deg)) / 2
    kept = []
    for column in range(columns):
        for row in range(rows):
            if column % 2 == 0 and (row + column // 2) % 2 == 0:
                continue
            kept.append((column * width, (row + column % 2 / 2) * pitch))
    return np.array(kept)


def turned_corner(
    angle_deg: float, pitch: float, rows: int = 24, columns: int = 9
) -> tuple[Points, Points]:
    """Return a corner whose columns each turn at a pin, and the (columns, 2) turning pins.

    Towards the corner, over the last four pitches of each column, the net is drawn apart.
    """
    width, bent = pitch * np.tan(np.deg2rad(angle_deg)) / 2, 8
    at = np.array([1.6 * width, (rows - 0.8) * pitch])
    out = 1.6 * width + np.arange(columns) * width
    turning = at + np.column_stack([-out, out])
    upright = [np.column_stack([np.full(rows - 1, at[0]), at[1] - np.arange(1, rows) * pitch])]
    for column in range(columns):
        half_row = np.arange(column % 2, 2 * rows + column, 2)
        down = half_row * pitch / 2
        further = turning[column, 1] - (2 * rows + column) * pitch / 2
        down = down + further * np.clip((half_row - 2 * rows - column + bent) / bent, 0, 1)
        upright.append(np.column_stack([np.full(len(down), turning[column, 0]), down]))
    half = np.concatenate(upright)
    return np.concatenate([half, turning, at - (half - at)[:, ::-1]]), turning


def spoil(
    points: Points,
    rng: np.random.Generator,
    *,
    jitter: float = 0.1,
    missing: float = 0.05,
    extra: float = 0.03,
) -> Points:
    """Return the points moved, thinned and salted as an old sheet would have them."""
    low, high = points.min(axis=0), points.max(axis=0)
    kept = points[rng.random(len(points)) >= missing]
    moved = kept + rng.normal(0, jitter, kept.shape)
    return np.concatenate([moved, rng.uniform(low, high, (int(len(points) * extra), 2))])


def _along(curve: Points, step: float) -> Points:
    """Return points every `step` along a polyline that runs down the page."""
    lengths = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(curve, axis=0).T))])
    at = np.arange(0, lengths[-1], step)
    return np.column_stack([np.interp(at, lengths, curve[:, axis]) for axis in (0, 1)])


def _ellipse(centre: Points, radii: Points, step: float) -> Points:
    phase = np.linspace(0, 2 * np.pi, 200)
    ring = centre + radii * np.column_stack([np.cos(phase), np.sin(phase)])
    return _along(ring, step)


def draw_edging(
    rng: np.random.Generator,
    *,
    jitter: float = 0.1,
    missing: float = 0.05,
    extra: float = 0.03,
    length_mm: float = 180.0,
    figures: float = 1.0,
    columns: tuple[int, int] = (8, 24),
) -> Design:
    """Draw a scalloped edging with a footside, ground, figures and honeycomb.

    `figures` sets how much of the width they take: 1 leaves half of the pins or more to the
    ground, 2 leaves few. `columns` bounds the width in ground columns.
    """
    angle = 45.0 if rng.random() < 0.35 else rng.uniform(50, 68)
    pitch = rng.uniform(1.3, 4.0)
    width = pitch * np.tan(np.deg2rad(angle)) / 2
    across = int(rng.integers(*columns))
    most = int(length_mm / pitch / 2.6)
    repeat = int(rng.integers(5, min(26, most) + 1))
    rows = int(length_mm / pitch)
    start = int(rng.integers(0, repeat))

    column, half_row = np.meshgrid(np.arange(across), np.arange(2 * rows), indexing="ij")
    on_parity = (column + half_row) % 2 == 0
    column, half_row = column[on_parity], half_row[on_parity]
    place = (half_row + 2 * start) % (2 * repeat)
    kept = np.ones(len(column), dtype=bool)
    head_wave = rng.uniform(0.1, 0.3)
    head_at = across * (1 - head_wave * (1 + np.cos(np.pi * place / repeat)) / 2)
    kept &= column < head_at - 2
    free: list[Points] = []
    for _ in range(int(rng.integers(1, 4))):
        radius_x = rng.uniform(1.5, 2 + across / 8 * figures) * width * figures
        radius_y = rng.uniform(1.2, 1 + repeat / 5 * figures) * pitch * min(figures, 1.5)
        centre_x = rng.uniform(0.25, 0.8) * across * width
        centre_y = rng.uniform(0, repeat) * pitch
        away = (place * pitch / 2 - centre_y + repeat * pitch / 2) % (repeat * pitch)
        away -= repeat * pitch / 2
        inside = ((column * width - centre_x) / radius_x) ** 2 + (away / radius_y) ** 2 < 1
        if rng.random() < 0.35:
            empty = (column % 2 == 0) & (((half_row - column) // 2) % 2 == 0)
            if repeat % 2 == 0:
                kept &= ~(inside & empty)
                continue
        kept &= ~inside
        ring = _ellipse(
            np.array([centre_x, centre_y]),
            np.array([radius_x, radius_y]) - 0.35 * pitch,
            rng.uniform(0.8, 1.1) * pitch,
        )
        for number in range(-1, rows // repeat + 3):
            free.append(ring + np.array([0, (number * repeat - start) * pitch]))
    ground = np.column_stack([column * width, half_row * pitch / 2])[kept]

    y = np.linspace(0, repeat * pitch, 400)
    x = across * width * (1 - head_wave * (1 + np.cos(2 * np.pi * y / repeat / pitch)) / 2)
    step = repeat * pitch / max(round(repeat * pitch / rng.uniform(0.75, 1.0) / pitch), 1)
    head = _along(np.column_stack([x, y]), step * rng.uniform(1.02, 1.1))
    for number in range(-1, rows // repeat + 3):
        free.append(head + np.array([0, (number * repeat - start) * pitch]))

    foot_x = -2 * width if angle == 45.0 else -rng.uniform(1.5, 2.0) * width
    foot_y = np.arange(rows) * pitch + (0 if angle == 45.0 else pitch / 2)
    foot = np.column_stack([np.full(rows, foot_x), foot_y])
    loose = np.concatenate(free)
    loose = loose[(loose[:, 1] > -0.01 * pitch) & (loose[:, 1] < (rows - 0.49) * pitch)]
    points = np.concatenate([ground, foot, loose])
    share = len(ground) / len(points)

    side = "left"
    if rng.random() < 0.5:
        points = points * [-1, 1]
        side = "right"
    turned = float(rng.uniform(-5, 5))
    points = turn(spoil(points, rng, jitter=jitter, missing=missing, extra=extra), turned)
    return Design(points, angle, pitch, repeat, rows / repeat, side, turned, share)


SYMMETRIES: dict[Frieze, tuple[str, ...]] = {
    "p1": (),
    "p11g": ("glide",),
    "p1m1": ("across",),
    "p11m": ("along",),
    "p2": ("turn",),
    "p2mg": ("across", "glide"),
    "p2mm": ("across", "along"),
}
"""Each frieze group, and moves that make it up."""

Cell = tuple[int, int]

MOST_OPEN = 0.4
"""Part of an insertion's inner places that its figures may leave open."""


def draw_insertion(
    rng: np.random.Generator,
    group: Frieze,
    *,
    jitter: float = 0.1,
    missing: float = 0.05,
    extra: float = 0.03,
    length_mm: float = 180.0,
) -> Design:
    """Draw an insertion whose open figures have just this symmetry; a footside on both sides."""
    while True:
        angle = 45.0 if rng.random() < 0.35 else rng.uniform(50, 68)
        pitch, across = rng.uniform(1.3, 3.0), int(rng.integers(9, 20))
        rows = int(rng.integers(5, int(length_mm / pitch / 3.2) + 1))
        moves = _moves(across, rows)
        needed = SYMMETRIES[group]
        if not all(moves[kind] for kind in needed):
            continue
        chosen = [moves[kind][int(rng.integers(len(moves[kind])))] for kind in needed]
        holes: set[Cell] = set()
        for _ in range(int(rng.integers(2, 5))):
            column = int(rng.integers(2, across - 2))
            half_row = 2 * int(rng.integers(rows)) + column % 2
            figure = {(column, half_row % (2 * rows))}
            for step in rng.permutation([(1, 1), (1, -1), (0, 2), (-1, 1), (2, 0)])[:3].tolist():
                figure.add((column + step[0], (half_row + step[1]) % (2 * rows)))
            holes |= {cell for cell in figure if 2 <= cell[0] < across - 2}
        for _ in range(4):
            holes |= {move(cell) for move in chosen for cell in holes}
        if len(holes) > (across - 4) * rows * MOST_OPEN:
            continue
        kept = {kind for kind, every in moves.items() if any(_keeps(move, holes) for move in every)}
        if kept != _all_kinds(group) or _repeats_sooner(holes, rows):
            continue
        break
    width = pitch * np.tan(np.deg2rad(angle)) / 2
    count, start = int(length_mm / pitch), int(rng.integers(0, rows))
    ground = np.array(
        [
            (column * width, half_row * pitch / 2)
            for column in range(across)
            for half_row in range(column % 2, 2 * count, 2)
            if (column, (half_row + 2 * start) % (2 * rows)) not in holes
        ]
    )
    off = rng.uniform(1.5, 2.0) * width
    down = np.arange(count) * pitch
    feet = [
        np.column_stack([np.full(count, -off), down + pitch / 2]),
        np.column_stack(
            [np.full(count, (across - 1) * width + off), down + pitch / 2 * (across % 2)]
        ),
    ]
    turned = float(rng.uniform(-5, 5))
    points = np.concatenate([ground, *feet])
    share = len(ground) / len(points)
    points = turn(spoil(points, rng, jitter=jitter, missing=missing, extra=extra), turned)
    return Design(points, angle, pitch, rows, count / rows, "both", turned, share)


def _moves(across: int, rows: int) -> dict[str, list[Callable[[Cell], Cell]]]:
    """Every move of a strip with so many columns that brings places onto places, by kind."""
    last, period = across - 1, 2 * rows

    def mirror(down: int) -> Callable[[Cell], Cell]:
        return lambda cell: (cell[0], (down - cell[1]) % period)

    def turn_half(down: int) -> Callable[[Cell], Cell]:
        return lambda cell: (last - cell[0], (down - cell[1]) % period)

    def slide(down: int) -> Callable[[Cell], Cell]:
        return lambda cell: (last - cell[0], (down + cell[1]) % period)

    return {
        "across": [mirror(down) for down in range(0, period, 2)],
        "along": [slide(0)] if last % 2 == 0 else [],
        "turn": [turn_half(down) for down in range(last % 2, period, 2)],
        "glide": [slide(rows)] if (last + rows) % 2 == 0 else [],
    }


def _keeps(move: Callable[[Cell], Cell], holes: set[Cell]) -> bool:
    return {move(cell) for cell in holes} == holes


def _all_kinds(group: Frieze) -> set[str]:
    """Moves of a group; with a mirror line both ways comes the half turn, and so on."""
    kinds = set(SYMMETRIES[group])
    return kinds | {"turn"} if len(kinds) == 2 else kinds


def _repeats_sooner(holes: set[Cell], rows: int) -> bool:
    return any(
        {(column, (half_row + 2 * step) % (2 * rows)) for column, half_row in holes} == holes
        for step in range(1, rows)
    )


def draw_tape(rng: np.random.Generator) -> Points:
    """Draw a tape that winds over the sheet, pins at both its edges: no ground anywhere."""
    step, half_width = rng.uniform(2, 3), rng.uniform(3, 6)
    t = np.linspace(0, 1, 4000)
    waves = rng.uniform(2, 5)
    centre = np.column_stack(
        [40 * np.sin(2 * np.pi * waves * t) + 8 * np.sin(2 * np.pi * t), 180 * t]
    )
    tangent = np.gradient(centre, axis=0)
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    normal /= np.hypot(*normal.T)[:, None]
    edges = [_along(centre + side * half_width * normal, step) for side in (-1, 1)]
    return np.concatenate(edges) + rng.normal(0, 0.1, (sum(map(len, edges)), 2))


def draw_plaited(rng: np.random.Generator) -> Points:
    """Draw a plaited edging: a straight footside and free curves, no ground."""
    pitch = rng.uniform(2, 4)
    rows = int(180 / pitch)
    foot = np.column_stack([np.zeros(rows), np.arange(rows) * pitch])
    parts = [foot]
    length = rng.uniform(25, 45)
    for number in range(int(180 / length)):
        for radius in (5, 9):
            middle = np.array([18.0, (number + 0.5) * length])
            parts.append(_ellipse(middle, np.array([radius, radius]), rng.uniform(2.5, 4)))
    head_y = np.linspace(0, 180, 1000)
    head_x = 30 + 5 * np.abs(np.sin(np.pi * head_y / length))
    parts.append(_along(np.column_stack([head_x, head_y]), pitch * 0.9))
    points = np.concatenate(parts)
    return points + rng.normal(0, 0.1, points.shape)
