"""Doubts about a corner: it is its own mirror image, and a pin without its image is a witness.

The net of a corner may be redrawn, so its lattice does not tell what is missing there; the other
half of the corner does. A pin on the mitre is its own image; there it is the columns that tell:
each of them keeps its distance from the footside and turns at a pin on the mitre, so that these
pins stand in even steps. Knows pins, the directions of the two sides and the middles of rings.
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

IN_STEP = 0.2
"""How far pins on the mitre may lie off their even steps, in those steps."""

BESIDE = 1.3
"""A place of the net has pins within so many steps of it on either side of the mitre."""

APART = 0.6
"""Two pins of a design stand further apart than this part of it; an extra one often does not."""


def doubts_of_mitre(
    points: Points,
    at: Points,
    sides: tuple[Points, Points],
    width: float,
    column: float | None,
    middles: Points,
) -> list[Doubtful]:
    """Places near a corner where its halves differ, and one on the mitre that is passed over.

    Args:
        points: (n, 2) the pins.
        at: (2,) where the two footsides meet.
        sides: (2,) vectors along the two sides, away from the corner: of length 1, but for what
            one side is stretched against the other.
        width: of the lace.
        column: distance of neighbouring columns of the ground, or None without one.
        middles: (m, 2) places that are empty because they are the middle of a ring.
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
    if column is not None:
        on_mitre = np.hypot(*(images - near).T) < PARTNER * spacing
        step = -column * axes.sum(axis=0)
        passed_over = _passed_over(near[on_mitre], near[~on_mitre], step, middles)
        found += [Doubtful(place, "missing") for place in passed_over]
    return found


def _passed_over(mitre: Points, beside: Points, step: Points, middles: Points) -> list[Points]:
    """The (2,) place on the mitre that holds no pin though its neighbours do; at most one.

    Several such places are a design, as in honeycomb.

    Args:
        mitre: (k, 2) pins on the mitre.
        beside: (n, 2) the others near the corner.
        step: (2,) from one column's turning pin to the next one's.
        middles: (m, 2) middles of rings: they hold no pin and count as if they did.
    """
    length = float(np.hypot(*step))
    mitre = mitre[np.argsort(mitre @ step)]
    found = []
    for start, gap in zip(mitre, np.diff(mitre @ step) / length**2, strict=False):
        steps = round(float(gap))
        if abs(gap - steps) > IN_STEP:
            continue
        empty = start + np.arange(1, steps)[:, None] * step
        held = np.ones(steps + 1, dtype=bool)
        held[1:-1] = (
            np.hypot(*(empty[:, None] - middles).transpose(2, 0, 1)).min(axis=1, initial=np.inf)
            < length / 2
        )
        for place in empty[~held[1:-1] & held[:-2] & held[2:]]:
            if (np.hypot(*(beside - place).T) < BESIDE * length).sum() >= 2:
                found.append(place)
    return found if len(found) == 1 else []


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
