"""A plain piece of point ground and the footsides that may lie beside it, as bare points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tests.strategies_geometry import ground_patch

PITCH, ANGLE, COLUMNS, ROWS = 2.0, 58.0, 9, 30
WIDTH = PITCH * np.tan(np.deg2rad(ANGLE)) / 2
GROUND = ground_patch(ANGLE, PITCH, COLUMNS, ROWS)


def foot_at(x: float) -> NDArray[np.float64]:
    """Return a footside as long as the ground, its pins level with the middle between two."""
    return np.column_stack([np.full(ROWS, x), np.arange(ROWS) * PITCH + PITCH / 2])


LEFT = foot_at(-1.6 * WIDTH)
RIGHT = foot_at((COLUMNS - 1 + 1.6) * WIDTH)
