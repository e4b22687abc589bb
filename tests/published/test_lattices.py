"""Ground angles that are published for families of lace, found again on drawn grounds."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from archive.geometry import measure_points
from tests.strategies_geometry import ground_patch


@pytest.mark.parametrize("angle", [45.0, 52.0, 56.0, 60.0, 65.0, 70.0])
def test_the_angles_of_torchon_and_point_ground_are_found(angle: float) -> None:
    """Torchon is at 45° from the footside, Bucks point anywhere from 52° to 70°.

    Source: durell.me.uk/BucksPointSub.html, after P. Nottingham, The Technique of Bobbin Lace.
    """
    found = measure_points(ground_patch(angle, 2.2, 12, 30), px_per_mm=1)
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(angle, abs=1e-3)
    assert found.thread is not None


def test_isometric_paper_gives_a_ground_with_six_neighbours_at_one_pitch() -> None:
    """Paper of 60° and of 30° are one grid: from the footside its lines stand at 60°.

    Source: lacegumnuts.com/bucks-point, which names both for point ground.
    """
    pins = ground_patch(60, 2.2, 12, 30)
    found = measure_points(pins, px_per_mm=1)
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(60, abs=1e-3)
    middle = pins[np.hypot(*(pins - pins.mean(axis=0)).T).argmin()]
    distances, _ = cKDTree(pins).query(middle, k=8)
    assert distances[1:7] == pytest.approx(found.ground.pitch_mm, rel=1e-6)
    assert distances[7] > 1.5 * distances[6]


@pytest.mark.parametrize(
    ("columns", "half_rows", "angle"), [(1, 1, 45.0), (4, 3, 53.13), (3, 2, 56.31), (5, 3, 59.04)]
)
def test_grounds_drawn_on_squared_paper_stand_at_the_angle_of_its_squares(
    columns: int, half_rows: int, angle: float
) -> None:
    """Source: geometry; so many squares across for so many down, the angle is their arc tangent."""
    squares = np.array(
        [
            (column * columns, (2 * row + column % 2) * half_rows)
            for column in range(12)
            for row in range(20)
        ]
    )
    found = measure_points(squares.astype(float))
    assert found.ground is not None
    assert found.ground.angle_deg == pytest.approx(angle, abs=0.005)
    assert found.ground.pitch_px == pytest.approx(2 * half_rows)
