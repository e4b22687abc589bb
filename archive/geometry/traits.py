"""Traits of a strip of lace from which its pairs, thread and effort are estimated.

Knows what was found on one strip; knows no house rules and no millimetres.
"""

from __future__ import annotations

import numpy as np

from archive.geometry.footsides import FootLine
from archive.geometry.strips import Strip, on_feet, rightwards, stands_off

OUTSIDE_HEAD = 0.03
"""Share of pins outside the ground on the head's side that makes a shaped headside."""

FEWEST_OUTSIDE_HEAD = 5
"""And so many pins: on a small sheet a speck and a hole beside its place are no headside."""

FEWEST_STARTING_PINS = 4


def foot_side(strip: Strip) -> str:
    """On which side the footside lies, the strip set upright."""
    if strip.along is None or not strip.feet:
        return "none"
    if len(strip.feet) == 2:
        return "both"
    return "right" if strip.feet[0].outward @ rightwards(strip.along) > 0 else "left"


def feet_off_ground(strip: Strip) -> list[FootLine]:
    """Footsides whose edge pins stand off the ground's own places."""
    if strip.ground is None:
        return []
    lattice = strip.ground.lattice
    return [foot for foot in strip.feet if stands_off(strip.points, foot, lattice)]


def edged_alike(strip: Strip) -> bool:
    """Whether both edges are straight and pinned on the ground's own places.

    So do an insertion and an edging with a straight headside look where edge pins do not stand off,
    as in torchon; one sheet turned by half may be the other.
    """
    return strip.ground is not None and len(strip.feet) == 2 and not feet_off_ground(strip)


def ground_columns(strip: Strip) -> int:
    """Columns of ground pins at the widest place, edge pins that stand off the ground left out."""
    if strip.ground is None:
        return 0
    grid = strip.ground.grid
    edge = on_feet(feet_off_ground(strip), len(strip.points))
    used = grid.taken & ~(grid.taken & edge[grid.pin])
    filled = used.sum(axis=1)
    columns = np.flatnonzero(filled >= max(2.0, 0.1 * float(np.median(filled[filled > 0]))))
    return int(np.ptp(columns)) + 1 if len(columns) else 0


def has_shaped_head(strip: Strip) -> bool:
    """Whether pins follow a headside outside the ground."""
    if strip.ground is None or len(strip.feet) == 2:
        return False
    loose = ~strip.ground.lattice.on & ~on_feet(strip.feet, len(strip.points))
    return bool(loose.sum() >= FEWEST_OUTSIDE_HEAD and loose.mean() > OUTSIDE_HEAD)


def is_plain_patch(strip: Strip) -> bool:
    """Whether the strip is ground alone: no figure, no headside, no footside of its own."""
    if strip.ground is None or feet_off_ground(strip) or has_shaped_head(strip):
        return False
    return not any(net.kind == "open" for net in strip.ground.surface.nets)


def starting_pins(strip: Strip) -> int:
    """Pins of the starting row of a bare strip: from foot to foot at one of its ends, else 0."""
    if strip.ground is not None or len(strip.feet) != 2:
        return 0
    placed = strip.upright(strip.points)
    left, right = (float(placed[foot.pins, 0].mean()) for foot in strip.feet)
    near = 0.3 * strip.feet[0].pitch
    across = (placed[:, 0] > left - near) & (placed[:, 0] < right + near)
    for end in (placed[:, 1].min(), placed[:, 1].max()):
        row = across & (np.abs(placed[:, 1] - end) < near)
        if row.sum() >= FEWEST_STARTING_PINS:
            return int(row.sum())
    return 0


def pins_along(strip: Strip) -> float | None:
    """Pins in a unit of length, by the repeat or over the whole strip; None without a direction."""
    if strip.repeat is not None:
        return strip.repeat.pins / float(np.hypot(*strip.repeat.step))
    if strip.along is None or strip.ground is None:
        return None
    # a column of pins is as long as they are many: from half a gap above it to half below
    length = float(np.ptp(strip.upright(strip.points)[:, 1])) + strip.ground.lattice.pitch / 2
    return len(strip.points) / length
