"""Invented prickings for tests: where the holes, lines and words of a sheet lie, in mm.

Everything random comes from the generator given.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Points = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """A drawn line: (n, 2) points in mm, its width in mm and how black it is, 0 to 1."""

    points_mm: Points
    width_mm: float
    ink: float


@dataclass(frozen=True)
class Word:
    """A number or word, its middle and height in mm and how black it is, 0 to 1."""

    text: str
    middle_mm: tuple[float, float]
    height_mm: float
    ink: float


@dataclass(frozen=True)
class Drawing:
    """Where everything on a sheet lies, in mm from its top left corner, y down."""

    size_mm: tuple[float, float]
    holes_mm: Points
    curves: tuple[Curve, ...] = ()
    words: tuple[Word, ...] = ()


def net(width_mm: float, length_mm: float, pitch_mm: float, angle_deg: float) -> Points:
    """A full net: pitch along the columns, ground lines at the angle from them."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    columns = np.arange(int(width_mm / column_mm) + 1)
    rows = np.arange(int(length_mm / pitch_mm) + 1)
    across, down = np.meshgrid(columns, rows)
    points = np.stack([across * column_mm, (down + across % 2 / 2) * pitch_mm], axis=-1)
    return points.reshape(-1, 2)


def honeycomb_gaps(holes_mm: Points, pitch_mm: float, angle_deg: float) -> NDArray[np.bool_]:
    """Which points of `net` a honeycomb net leaves out: one in four."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    column = np.rint(holes_mm[:, 0] / column_mm).astype(int)
    half_row = np.rint(2 * holes_mm[:, 1] / pitch_mm).astype(int)
    first, second = (half_row + column) // 2, (half_row - column) // 2
    return (first % 2 == 0) & (second % 2 == 0)


def edging(rng: Generator, length_mm: float, pitch_mm: float, angle_deg: float) -> Drawing:
    """A strip with a foot, scallops with picots, gimps round honeycomb and open figures."""
    column_mm = pitch_mm * np.tan(np.radians(angle_deg)) / 2
    repeat_mm = pitch_mm * int(rng.integers(8, 15))
    depth_mm, width_mm = rng.uniform(1.5, 4) * pitch_mm, column_mm * int(rng.integers(12, 26))

    def head_mm(y: Points) -> Points:
        return depth_mm * (1 - np.abs(np.sin(np.pi * y / repeat_mm)))

    holes = net(width_mm, length_mm, pitch_mm, angle_deg)
    gaps = honeycomb_gaps(holes, pitch_mm, angle_deg)
    keep = holes[:, 0] > head_mm(holes[:, 1]) + 1.2 * pitch_mm
    curves, words = [], []
    radius_mm = min(0.3 * repeat_mm, 0.3 * width_mm)
    middle_x = depth_mm + (width_mm - depth_mm) * rng.uniform(0.4, 0.6)
    round_about = np.linspace(0, 2 * np.pi, 60)
    gimp_mm, gimp_ink = rng.uniform(0.25, 0.7), rng.uniform(0.6, 1.0)
    open_middle = bool(rng.integers(2))
    for y in np.arange(repeat_mm / 2, length_mm, repeat_mm):
        middle = np.array([middle_x, y])
        far = np.hypot(*(holes - middle).T)
        keep &= ~((far < radius_mm) & gaps)
        if open_middle:
            keep &= far > 0.45 * radius_mm
        ring = middle + radius_mm * np.stack([np.cos(round_about), np.sin(round_about)], axis=1)
        curves.append(Curve(ring, gimp_mm, gimp_ink))
    down = np.arange(0, length_mm, 0.5)
    edge = np.stack([head_mm(down) + 0.8 * pitch_mm, down], axis=1)
    curves.append(Curve(edge, gimp_mm, gimp_ink))
    fine = np.stack([head_mm(np.arange(0, length_mm, 0.05)), np.arange(0, length_mm, 0.05)], axis=1)
    steps = np.cumsum(np.hypot(*np.diff(fine, axis=0).T))
    picots = fine[np.searchsorted(steps, np.arange(0, steps[-1], 0.85 * pitch_mm))]
    foot_x = (np.rint(width_mm / column_mm) + 1.7) * column_mm
    foot_y = np.arange(0, length_mm, pitch_mm) + pitch_mm * rng.choice([0.25, 0.5])
    foot = np.stack([np.full_like(foot_y, foot_x), foot_y], axis=1)
    holes = np.concatenate([foot, picots, holes[keep]])
    holes = _no_two_within(holes[holes[:, 1] <= length_mm], 0.55 * pitch_mm)
    for _ in range(int(rng.integers(0, 4))):
        ends = rng.uniform([0, 0], [foot_x, length_mm], (2, 2))
        curves.append(Curve(ends, rng.uniform(0.1, 0.25), rng.uniform(0.2, 0.5)))
    for number in range(int(rng.integers(0, 25))):
        x, y = holes[rng.integers(len(holes))] + [0.9, 0.9]
        words.append(Word(str(number + 1), (x, y), rng.uniform(1.2, 2.2), rng.uniform(0.5, 1)))
    return Drawing((foot_x, length_mm), holes, tuple(curves), tuple(words))


def _no_two_within(points: Points, gap: float) -> Points:
    """The points without the later one of each pair that lies too close."""
    pairs = cKDTree(points).query_pairs(gap, output_type="ndarray")
    return np.delete(points, np.unique(pairs.max(axis=1, initial=0)) if len(pairs) else [], axis=0)


def tape(rng: Generator, length_mm: float, pitch_mm: float) -> Drawing:
    """A strip without a ground: a winding tape and a straight one, the worker's way across them."""
    width_mm, swing_mm = rng.uniform(1.5, 2.5) * pitch_mm, rng.uniform(3, 6) * pitch_mm
    wave_mm = rng.uniform(9, 14) * pitch_mm
    down = np.arange(0, length_mm, 0.05)
    across = swing_mm * (1 - np.cos(2 * np.pi * down / wave_mm)) / 2
    holes, curves = [], []
    for middle_x in (across + width_mm, np.full_like(down, swing_mm + 4 * width_mm)):
        middle = np.stack([middle_x, down], axis=1)
        way = np.gradient(middle, axis=0)
        aside = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(*way.T)[:, None]
        steps = np.cumsum(np.hypot(*way.T))
        turns = np.searchsorted(steps, np.arange(pitch_mm / 2, steps[-1], pitch_mm / 2))
        sides = np.where(np.arange(len(turns)) % 2, 0.5, -0.5)[:, None]
        edge = middle[turns] + sides * width_mm * aside[turns]
        holes.append(edge)
        curves.append(Curve(edge, 0.12, rng.uniform(0.2, 0.5)))
    drawn = _no_two_within(np.concatenate(holes), 0.4 * pitch_mm)
    return Drawing((swing_mm + 5 * width_mm, length_mm), drawn, tuple(curves))


