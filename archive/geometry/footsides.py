"""The footside: a straight line of pins at one distance with nothing outside it.

Knows points and directions. Whether a line is the foot of an edging or one of the two feet of
an insertion follows from how many there are, not from the side alone: English point ground has
it on the right, the continental families on the left, and old sheets are scanned either way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Indices = NDArray[np.int64]

LINE_HALF_WIDTH = 0.14
"""How far pins may lie off the line, in pitches."""

STEP_TOLERANCE = 0.2
"""How far pins may lie off their place along the line, in pitches."""

FEWEST_PINS = 5
LEAST_COVER = 0.4
"""Part of the sheet's length that the line must run along."""

WHOLE_COVER = 0.9
"""A line that runs along more than this part is the footside; none further in is looked for."""

LEAST_FILLED = 0.65
"""Part of the places along the line that must hold a pin."""

LEAST_OWN = 0.8
"""Part of the pins along the line that must be its own: every second pin is not the pitch."""

SPECK_COST = 3.0
SHUT_COST = 8.0
"""How many pins with nothing outside them make up for one with something: single ones stand
beside specks in the margin, two in a row beside more of the lace. Specks are few: where every
second pin has something outside, that is the edge of a honeycomb, pricked two pitches apart."""

OUTSIDE_REACH = 6.0
"""How far outside is looked, in pitches."""

UNEVEN, UNEVEN_SIGMAS = 0.06, 3.0
"""The gaps of a line may differ from its pitch by this part in the median, or by as many of their
own standard errors: the picots of a scallop stand closer, and a few of each may keep the step."""

LONGEST_BREAK = 4
"""Missing pins in a row after which it is another line."""

FAR_OFF = 5.0
"""Pins further from the even step than so many times the median do not tell it: 3.4 standard
deviations."""


@dataclass(frozen=True)
class FootLine:
    """One footside.

    Attributes:
        pins: (k,) indices of its pins, in order along it.
        outward: (2,) unit vector to the empty side.
        along: (2,) unit vector down the line.
        pitch: mean distance of neighbouring pins.
        gap_sd: standard deviation of the single gaps.
        cover: part of the sheet's length it runs along, at most 1.
    """

    pins: Indices
    outward: Points
    along: Points
    pitch: float
    gap_sd: float
    cover: float


def find_foot(points: Points, along: Points, outward: Points, pitch: float) -> FootLine | None:
    """The longest equidistant line with nothing outside it on one side, or None.

    Args:
        points: (n, 2) pin positions.
        along: (2,) unit vector down the footside.
        outward: (2,) unit vector, across it, to the side where nothing may lie.
        pitch: the distance of its pins.
    """
    down, out = points @ along, points @ outward
    length = float(np.ptp(down)) + pitch
    best: FootLine | None = None
    for at in _crowded_lines(out, pitch, length):
        pins = _pins_in_line(down, out, at, pitch)
        if not _makes_foot(down, out, pins, pitch, length):
            continue
        line = _fit(points, pins, along, outward, pitch, length)
        if best is None or len(line.pins) > len(best.pins):
            best = line
        if best.cover > WHOLE_COVER:
            break
    return best


def _crowded_lines(out: Points, pitch: float, length: float) -> Iterator[float]:
    """Where, from the outside inwards, enough pins for a footside lie in a line."""
    half = LINE_HALF_WIDTH * pitch
    ranked = np.sort(-out)
    counts = np.searchsorted(ranked, ranked + half, side="right") - np.searchsorted(
        ranked, ranked - half, side="left"
    )
    needed = max(FEWEST_PINS, LEAST_COVER * LEAST_FILLED * length / pitch)
    last = -np.inf
    for inward in ranked[counts >= needed].tolist():
        if inward >= last + half / 4:
            last = inward
            yield -inward


def _pins_in_line(down: Points, out: Points, at: float, pitch: float) -> Indices:
    """Pins in order of a line about `at` that keep one step and have hardly anything outside."""
    half = LINE_HALF_WIDTH * pitch
    close = np.flatnonzero(np.abs(out - at) <= half)
    pins = close[_equidistant(down[close], pitch)]
    beyond = (out > at + 2 * half) & (out < at + OUTSIDE_REACH * pitch)
    pins = pins[_open_stretch(down[pins], down[beyond], pitch)]
    return _beside_line(down, out, pins, pitch) if len(pins) >= FEWEST_PINS else pins


