"""A drawn strip of torchon ground, the smallest sheet with everything that is measured."""

from __future__ import annotations

from pathlib import Path

PITCH_MM = 4.0
ROWS = 30


def draw_strip(path: Path, *, columns: int, gap: tuple[float, float] | None = None) -> Path:
    """Write it as an SVG drawing of 40 by 140 mm; the hole at `gap`, in millimetres, is left out.

    The columns stand at half the pitch, every other one shifted by half of it.
    """
    half = PITCH_MM / 2
    holes = [
        (10 + column * half, 10 + row * PITCH_MM + column % 2 * half)
        for column in range(columns)
        for row in range(ROWS)
    ]
    assert gap is None or gap in holes
    marks = "".join(f'<circle cx="{x:g}" cy="{y:g}" r="0.3"/>' for x, y in holes if (x, y) != gap)
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="140mm" '
        f'viewBox="0 0 40 140">{marks}</svg>',
        encoding="utf-8",
    )
    return path
