"""The overlay: what was found, drawn over the sheet, so that a person can check it.

Knows where each mark lies on the sheet; the symbols and the legend have rooms of their own.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from archive.errors import UsageError
from archive.geometry.analysing import Analysis, analyse, rings_of
from archive.geometry.flatness.bends import Bend
from archive.geometry.mending import Mended, heed, mend_pins
from archive.geometry.neighbours import nearest_distance
from archive.geometry.outlines import find_outlines
from archive.geometry.overlay.canvas import XY, Canvas, Stroke
from archive.geometry.overlay.legends import draw_legend
from archive.geometry.overlay.symbols import (
    DOUBT,
    FOOT,
    HALO,
    INK,
    LINES,
    PIN,
    REPEAT,
    TINT_OPACITY,
    TINTS,
    draw_by_hand,
    draw_doubt,
    draw_ring,
)
from archive.geometry.reading.pixels import Scan
from archive.geometry.reading.sheets import read_sheet
from archive.geometry.rings import find_middles
from archive.geometry.strips import Strip
from archive.records.byhand import NOTHING_SAID, ByHand
from archive.records.measurement import MeasuredRound, Measurement


def draw_overlay(path: Path, measurement: Measurement, out: Path) -> None:
    """The sheet in `path` is drawn to `out` with everything the measurement found on it.

    Args:
        path: the file that was measured.
        measurement: its measurement.
        out: an `.svg` or `.png` file.

    Raises:
        UsageError: `out` ends otherwise.
        UnreadableFile: the sheet is gone or damaged.
        StorageError: there is no room or no permission.
    """
    if out.suffix.lower() not in (".svg", ".png"):
        raise UsageError(
            f"An overlay cannot be written as “{out.name}”.", "Let its name end in .svg or .png."
        )
    compose(path, measurement).write(out)


def compose(path: Path, measurement: Measurement) -> Canvas:
    """The overlay as a canvas."""
    source = measurement.source
    if source is None:
        raise UsageError("Bare positions have no sheet to draw on.", "Measure the file itself.")
    sheet = read_sheet(path, page=source.page)
    points = np.array(measurement.pins.positions_px).reshape(-1, 2)
    if isinstance(sheet, Scan):
        picture, outlines = sheet.grey, find_outlines(sheet.grey, points)
    else:
        picture, outlines = None, sheet.outlines_px
    size = max(source.width_px, source.height_px) / 55
    panel = 24 * size
    height = max(source.height_px, 30 * size)
    canvas = Canvas(source.width_px + panel, height, picture, _title(measurement))
    mended = mend_pins(points, _said(measurement), px_per_mm=None, source=source)
    analysis = heed(analyse(points, find_middles(points, outlines)), mended)
    # everything is drawn in proportion to the distance of neighbouring pins
    unit = nearest_distance(points) or 10.0
    for strip in analysis.strips:
        _draw_areas(canvas, strip, analysis.bend)
        _draw_lines(canvas, strip, analysis.bend, unit)
        _draw_feet(canvas, strip, analysis.bend, unit)
        _draw_repeats(canvas, strip, analysis.bend, unit)
    _draw_corner(canvas, analysis, unit)
    _draw_parts(canvas, measurement.round, unit)
    for ring in rings_of(analysis, outlines):
        pins = analysis.as_meant
        nearest_pins = np.hypot(*(pins - ring.middle).T).argsort()[: ring.pins]
        draw_ring(canvas, analysis.bend.on_sheet(pins[nearest_pins]), 0.45 * unit)
    hollow = Stroke(line=PIN, width=0.09 * unit)
    dot = Stroke(fill=INK)
    for x, y in points.tolist():
        if picture is None:
            canvas.circle((x, y), 0.09 * unit, dot)
        canvas.circle((x, y), 0.22 * unit, hollow)
    for doubt in measurement.doubts:
        at = (doubt.x_px, doubt.y_px)
        for stroke in (Stroke(line=HALO, width=0.22 * unit), Stroke(line=DOUBT, width=0.1 * unit)):
            canvas.circle(at, 2.0 * unit, stroke)
        draw_doubt(canvas, doubt.kind, at, 0.5 * unit)
    by_hand = _standing_marks(mended)
    for is_hole, places in by_hand.items():
        for place in places:
            draw_by_hand(canvas, is_hole, place, 0.34 * unit)
    counts = {is_hole: len(places) for is_hole, places in by_hand.items()}
    draw_legend(canvas, measurement, counts, source.width_px + size, size)
    return canvas


def _said(measurement: Measurement) -> ByHand:
    """What a person said of the sheet, as the measurement remembers it."""
    told = measurement.by_hand
    return NOTHING_SAID if told is None else ByHand(marks=told.marks, foot=told.foot)


def _standing_marks(mended: Mended) -> dict[bool, list[XY]]:
    """Places said to be a hole (True) or none (False), but for those said otherwise later."""
    standing: dict[bool, list[XY]] = {True: [], False: []}
    for mark in mended.told.marks:
        near = np.hypot(*(mended.points - (mark.x, mark.y)).T) <= mended.reach
        if near.any() == mark.hole:
            standing[mark.hole].append((mark.x, mark.y))
    return standing


def _title(measurement: Measurement) -> str:
    count, doubts = measurement.pins.count, len(measurement.doubts)
    return f"Measured pricking: {count} pins, {doubts} doubtful places."


def _draw_areas(canvas: Canvas, strip: Strip, bend: Bend) -> None:
    for net in strip.ground.areas if strip.ground else ():
        loops = [bend.on_sheet(loop).tolist() for loop in net.loops]
        canvas.region(loops, TINTS[net.kind], opacity=TINT_OPACITY)


def _draw_lines(canvas: Canvas, strip: Strip, bend: Bend, unit: float) -> None:
    """Ground lines between neighbouring pins of the lattice."""
    if strip.ground is None:
        return
    grid = strip.ground.grid
    thin = Stroke(line=LINES, width=0.05 * unit)
    for step in ((1, 1), (-1, 1)):
        pairs = np.argwhere(grid.taken & grid.around(grid.taken, step))
        starts, ends = (bend.on_sheet(grid.position(cells)) for cells in (pairs, pairs + step))
        for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
            canvas.line((start, end), thin)


def _draw_feet(canvas: Canvas, strip: Strip, bend: Bend, unit: float) -> None:
    """A line beside each footside, with a tick at each of its pins."""
    wide = Stroke(line=FOOT, width=0.16 * unit)
    for foot in strip.feet:
        inner, outer = (
            bend.on_sheet(strip.points[foot.pins] + part * foot.pitch * foot.outward)
            for part in (0.4, 0.6)
        )
        canvas.line(outer[[0, -1]].tolist(), wide)
        for ends in zip(inner, outer, strict=True):
            canvas.line(ends, wide)


def _draw_repeats(canvas: Canvas, strip: Strip, bend: Bend, unit: float) -> None:
    """A dashed line across the lace where each repeat begins."""
    repeat = strip.repeat
    if repeat is None or repeat.rows == 1:
        return
    placed = strip.upright(strip.points)
    length = float(np.hypot(*repeat.step))
    ends = (placed[:, 0].min() - 1.2 * unit, placed[:, 0].max() + 1.2 * unit)
    dashed = Stroke(line=REPEAT, width=0.12 * unit, dash=0.5 * unit)
    for number in range(repeat.seen + 1):
        down = placed[:, 1].min() - 0.25 * unit + number * length
        border = strip.sideways(np.array([(end, down) for end in ends]))
        canvas.line(bend.on_sheet(border).tolist(), dashed)


def _draw_corner(canvas: Canvas, analysis: Analysis, unit: float) -> None:
    """A dashed line along the mitre, from where the footsides meet to the outermost pin."""
    at, ways = analysis.corner, [strip.along for strip in analysis.strips]
    if at is None:
        return
    away = [
        way * np.sign((strip.points.mean(axis=0) - at) @ way)
        for way, strip in zip(ways, analysis.strips, strict=True)
        if way is not None
    ]
    outward = -np.sum(away, axis=0) / np.hypot(*np.sum(away, axis=0))
    far = float(((analysis.points - at) @ outward).max()) + unit
    ends = analysis.bend.on_sheet(np.array([at, at + far * outward]))
    canvas.line(ends.tolist(), Stroke(line=FOOT, width=0.16 * unit, dash=0.5 * unit))


def _draw_parts(canvas: Canvas, found: MeasuredRound | None, unit: float) -> None:
    """Dashed lines from the centre of a round, one part of the turn from each other."""
    if found is None:
        return
    centre = np.array(found.centre_px)
    dashed = Stroke(line=REPEAT, width=0.12 * unit, dash=0.5 * unit)
    for turn in np.arange(found.parts) * (2 * np.pi / found.parts):
        way = np.array([np.sin(turn), -np.cos(turn)])
        end = centre + (found.across_px / 2 + 1.2 * unit) * way
        canvas.line([(centre + 2 * unit * way).tolist(), end.tolist()], dashed)
