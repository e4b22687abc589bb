"""Doubts about a corner: it is its own mirror image, and a pin without its image is a witness.

The net of a corner may be redrawn, so its lattice does not tell what is missing there; the other
half of the corner does. Knows pins and the directions of the two sides.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from archive.geometry.doubts import Doubtful
from archive.geometry.neighbours import Points, nearest, nearest_distance

LEAST_MIRRORED = 0.9
"""Part of the corner's pins that must have an image: a corner that is worked otherwise than
mirrored has hardly more than a third by chance."""

MOST_UNLIKE = 2
"""More places that differ than this are design."""

PARTNER = 0.35
"""A pin is another one's image within this part of the distance of neighbours."""

APART = 0.6
"""Two pins of a design stand further apart than this part of it; an extra one often does not."""


def doubts_of_mitre(
    points: Points, at: Points, sides: tuple[Points, Points], width: float
) -> list[Doubtful]:
    """Places near a corner where its halves differ.

    Args:
        points: (n, 2) the pins.
        at: (2,) where the two footsides meet.
        sides: (2,) unit vectors along the two sides, away from the corner.
        width: of the lace.
    """
    axes = np.array(sides)
    swap = np.linalg.inv(axes) @ axes[::-1]
    near = points[(np.abs((points - at) @ np.linalg.inv(axes)) < width).all(axis=1)]
    spacing = nearest_distance(points)
    if len(near) == 0:
        return []
    images, distance = _images(points, near, at, swap, PARTNER * spacing)
    if (distance < PARTNER * spacing).mean() < LEAST_MIRRORED:
        return []
    lone = np.flatnonzero(distance >= PARTNER * spacing)
    if len(lone) > MOST_UNLIKE:
        return []
    found = []
    for index in lone.tolist():
        pin, image = near[index], images[index]
        beside, _ = nearest(cKDTree(points), pin[None, :], count=2)
        if beside[0, 1] < APART * spacing:
            found.append(Doubtful(pin, "extra"))
        elif distance[index] > APART * spacing:
            found.append(Doubtful(image, "missing"))
    return found


def _images(
    points: Points, near: Points, at: Points, swap: Points, reach: float
) -> tuple[Points, Points]:
    """Images of the near pins, and how far from each the nearest pin lies.

    The mirror line is moved to where the partners say it is.
    """
    tree = cKDTree(points)
    images = (near - at) @ swap + at
    for _ in range(2):
        distance, pin = nearest(tree, images)
        partners = distance[:, 0] < reach
        if partners.any():
            images = images + np.median(points[pin[partners, 0]] - images[partners], axis=0)
    distance, _ = nearest(tree, images)
    return images, distance[:, 0]
