"""The legend of an overlay: what the marks mean, the main figures and a scale bar.

Knows the measurement and the symbols; it stands beside the sheet and knows nothing that lies on it.
"""

from __future__ import annotations

import numpy as np

from archive.geometry.overlay.canvas import Canvas, Stroke
from archive.geometry.overlay.symbols import (
    FOOT,
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
from archive.records.measurement import Measurement

_DOUBTS = {
    "missing": "perhaps missing",
    "extra": "perhaps one too many",
    "off-line": "off its line",
}


def draw_legend(
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
            draw_ring(canvas, shape + np.array([sample, y - 0.3 * size]), 0.25 * size)
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
            draw_doubt(canvas, kind, (sample, y - 0.3 * size), 0.5 * size)
            note(f"{count} {text}")
    if not measurement.doubts:
        note("no doubtful places")
    for is_hole, count in by_hand.items():
        if count:
            draw_by_hand(canvas, is_hole, (sample, y - 0.3 * size), 0.45 * size)
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
