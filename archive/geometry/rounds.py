"""A lace about a centre: the part of a turn after which its pins come again.

Knows points in a plane. A mat or a motif has no direction that a footside could have; its repeat
is a turn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from archive.geometry.neighbours import Points, nearest, nearest_distance

FEWEST_PINS = 24
FEWEST_IN_PART = 4

LEAST_PARTNERS = 0.75
"""Part of the pins that must come to lie on pins; 5 % missing and 3 % extra leave nine in ten."""

FEWER_PARTNERS = 0.04
"""A finer turn may bring this part fewer pins onto pins than the best: a ground in rings fits
itself at every pin, its figures and its edge do not."""

REACH = 0.25
"""Pins are partners within this part of the distance of neighbours."""

SETTLING = (4.0, 2.0, 1.0, 1.0)
"""How much further partners may lie while the centre is found anew from them: holes that are
missing on one side move the mean of all by more than their own scatter."""


@dataclass(frozen=True)
class Round:
    """A round.

    Attributes:
        centre: (2,) what it turns about.
        parts: how many like parts it has.
        pins: pins in one part, as many as the round has in the mean.
        radius: distance of the outermost pin from the centre, lone ones left out.
    """

    centre: Points
    parts: int
    pins: int
    radius: float


def find_round(points: Points) -> Round | None:
    """The round that the points make up, or None where no turn brings them onto themselves.

    Args:
        points: (n, 2) positions.
    """
    if len(points) < FEWEST_PINS:
        return None
    spacing = nearest_distance(points)
    if spacing == 0:
        return None
    tree = cKDTree(points)
    tried = [
        (*_turned(tree, points, parts, REACH * spacing), parts)
        for parts in range(2, len(points) // FEWEST_IN_PART + 1)
    ]
    most = max(share for share, _, _ in tried)
    if most < LEAST_PARTNERS:
        return None
    _, centre, parts = max(
        (row for row in tried if row[0] >= most - FEWER_PARTNERS), key=lambda row: row[2]
    )
    distances, _ = nearest(tree, (points - centre) @ _turn(parts) + centre)
    again = distances[:, 0] < REACH * spacing
    radius = float(np.hypot(*(points[again] - centre).T).max())
    return Round(centre, parts, round(len(points) / parts), radius)


def _turn(parts: int) -> Points:
    """(2, 2) matrix that turns positions, `points @ matrix`, by one part."""
    angle = 2 * np.pi / parts
    return np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])


def _turned(tree: cKDTree, points: Points, parts: int, reach: float) -> tuple[float, Points]:
    """Share of points that one of so many turns brings near a point, and the centre of the turn.

    The mean of all points is the centre but for holes that are missing or too many; where the
    partners lie tells it better.
    """
    turn = _turn(parts)
    centre = points.mean(axis=0)
    share = 0.0
    for further in SETTLING:
        images = (points - centre) @ turn + centre
        distances, pins = nearest(tree, images)
        near = distances[:, 0] < further * reach
        share = float(near.mean())
        if share < LEAST_PARTNERS / 2:
            break
        # the images lie beside their partners by as much as the centre is wrong, turned
        beside = np.median(points[pins[near, 0]] - images[near], axis=0)
        centre = centre + np.linalg.solve((np.eye(2) - turn).T, beside)
    return share, centre
