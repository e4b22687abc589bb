"""A corner: where two footsides meet at a right angle.

Knows pins and strips, and nothing of the net that may be redrawn there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from archive.geometry.bases import stretched_step
from archive.geometry.footsides import find_foot
from archive.geometry.neighbours import Points
from archive.geometry.strips import Strip, rightwards

Mask = NDArray[np.bool_]


def find_corner(
    points: Points, strip: Strip
) -> tuple[Points, list[Mask], tuple[Points, Points]] | None:
    """Where two footsides meet at a right angle, the pins of either side and the way each goes.

    The corner of a lace that edges a cloth lies round the cloth: each footside looks into the
    quarter that the other one bounds.
    """
    for foot in strip.feet:
        for away in (foot.outward, -foot.outward):
            # on a stretched sheet the other side has another pitch, on a slanted one its own way
            step = stretched_step(points, away * foot.pitch)
            pitch = float(np.hypot(*step))
            for outward in (rightwards(step / pitch), -rightwards(step / pitch)):
                other = find_foot(points, step / pitch, outward, pitch)
                if other is None:
                    continue
                here, there = points[foot.pins].mean(axis=0), points[other.pins].mean(axis=0)
                if (there - here) @ foot.outward <= 0 or (here - there) @ outward <= 0:
                    continue
                across = (there - here) @ outward / (foot.along @ outward)
                at = here + foot.along * across
                # the square between the two sides belongs to neither: its net may be redrawn
                here_side = (points - at) @ outward > foot.pitch / 2
                there_side = (points - at) @ foot.outward > foot.pitch / 2
                sides = [here_side & ~there_side, there_side & ~here_side]
                upright = abs(foot.along[1]) >= abs(foot.along[0])
                first = foot.along * np.sign(foot.along @ outward)
                second = step / pitch * np.sign(step @ foot.outward) * (other.pitch / foot.pitch)
                return at, sides if upright else sides[::-1], (first, second)
    return None


def turns_whole(strip: Strip) -> bool:
    """Whether the ground is its own mirror image at a corner, so that it needs no redrawing."""
    return strip.ground is not None and abs(strip.ground.lattice.angle_deg - 45) < 1


def lies_in_corner(position: Points, strip: Strip, at: Points) -> bool:
    """Whether a place lies so near the corner that the net may have been redrawn for it."""
    placed = strip.upright(np.array([position, at]))
    width = float(np.ptp(strip.upright(strip.points)[:, 0]))
    return bool(abs(placed[0, 1] - placed[1, 1]) < width)
