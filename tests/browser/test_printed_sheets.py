"""Sheets that a browser printed to PDF: another program's documents, with known positions."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser
from scipy.spatial import cKDTree

from archive.geometry import Drawing, read_sheet

DEMO = Path(__file__).parents[2] / "demo_collection"
TRUTH = {
    entry["sheet"]: entry["pins"]["positions_mm"]
    for entry in json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
}
MM_PER_PX = 25.4 / 96


@pytest.mark.parametrize("name", ["p-04", "p-24", "t-05"])
def test_every_pin_of_a_printed_sheet_is_read_to_the_micrometre(
    name: str, browser: Browser, tmp_path: Path
) -> None:
    """The drawing is whole pixels large: the browser rounds others, and what is in them with it."""
    sheet = f"sheets/{name}.svg"
    drawn = (DEMO / sheet).read_text(encoding="utf-8")
    inside = drawn[drawn.index(">") + 1 : drawn.rindex("</svg>")]
    page = browser.new_page()
    page.set_content(
        '<style>body{margin:0}svg{display:block}</style><svg width="800" height="1100" '
        f'viewBox="0 0 {800 * MM_PER_PX} {1100 * MM_PER_PX}">{inside}</svg>'
    )
    path = tmp_path / "printed.pdf"
    page.pdf(path=path, width="800px", height="1200px")
    page.close()
    drawing = read_sheet(path)
    assert isinstance(drawing, Drawing)
    assert drawing.px_per_mm is not None
    found, known = drawing.pins_px / drawing.px_per_mm, np.array(TRUTH[sheet])
    away_mm, _ = cKDTree(found).query(known)
    assert len(found) == len(known)
    assert away_mm.max() < 0.001