def plaits(rng: Generator, length_mm: float, pitch_mm: float) -> Drawing:
    """A strip without a ground: a foot, and plaits that meet at pins, with picots between."""
    span_mm = pitch_mm * int(rng.integers(3, 6))
    foot_x, joint_x, picot_x = 5 * pitch_mm, 2.5 * pitch_mm, 0.5 * pitch_mm
    foot_y = np.arange(0, length_mm, pitch_mm)
    joint_y = np.arange(span_mm / 2, length_mm, span_mm)
    foot = [np.stack([np.full_like(foot_y, x), foot_y], axis=1) for x in (foot_x, foot_x + 4)]
    foot[1][:, 1] += pitch_mm / 2
    joints = np.stack([np.full_like(joint_y, joint_x), joint_y], axis=1)
    turn = np.linspace(0, np.pi, int(rng.integers(3, 5)) + 2)[1:-1]
    bows = joint_y[:-1, None] + span_mm * (1 - np.cos(turn)) / 2
    picots = np.stack([joint_x - np.broadcast_to(np.sin(turn) * 2 * pitch_mm, bows.shape), bows], 2)
    ink, width_mm = rng.uniform(0.4, 0.8), rng.uniform(0.15, 0.28)
    curves = []
    for joint in joints:
        for side in (-0.5, 0.5):
            end = np.array([foot_x, joint[1] + side * span_mm])
            curves.append(Curve(np.stack([joint, end]), width_mm, ink))
    bow = np.stack([np.sin(np.linspace(0, np.pi, 30)), np.cos(np.linspace(0, np.pi, 30))], axis=1)
    for y in joint_y[:-1]:
        arc = np.array([joint_x, y + span_mm / 2]) - bow * np.array([1.3 * pitch_mm, span_mm / 2])
        curves.append(Curve(arc, width_mm, ink))
    holes = np.concatenate([*foot, joints, picots.reshape(-1, 2)])
    holes = _no_two_within(holes[holes[:, 1] <= length_mm], 0.4 * pitch_mm)
    return Drawing((foot_x + 4 - picot_x, length_mm), holes, tuple(curves))


