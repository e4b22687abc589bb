"""Pins, lines and marks of one drawing, in millimetres. Knows nobody."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
"""Shape (n, 2): x, y in mm."""

PinRole = Literal[
    "foot", "catch", "ground", "honeycomb", "kat", "cloth", "ring", "centre",
    "picot", "nook", "fan", "plait", "braid",
]  # fmt: skip
LineRole = Literal["gimp", "working", "plait", "leaf", "tally", "sewing", "fringe"]


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


@dataclass
class Drawing:
    """What is drawn for one lace, before it is put on paper.

    `facts` are the figures a measurement of the sheet should find.
    """

    pins: list[Pin] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    pairs: PairCount = PairCount(0, 0)
    facts: dict[str, object] = field(default_factory=dict)

    def pin_points(self) -> Points:
        """The pins, shape (n, 2)."""
        return np.array([(pin.x, pin.y) for pin in self.pins], dtype=float).reshape(-1, 2)

    def moved(self, dx: float, dy: float) -> Drawing:
        """The same drawing, shifted by mm."""
        return Drawing(
            [Pin(pin.x + dx, pin.y + dy, pin.role) for pin in self.pins],
            [
                Line(line.points + (dx, dy), line.role, line.closed, line.smooth)
                for line in self.lines
            ],
            self.pairs,
            self.facts,
        )

    def mirrored(self) -> Drawing:
        """The same drawing with left and right exchanged."""
        return Drawing(
            [Pin(-pin.x, pin.y, pin.role) for pin in self.pins],
            [
                Line(line.points * (-1, 1), line.role, line.closed, line.smooth)
                for line in self.lines
            ],
            self.pairs,
            self.facts,
        )
