"""The overlay: what was found, drawn over the sheet, so that a person can check it.

Knows what each mark means and how it looks. Doubts differ by shape as well as by colour; no
meaning hangs on red against green.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from archive.errors import UsageError
from archive.geometry.analysing import Analysis, analyse, rings_of
from archive.geometry.canvas import XY, Canvas, Stroke
from archive.geometry.flatness import Bend
from archive.geometry.mending import Mended, heed, mend_pins
from archive.geometry.neighbours import Points, nearest_distance
from archive.geometry.outlines import find_outlines
from archive.geometry.reading.pixels import Scan
from archive.geometry.reading.sheets import read_sheet
from archive.geometry.rings import find_middles
from archive.geometry.strips import Strip
from archive.records.byhand import NOTHING_SAID, ByHand
from archive.records.measurement import MeasuredRound, Measurement

INK = "#23262b"
PIN = "#007a80"
FOOT = "#22409c"
REPEAT = "#7c2478"
RING = "#4a3000"
LINES = "#7f8794"
DOUBT = "#c43a00"
HALO = "#ffffff"
TINTS = {"full net": "#e6b325", "honeycomb net": "#a35ab5", "open": "#6f9bd1"}
TINT_OPACITY = 0.28

_DOUBTS = {
    "missing": "perhaps missing",
    "extra": "perhaps one too many",
    "off-line": "off its line",
}


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
        _draw_ring(canvas, analysis.bend.on_sheet(pins[nearest_pins]), 0.45 * unit)
    hollow = Stroke(line=PIN, width=0.09 * unit)
    dot = Stroke(fill=INK)
    for x, y in points.tolist():
        if picture is None:
            canvas.circle((x, y), 0.09 * unit, dot)
        canvas.circle((x, y), 0.22 * unit, hollow)
    for doubt in measurement.doubts:
        at = (doubt.x_px, doubt.y_px)
        canvas.circle(at, 2.0 * unit, Stroke(line=DOUBT, width=0.1 * unit))
        _draw_doubt(canvas, doubt.kind, at, 0.5 * unit)
    by_hand = _standing_marks(mended)
    for is_hole, places in by_hand.items():
        for place in places:
            _draw_by_hand(canvas, is_hole, place, 0.34 * unit)
    counts = {is_hole: len(places) for is_hole, places in by_hand.items()}
    _draw_legend(canvas, measurement, counts, source.width_px + size, size)
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


def _draw_ring(canvas: Canvas, pins: Points, by: float) -> None:
    """A circle round the pins of a ring, so far outside them, with a tick towards each."""
    middle = pins.mean(axis=0)
    radius = float(np.hypot(*(pins - middle).T).max()) + by
    for stroke in (Stroke(line=HALO, width=0.55 * by), Stroke(line=RING, width=0.3 * by)):
        canvas.circle(middle.tolist(), radius, stroke)
        for way in (pins - middle) / np.hypot(*(pins - middle).T)[:, None]:
            canvas.line([middle + part * way for part in (radius - 0.6 * by, radius)], stroke)


def _draw_doubt(canvas: Canvas, kind: str, at: tuple[float, float], size: float) -> None:
    """The mark of one kind of doubt: diamond, cross or triangle, on a white rim."""
    shapes: dict[str, tuple[list[list[tuple[float, float]]], bool]] = {
        "missing": ([[(0, -1), (1, 0), (0, 1), (-1, 0)]], True),
        "extra": ([[(-0.8, -0.8), (0.8, 0.8)], [(0.8, -0.8), (-0.8, 0.8)]], False),
        "off-line": ([[(0, -1), (0.95, 0.7), (-0.95, 0.7)]], True),
    }
    lines, closed = shapes[kind]
    for stroke in (
        Stroke(line=HALO, width=0.55 * size),
        Stroke(line=DOUBT, width=0.28 * size),
    ):
        for line in lines:
            points = [(at[0] + size * x, at[1] + size * y) for x, y in line]
            canvas.line(points, stroke, closed=closed)


def _draw_by_hand(canvas: Canvas, is_hole: bool, at: XY, size: float) -> None:
    """A square where a person says is a hole, a struck-out square where they say is none."""
    x, y = at
    corners = [
        (x - size, y - size),
        (x + size, y - size),
        (x + size, y + size),
        (x - size, y + size),
    ]
    strike = [(x - 1.5 * size, y + 1.5 * size), (x + 1.5 * size, y - 1.5 * size)]
    for stroke in (Stroke(line=HALO, width=0.6 * size), Stroke(line=INK, width=0.25 * size)):
        canvas.line(corners, stroke, closed=True)
        if not is_hole:
            canvas.line(strike, stroke)


def _draw_legend(
    canvas: Canvas,
    measurement: Measurement,
    by_hand: dict[bool, int],
    left: float,
    size: float,
) -> None:
    """What the marks mean, the main figures and a scale bar, beside the sheet."""
    y = 2.2 * size
    sample = left + 0.8 * size
    words = left + 2.4 * size

    def note(text: str) -> None:
        nonlocal y
        canvas.words((words, y), text, size=size, colour=INK)
        y += 1.7 * size

    canvas.circle((sample, y - 0.3 * size), 0.45 * size, Stroke(line=PIN, width=0.18 * size))
    note(f"{measurement.pins.count} pins")
    if measurement.ground is not None:
        ends = ((left + 0.2 * size, y), (left + 1.4 * size, y - 0.7 * size))
        canvas.line(ends, Stroke(line=LINES, width=0.12 * size))
        note(f"ground at {measurement.ground.angle_deg:.1f}° from the footside")
    if measurement.foot.side != "none":
        ends = ((sample, y + 0.1 * size), (sample, y - 0.9 * size))
        canvas.line(ends, Stroke(line=FOOT, width=0.3 * size))
        pitch = _length(measurement.foot.pitch_mm, measurement.foot.pitch_px)
        note(f"footside: {measurement.foot.side}, {pitch} a pin")
        if measurement.foot.perhaps_head:
            note("(or one side is a straight headside)")
    repeat = measurement.repeat
    if repeat is not None and repeat.rows != 1:
        ends = ((left, y - 0.3 * size), (left + 1.7 * size, y - 0.3 * size))
        canvas.line(ends, Stroke(line=REPEAT, width=0.22 * size, dash=0.4 * size))
        rows = "" if repeat.rows is None else f"{repeat.rows} rows, "
        note(f"repeat: {rows}{_length(repeat.length_mm, repeat.length_px)}")
    if measurement.round is not None:
        ends = ((left, y - 0.3 * size), (left + 1.7 * size, y - 0.3 * size))
        canvas.line(ends, Stroke(line=REPEAT, width=0.22 * size, dash=0.4 * size))
        note(f"{measurement.round.parts} like parts, {measurement.round.pins_per_part} pins each")
    if measurement.corner.present:
        ends = ((left, y - 0.3 * size), (left + 1.7 * size, y - 0.3 * size))
        canvas.line(ends, Stroke(line=FOOT, width=0.22 * size, dash=0.4 * size))
        note("corner: the mitre")
    for number, pins in ((measurement.rings.four_pin, 4), (measurement.rings.six_pin, 6)):
        if number:
            turns = np.arange(pins) * (2 * np.pi / pins)
            shape = 0.2 * size * np.column_stack([np.sin(turns), -np.cos(turns)])
            _draw_ring(canvas, shape + np.array([sample, y - 0.3 * size]), 0.25 * size)
            note(f"rings of {'four' if pins == 4 else 'six'} pins: {number}")
    for kind in TINTS:
        if any(area.kind == kind for area in measurement.areas):
            box = [(left + 0.2 * size, y - 0.8 * size), (left + 1.4 * size, y + 0.2 * size)]
            corners = (box[0], (box[1][0], box[0][1]), box[1], (box[0][0], box[1][1]))
            canvas.region([corners], TINTS[kind], opacity=2 * TINT_OPACITY)
            note("open figure" if kind == "open" else kind)
    for kind, text in _DOUBTS.items():
        count = sum(doubt.kind == kind for doubt in measurement.doubts)
        if count:
            _draw_doubt(canvas, kind, (sample, y - 0.3 * size), 0.5 * size)
            note(f"{count} {text}")
    if not measurement.doubts:
        note("no doubtful places")
    for is_hole, count in by_hand.items():
        if count:
            _draw_by_hand(canvas, is_hole, (sample, y - 0.3 * size), 0.45 * size)
            note(f"{count} by hand: {'a hole' if is_hole else 'no hole'}")
    if measurement.pairs is not None:
        pairs = measurement.pairs
        note(f"about {pairs.estimate} pairs ({pairs.low} to {pairs.high}), estimated")
    y += size
    _draw_scale_bar(canvas, measurement, left, y, size)


def _length(length_mm: float | None, length_px: float | None) -> str:
    return f"{length_px or 0:.1f} pixels" if length_mm is None else f"{length_mm:.2f} mm"


def _draw_scale_bar(
    canvas: Canvas, measurement: Measurement, left: float, y: float, size: float
) -> None:
    px_per_mm = measurement.scale.px_per_mm
    if px_per_mm is None:
        canvas.words((left, y), "scale unknown", size=size, colour=INK)
        return
    fitting = [mm for mm in (1, 2, 5, 10, 20, 50, 100) if mm * px_per_mm <= 16 * size]
    length_mm = max(fitting, default=1)
    end = left + length_mm * px_per_mm
    bar = Stroke(line=INK, width=0.2 * size)
    canvas.line(((left, y), (end, y)), bar)
    for x in (left, end):
        canvas.line(((x, y - 0.4 * size), (x, y + 0.4 * size)), bar)
    canvas.words((left, y + 1.6 * size), f"{length_mm} mm", size=size, colour=INK)