def _makes_foot(down: Points, out: Points, pins: Indices, pitch: float, length: float) -> bool:
    """Whether a line is long, filled, alone and even enough for a footside."""
    if len(pins) < FEWEST_PINS:
        return False
    span = float(np.ptp(down[pins])) + pitch
    if span < LEAST_COVER * length or len(pins) * pitch < LEAST_FILLED * span:
        return False
    along_it = (down >= down[pins[0]]) & (down <= down[pins[-1]])
    between = along_it & (np.abs(out - out[pins].mean()) <= LINE_HALF_WIDTH * pitch)
    return bool(len(pins) >= LEAST_OWN * between.sum()) and _keeps_pitch(down[pins], pitch)


def _keeps_pitch(down: Points, pitch: float) -> bool:
    """Whether neighbouring pins of a line, in order, stand as far apart as its pitch says."""
    gaps = np.diff(down) / pitch
    gaps = gaps[np.rint(gaps) == 1]
    if len(gaps) == 0:
        return False
    error = float(gaps.std()) / np.sqrt(len(gaps))
    return bool(abs(np.median(gaps) - 1) < max(UNEVEN, UNEVEN_SIGMAS * error))


def _beside_line(down: Points, out: Points, pins: Indices, pitch: float) -> Indices:
    """All pins near the straight line through `pins`, between their ends, that keep its step."""
    slope, at = np.polyfit(down[pins], out[pins], 1)
    off = np.abs(out - at - slope * down)
    near = off < np.clip(4 * np.median(off[pins]) / 0.6745, 0.06 * pitch, STEP_TOLERANCE * pitch)
    near &= (down > down[pins].min() - pitch / 2) & (down < down[pins].max() + pitch / 2)
    close = np.flatnonzero(near)
    kept: Indices = close[_equidistant(down[close], pitch)]
    return kept


def _equidistant(down: Points, pitch: float) -> Indices:
    """Indices of the longest run of positions that keep one step, in order."""
    phases = down / pitch
    angle = np.angle(np.exp(2j * np.pi * phases).mean()) / (2 * np.pi)
    number = np.rint(phases - angle)
    off = np.abs(phases - angle - number)
    kept = np.flatnonzero(off < STEP_TOLERANCE)
    if len(kept) == 0:
        return kept
    kept = kept[np.lexsort((off[kept], number[kept]))]
    numbers = number[kept]
    first = np.concatenate([[True], np.diff(numbers) > 0])
    kept, numbers = kept[first], numbers[first]
    breaks = np.flatnonzero(np.diff(numbers) > LONGEST_BREAK) + 1
    runs = [kept[a:b] for a, b in pairwise([0, *breaks.tolist(), len(kept)])]
    return max(runs, key=len)


def _open_stretch(down: Points, beyond: Points, pitch: float) -> slice:
    """The longest stretch of a line's pins, in order, outside of which hardly anything lies."""
    beyond = np.sort(beyond)
    outside = np.searchsorted(beyond, down + pitch / 2) - np.searchsorted(beyond, down - pitch / 2)
    shut = np.concatenate([[False], outside > 0, [False]])
    in_a_row = shut[1:-1] & (shut[:-2] | shut[2:])
    gain = np.where(in_a_row, -SHUT_COST, np.where(shut[1:-1], -SPECK_COST, 1.0))
    best, total, start = (0.0, 0, 0), 0.0, 0
    for end, value in enumerate(gain.tolist()):
        if total <= 0:
            total, start = 0.0, end
        total += value
        if total > best[0]:
            best = (total, start, end + 1)
    return slice(best[1], best[2])


def _fit(
    points: Points, pins: Indices, along: Points, outward: Points, pitch: float, length: float
) -> FootLine:
    down = points[pins] @ along
    number = np.rint((down - down[0]) / pitch)
    step = _even_step(number, down)
    neighbours = np.diff(number) == 1
    gaps = np.diff(down)[neighbours]
    gap_sd = float(gaps.std(ddof=1)) if len(gaps) > 1 else 0.0
    cover = min(1.0, (float(np.ptp(down)) + pitch) / length)
    return FootLine(pins, outward, along, step, gap_sd, cover)


def _even_step(number: Points, down: Points) -> float:
    """The step that most of the pins keep: before a corner the last ones may close up.

    Least squares over the pins that lie near the line of Theil and Sen's slope.

    Source: P. K. Sen, Journal of the American Statistical Association 63 (1968), 1379-1389.
    """
    half = len(number) // 2
    slope = float(np.median((down[half:] - down[:-half]) / (number[half:] - number[:-half])))
    off = down - slope * number
    off = np.abs(off - np.median(off))
    near = off <= max(FAR_OFF * float(np.median(off)), 1e-6 * slope)
    return float(np.polyfit(number[near], down[near], 1)[0])
