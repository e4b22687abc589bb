"""From the picture of a sheet that was photographed at a slant to its figures."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from archive.geometry import measure
from tests.designs import Drawing, net
from tests.rendering import Look, draw
from tests.strategies_geometry import turned_corner

PITCH_MM, ANGLE_DEG = 3.0, 57.0


PARCHMENT = Look(dpi=200, mark="pricked", paper=0.62, contrast=0.4, stains=3, noise=0.015)


def photograph(drawing: Drawing, down: float, path: Path) -> float:
    """Pillow's own perspective transform slants the finished picture, the mean scale growing.

    Args:
        drawing: what lies on the parchment.
        down: part by which the scale grows from the top to the bottom of the picture.
        path: where the photograph is put.

    Returns:
        The height of the picture in pixels.
    """
    flat = draw(drawing, PARCHMENT, np.random.default_rng(11), jitter_mm=0.02)
    picture = Image.fromarray((flat.grey * 255).round().astype(np.uint8))
    width, height = picture.size
    # what lies at p in the photograph lies at p / (1 + lean · p) in the scan, from the middle
    lean = down / 1.5 / height
    x, y = width / 2, height / 2
    rows = (
        1, x * lean, -x * lean * y,
        0, 1 + y * lean, -y * lean * y,
        0, lean, 1 - lean * y,
    )  # fmt: skip
    matrix = np.array(rows) / rows[-1]
    seen = picture.transform(
        picture.size,
        Image.Transform.PERSPECTIVE,
        tuple(matrix[:8]),
        Image.Resampling.BICUBIC,
        fillcolor=round(255 * PARCHMENT.paper),
    )
    seen.save(path, dpi=(200, 200))
    return float(height)


def test_a_parchment_photographed_at_a_slant_is_measured_as_if_it_lay_flat(tmp_path: Path) -> None:
    holes = net(42.0, 90.0, PITCH_MM, ANGLE_DEG) + 9.0
    path = tmp_path / "parchment.png"
    height = photograph(Drawing((60.0, 108.0), holes), 0.04, path)
    found = measure(path)
    assert found.bend is not None
    assert found.bend.kind == "slanted"
    pinned = float(np.ptp(np.array(found.pins.positions_px)[:, 1]))
    told = 100 * 0.04 * pinned / height
    assert found.bend.down_percent == pytest.approx(told, abs=4 * found.bend.down_sd_percent)
    assert abs(found.bend.across_percent) < 4 * found.bend.across_sd_percent
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(ANGLE_DEG, abs=0.1)
    assert found.ground.pitch_mm == pytest.approx(PITCH_MM, rel=2e-3)
    assert found.doubts == ()


def test_a_corner_photographed_at_a_slant_is_measured_as_if_it_lay_flat(tmp_path: Path) -> None:
    holes, _ = turned_corner(54.0, PITCH_MM)
    holes = holes - holes.min(axis=0) + 9.0
    path = tmp_path / "corner.png"
    width, length = holes.max(axis=0) + 9.0
    height = photograph(Drawing((float(width), float(length)), holes), 0.03, path)
    found = measure(path)
    assert found.pins.count == len(holes)
    assert found.corner.present
    assert found.bend is not None
    assert found.bend.kind == "slanted"
    pinned = float(np.ptp(np.array(found.pins.positions_px)[:, 1]))
    told = 100 * 0.03 * pinned / height
    assert found.bend.across_percent + found.bend.down_percent == pytest.approx(told, abs=0.2)
    assert found.stretch is None
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(54.0, abs=0.1)
    assert found.ground.pitch_mm == pytest.approx(PITCH_MM, rel=3e-3)
    assert found.doubts == ()
