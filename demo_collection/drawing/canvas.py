"""Pins, lines and facts of one drawing, in millimetres. Knows nobody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""Shape (n, 2): x, y in mm."""

PinRole = Literal[
    "foot", "catch", "ground", "honeycomb", "kat", "cloth", "ring", "centre",
    "picot", "nook", "fan", "plait", "braid",
]  # fmt: skip
LineRole = Literal["gimp", "working", "plait", "leaf", "tally", "sewing", "fringe", "ruler"]


@dataclass(frozen=True)
class Pin:
    """One hole of the pricking."""

    x: float
    y: float
    role: PinRole


@dataclass(frozen=True)
class Line:
    """A line drawn on the pricking; `smooth` lines are curves through their points."""

    points: Points
    role: LineRole
    closed: bool = False
    smooth: bool = False


@dataclass(frozen=True)
class PairCount:
    """Pairs on the pillow, counted from the path of every pair."""

    start: int
    most: int
    corner_extra: int = 0


@dataclass(frozen=True)
class Ground:
    """The lattice of a net; the angle is taken from the footside."""

    angle_deg: float
    pitch_mm: float
    column_mm: float
    columns: int


@dataclass(frozen=True)
class Repeat:
    """The smallest repeat of the pins: `rows` in foot pitches, None without a footside."""

    length_mm: float
    rows: int | None
    pins: int
    count: int


@dataclass(frozen=True)
class Facts:
    """What a measurement of the pricking should find."""

    foot_side: Literal["left", "right", "both", "none"]
    foot_pitch_mm: float | None
    ground: Ground | None = None
    repeat: Repeat | None = None
    drawn_repeat_mm: float | None = None
    """The repeat of the whole design, stitches and all."""
    four_pin_rings: int = 0
    six_pin_rings: int = 0
    corner: bool = False
    round: bool = False
    outlines: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Drawing:
    """One lace, before it is put on paper."""

    pins: list[Pin]
    lines: list[Line]
    pairs: PairCount
    facts: Facts

    def pin_points(self) -> Points:
        """The pins, shape (n, 2)."""
        return pin_points(self.pins)

    def moved(self, dx: float, dy: float) -> Drawing:
        """The same drawing, shifted by mm."""
        return self._mapped(np.ones(2), np.array([dx, dy]))

    def mirrored(self) -> Drawing:
        """The same drawing with left and right exchanged."""
        return self._mapped(np.array([-1.0, 1.0]), np.zeros(2))

    def _mapped(self, factor: Points, shift: Points) -> Drawing:
        places = self.pin_points() * factor + shift
        return Drawing(
            [
                Pin(float(x), float(y), pin.role)
                for (x, y), pin in zip(places, self.pins, strict=True)
            ],
            [
                Line(line.points * factor + shift, line.role, line.closed, line.smooth)
                for line in self.lines
            ],
            self.pairs,
            self.facts,
        )


def pin_points(pins: list[Pin]) -> Points:
    """The places of pins, shape (n, 2)."""
    return np.array([(pin.x, pin.y) for pin in pins], dtype=float).reshape(-1, 2)


def find_repeat(pins: list[Pin], length_mm: float, rows: int | None, count: int) -> Repeat | None:
    """The smallest part of a drawn repeat after which the pins come again.

    Looked for away from the start; None where not even the whole repeat comes again, as beside
    a corner that is redrawn.

    Args:
        pins: All pins of the lace.
        length_mm: The repeat as it was drawn.
        rows: The same in foot pitches; None where it has no footside.
        count: How often it was drawn.
    """
    hair = 1e-6
    points = pin_points(pins)
    points = points[np.argsort(points[:, 1])]
    start = length_mm if count > 2 else 0.0
    low, high = np.searchsorted(points[:, 1], [start - hair, start + length_mm - hair])
    window = points[low:high]
    for parts in range(rows or 1, 0, -1):
        step = length_mm / parts
        if (rows or parts) % parts:
            continue
        again = window + np.array([0.0, step])
        if all(np.hypot(*(points - place).T).min() < hair for place in again):
            once = int(np.sum(window[:, 1] < start + step - hair))
            return Repeat(round(step, 6), rows and rows // parts, once, count * parts)
    return None
