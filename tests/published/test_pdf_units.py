"""The units of PDF pages, as ISO 32000-1:2008 has them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from archive.geometry import Drawing, read_sheet
from tests.pdf_writing import one_page

THREE = b"".join(b"%d 71 2 2 re f " % x for x in (71, 143, 215))
"""Squares about (72, 72), (144, 72) and (216, 72)."""


@pytest.mark.parametrize(("entry", "unit_inch"), [
    (b"", 1 / 72),  # 8.3.2.3: the default of user space is 1/72 inch
    (b"/UserUnit 1", 1 / 72),  # table 30: UserUnit counts in multiples of 1/72 inch
    (b"/UserUnit 2.5", 2.5 / 72),
    (b"/UserUnit 0.1", 0.1 / 72),
])  # fmt: skip
def test_a_page_is_measured_in_its_own_unit(entry: bytes, unit_inch: float, tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(one_page(THREE, entry, box=b"0 0 288 144"))
    drawing = read_sheet(path)
    assert isinstance(drawing, Drawing)
    assert drawing.px_per_mm is not None
    found_mm = np.sort(drawing.pins_px / drawing.px_per_mm, axis=0)
    inch = 72 * unit_inch * 25.4
    np.testing.assert_allclose(
        found_mm, [(inch, inch), (2 * inch, inch), (3 * inch, inch)], rtol=1e-6
    )
    assert drawing.width_px / drawing.px_per_mm == pytest.approx(4 * inch, rel=1e-6)


def test_a4_is_210_by_297_mm(tmp_path: Path) -> None:
    """ISO 216; PDF writers round it to 595 by 842 units, a third of a unit off at most."""
    path = tmp_path / "a.pdf"
    path.write_bytes(one_page(THREE, box=b"0 0 595.276 841.89"))
    drawing = read_sheet(path)
    assert drawing.px_per_mm is not None
    assert isinstance(drawing, Drawing)
    assert drawing.width_px / drawing.px_per_mm == pytest.approx(210, abs=1e-3)
    assert drawing.height_px / drawing.px_per_mm == pytest.approx(297, abs=1e-3)
