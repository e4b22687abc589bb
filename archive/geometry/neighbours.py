"""Which pins lie nearest. Knows points in a plane and nothing else."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Points = NDArray[np.float64]
Indices = NDArray[np.int64]

NO_POINTS: Points = np.empty((0, 2))


def nearest(
    tree: cKDTree, places: Points, *, count: int = 1, within: float = np.inf
) -> tuple[Points, Indices]:
    """(m, count) distances and indices of the pins of `tree` nearest to each place.

    Where fewer are `within` reach the distance is infinite and the index is that of no pin.
    """
    distances, indices = tree.query(
        places, k=[*range(1, count + 1)], distance_upper_bound=float(within)
    )
    return np.asarray(distances, dtype=np.float64), np.asarray(indices, dtype=np.int64)


def nearest_distance(points: Points) -> float:
    """Median distance of a pin from its nearest neighbour; 0 for fewer than two pins."""
    if len(points) < 2:
        return 0.0
    distances, _ = nearest(cKDTree(points), points, count=2)
    return float(np.median(distances[:, 1]))