KINDS = ("edging", "edging", "edging", "edging", "tape", "plaits")


def sheet(
    rng: Generator,
    pitch_mm: float,
    angle_deg: float,
    size_mm: tuple[float, float] = (210.0, 297.0),
) -> Drawing:
    """A sheet with as many strips as fit, a title, a scale and loose remarks.

    A few holes are missing from it, and a few are pricked where none belongs.
    """
    (width_mm, height_mm), margin_mm = size_mm, 18.0
    holes, curves, words, x = [], [], [], margin_mm
    while True:
        kind, length_mm = rng.choice(KINDS), rng.uniform(0.5, 0.8) * height_mm
        if kind == "edging":
            strip = edging(rng, length_mm, pitch_mm, angle_deg)
        else:
            strip = (tape if kind == "tape" else plaits)(rng, length_mm, pitch_mm)
        if x + strip.size_mm[0] > width_mm - margin_mm and holes:
            break
        shift = np.array([x, rng.uniform(28, 36)])
        fits = strip.holes_mm[:, 0] + x < width_mm - 6
        holes.append(strip.holes_mm[fits] + shift)
        curves += [replace(curve, points_mm=curve.points_mm + shift) for curve in strip.curves]
        words += [
            replace(word, middle_mm=(word.middle_mm[0] + shift[0], word.middle_mm[1] + shift[1]))
            for word in strip.words
        ]
        x += strip.size_mm[0] + rng.uniform(8, 14)
        if rng.random() < 0.3:
            break
    ink = rng.uniform(0.6, 1.0)
    words.append(Word("Edging with rings, No. 17 (20 pairs)", (80.0, 16.0), 4.0, ink))
    words.append(Word("foot . . . head : turn here i", (0.57 * width_mm, height_mm - 17), 3.0, ink))
    right, bottom = width_mm - 8, height_mm - 8
    border = np.array([[8, 8], [right, 8], [right, bottom], [8, bottom], [8, 8]], dtype=float)
    if rng.random() < 0.5:
        curves.append(Curve(border, 0.3, ink))
    faulty = _faulty(rng, np.concatenate(holes), pitch_mm)
    return Drawing((width_mm, height_mm), faulty, tuple(curves), tuple(words))


def _faulty(rng: Generator, holes_mm: Points, pitch_mm: float) -> Points:
    """The holes without up to three of them, and with up to three that do not belong."""
    missing = rng.choice(len(holes_mm), int(rng.integers(4)), replace=False)
    beside = rng.choice(len(holes_mm), int(rng.integers(4)), replace=False)
    turn = rng.uniform(0, 2 * np.pi, (len(beside), 1))
    way = np.concatenate([np.cos(turn), np.sin(turn)], axis=1)
    extra = holes_mm[beside] + rng.uniform(0.5, 0.7, (len(beside), 1)) * pitch_mm * way
    kept = np.delete(holes_mm, missing, axis=0)
    return _no_two_within(np.concatenate([kept, extra]), 0.4 * pitch_mm)
