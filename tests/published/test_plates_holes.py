"""The holes of a handbook's plates, drawn again as engraved and found in the drawing.

Source: Th. de Dillmont, Encyclopedia of Needlework, c. 1886 (public domain; Project Gutenberg
20776), figures 785, 787 and 791. `plates.csv` holds the hole centres in pixels of low-resolution
scans of the plates. The plates show dark dots with a light rim on a ground of fine lines, and
figures of the same size as the holes beside them; here they are drawn so afresh.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from archive.geometry.holes.finding import find_holes
from tests.designs import Points
from tests.rendering import engraved, matched


def published(figure: str) -> Points:
    """(n, 2) the hole centres of one figure."""
    with (Path(__file__).parent / "plates.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["figure"] == figure]
    return np.array([[float(row["x_px"]), float(row["y_px"])] for row in rows])


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(("figure", "least_f1"), [("785", 0.95), ("787", 0.98), ("791", 0.98)])
def test_the_holes_of_an_engraved_plate_are_found(figure: str, least_f1: float, seed: int) -> None:
    print(f"seed {seed}")
    holes_px = published(figure)
    grey = engraved(holes_px, np.random.default_rng(seed))
    found = find_holes(grey)
    hits = len(matched(found.positions_px, holes_px, 2.0))
    assert 2 * hits / (len(holes_px) + len(found.positions_px)) >= least_f1
    assert found.polarity == "dark"
