"""Path data, points lists, transforms and lengths of SVG become numbers.

Knows the small languages inside SVG attributes and nothing of elements or files. Source for
all of them: W3C, Scalable Vector Graphics (SVG) 2, chapters 7, 8 and 9, and appendix B for arcs.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from archive.geometry.reading.marks import CURVE_STEPS, Matrix, Points, affine, bend
from archive.resolution import MM_PER_INCH

PX_PER_INCH = 96.0
"""CSS pixels to the inch. Source: W3C, CSS Values and Units 3, section 6.2."""

_PHYSICAL = {
    "mm": PX_PER_INCH / MM_PER_INCH,
    "cm": 10 * PX_PER_INCH / MM_PER_INCH,
    "q": PX_PER_INCH / MM_PER_INCH / 4,
    "in": PX_PER_INCH,
    "pt": PX_PER_INCH / 72,
    "pc": PX_PER_INCH / 6,
}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_NUMBERS = re.compile(_NUMBER)
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z%]*)\s*$")
_COMMANDS = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_TRANSFORM = re.compile(r"\s*,?\s*([a-zA-Z]+)\s*\(([^()]*)\)")
_ARC = re.compile(
    rf"\s*,?\s*({_NUMBER})\s*,?\s*({_NUMBER})\s*,?\s*({_NUMBER})\s*,?\s*([01])\s*,?\s*([01])"
    rf"\s*,?\s*({_NUMBER})\s*,?\s*({_NUMBER})"
)
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}


class BadNumber(ValueError):
    """A number, length, path or transform that SVG does not allow."""


@dataclass(frozen=True)
class Length:
    """A length in CSS pixels; `unit` is as written, in lower case."""

    px: float
    unit: str

    @property
    def is_physical(self) -> bool:
        """Whether it was given in a unit of paper, not of screens."""
        return self.unit in _PHYSICAL


@dataclass(frozen=True)
class Subpath:
    """One piece of a path: (n, 2) points of its flattened line, and whether it is closed."""

    points: Points
    closed: bool


def read_length(text: str, *, whole: float = 0.0) -> Length:
    """A length with its unit; percentages are of `whole`.

    Raises:
        BadNumber: not a length, or in a unit that depends on fonts.
    """
    match = _LENGTH.match(text)
    if match is None:
        raise BadNumber(f"“{text[:40]}” is not a length")
    number, unit = finite(match[1]), match[2].lower()
    if unit in ("", "px"):
        return Length(number, unit)
    if unit == "%":
        return Length(number / 100 * whole, unit)
    if unit in _PHYSICAL:
        return Length(number * _PHYSICAL[unit], unit)
    raise BadNumber(f"“{text[:40]}” is in a unit that depends on a font")


def finite(text: str) -> float:
    """The number written in `text`.

    Raises:
        BadNumber: not a number, or one beyond any drawing.
    """
    try:
        number = float(text)
    except ValueError as cause:
        raise BadNumber(f"“{text[:40]}” is not a number") from cause
    if not abs(number) < 1e9:
        raise BadNumber(f"“{text[:40]}” is larger than any drawing")
    return number


def read_numbers(text: str) -> list[float]:
    """All numbers of a list with spaces and commas."""
    return [finite(number) for number in _NUMBERS.findall(text)]


def read_points(text: str) -> Points:
    """(n, 2) points of a `points` attribute; a lone last number is dropped, as SVG asks."""
    numbers = read_numbers(text)
    return np.array(numbers[: len(numbers) // 2 * 2]).reshape(-1, 2)


def read_transform(text: str) -> Matrix:
    """(3, 3) matrix of a `transform` attribute.

    Raises:
        BadNumber: an unknown function or a wrong number of arguments.
    """
    matrix = np.eye(3)
    rest = text
    while rest.strip(" \t\r\n,"):
        match = _TRANSFORM.match(rest)
        if match is None:
            raise BadNumber(f"“{text[:40]}” is not a transform")
        matrix = matrix @ _one_transform(match[1], read_numbers(match[2]))
        rest = rest[match.end() :]
    return matrix


def _one_transform(name: str, numbers: list[float]) -> Matrix:
    match name, numbers:
        case "matrix", [a, b, c, d, e, f]:
            return affine(a, b, c, d, e, f)
        case "translate", [x, *rest] if len(rest) < 2:
            return affine(1, 0, 0, 1, x, rest[0] if rest else 0.0)
        case "scale", [x, *rest] if len(rest) < 2:
            return affine(x, 0, 0, rest[0] if rest else x, 0, 0)
        case "rotate", [degrees]:
            sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
            return affine(cosine, sine, -sine, cosine, 0, 0)
        case "rotate", [degrees, x, y]:
            turned = _one_transform("rotate", [degrees])
            return affine(1, 0, 0, 1, x, y) @ turned @ affine(1, 0, 0, 1, -x, -y)
        case "skewX", [degrees]:
            return affine(1, 0, math.tan(math.radians(degrees)), 1, 0, 0)
        case "skewY", [degrees]:
            return affine(1, math.tan(math.radians(degrees)), 0, 1, 0, 0)
    raise BadNumber(f"“{name[:20]}” is not a transform SVG knows")


def read_path(data: str) -> list[Subpath]:
    """The pieces of a path, curves flattened.

    Like a browser, it draws up to the first fault and leaves out the rest.
    """
    pen = _Pen()
    for letter, arguments in _COMMANDS.findall(data):
        try:
            pen.draw(letter, arguments)
        except BadNumber:
            break
    return pen.finished()


class _Pen:
    """Draws path commands."""

    def __init__(self) -> None:
        self.done: list[Subpath] = []
        self.line: list[Points] = []
        self.at = np.zeros(2)
        self.start = np.zeros(2)
        self.handle: Points | None = None
        self.last = ""

    def finished(self) -> list[Subpath]:
        self._lift(closed=False)
        return self.done

    def draw(self, letter: str, arguments: str) -> None:
        command = letter.upper()
        if command == "Z":
            self.at = self.start
            self._lift(closed=True)
            self.last = command
            return
        if command == "A":
            sets = [[finite(number) for number in found] for found in _ARC.findall(arguments)]
        else:
            numbers, size = read_numbers(arguments), _ARGUMENTS[command]
            sets = [numbers[k : k + size] for k in range(0, len(numbers) // size * size, size)]
        if not sets:
            raise BadNumber("a path command without numbers")
        for number, values in enumerate(sets):
            # further pairs after a move are lines
            self._one("L" if command == "M" and number else command, values, letter.islower())

    def _one(self, command: str, values: list[float], relative: bool) -> None:
        origin = self.at if relative else np.zeros(2)
        if command == "H":
            points = [np.array([origin[0] + values[0], self.at[1]])]
        elif command == "V":
            points = [np.array([self.at[0], origin[1] + values[0]])]
        elif command == "A":
            points = [origin + values[5:]]
        else:
            points = [origin + values[k : k + 2] for k in range(0, len(values), 2)]
        end = points[-1]
        if command == "M":
            self._lift(closed=False)
            self.start = end
            self.line = [end]
        else:
            if not self.line:
                self.line = [self.at]
            self._extend(command, values, points)
        self.at = end
        self.last = command

    def _extend(self, command: str, values: list[float], points: list[Points]) -> None:
        t = np.linspace(0, 1, CURVE_STEPS + 1)[1:, None]
        end, at = points[-1], self.at
        mirrored = at if self.handle is None else 2 * at - self.handle
        self_handle: Points | None = None
        if command in "CS":
            first = points[0] if command == "C" else (mirrored if self.last in "CS" else at)
            second = points[-2]
            self.line.extend(bend(at, first, second, end))
            self_handle = second
        elif command in "QT":
            control = points[0] if command == "Q" else (mirrored if self.last in "QT" else at)
            self.line.extend((1 - t) ** 2 * at + 2 * (1 - t) * t * control + t**2 * end)
            self_handle = control
        elif command == "A":
            self.line.extend(_arc(at, end, *values[:5]))
        else:
            self.line.append(end)
        self.handle = self_handle

    def _lift(self, *, closed: bool) -> None:
        if self.line:
            self.done.append(Subpath(np.array(self.line), closed))
        self.line = []


def _arc(
    start: Points, end: Points, rx: float, ry: float, turn_deg: float, large: float, sweep: float
) -> Points:
    """Points of an elliptical arc, without its start."""
    rx, ry = abs(rx), abs(ry)
    if rx == 0 or ry == 0 or (start == end).all():
        return end[None, :]
    turn = math.radians(turn_deg)
    axes = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    half = axes.T @ (start - end) / 2 / (rx, ry)
    reach = float(half @ half)
    grown = max(1.0, math.sqrt(reach))
    rx, ry, half, reach = rx * grown, ry * grown, half / grown, min(reach, 1.0)
    away = math.sqrt(max(1 / reach - 1, 0.0)) * (1 if large != sweep else -1)
    centre = away * np.array([half[1], -half[0]])
    first = math.atan2(*(half - centre)[::-1])
    last = math.atan2(*(-half - centre)[::-1])
    swept = (last - first) % (2 * math.pi)
    if not sweep:
        swept -= 2 * math.pi
    # a half turn takes as many pieces either way round: rounding must not add one
    pieces = max(2, math.ceil(abs(swept) / (2 * math.pi) * 4 * CURVE_STEPS - 1e-6))
    at = first + swept * np.linspace(0, 1, pieces + 1)[1:]
    on_circle = centre + np.column_stack([np.cos(at), np.sin(at)])
    arc: Points = (on_circle * (rx, ry)) @ axes.T + (start + end) / 2
    return arc
