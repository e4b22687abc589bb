from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from archive.site.derivatives import Cut, of_picture


@pytest.mark.parametrize("size", [(2880, 240), (240, 2880)])
def test_a_strip_that_was_not_measured_fills_its_small_picture(
    size: tuple[int, int], tmp_path: Path
) -> None:
    """Shown whole, a strip of one to twelve would be a line through an empty picture."""
    strip = Image.new("L", size, 235)
    pen = ImageDraw.Draw(strip)
    for x in range(15, size[0], 30):
        for y in range(15, size[1], 30):
            pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=30)
    strip.save(tmp_path / "strip.png")
    _, small = of_picture(tmp_path / "strip.png", Cut(None, 0.0, marks=True), page=1)
    dark = np.asarray(Image.open(io.BytesIO(small.data)).convert("L")) < 100
    assert np.ptp(np.flatnonzero(dark.any(axis=1))) > 0.8 * small.height
    assert np.ptp(np.flatnonzero(dark.any(axis=0))) > 0.6 * small.width
