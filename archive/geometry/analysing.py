"""A whole sheet: one strip of lace, or two that meet in a corner.

Knows strips. Each side of a corner is read as the straight lace it is. Knows nothing of
millimetres, files or records.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from archive.geometry.bases import stretched_step
from archive.geometry.doubts import Doubtful
from archive.geometry.flatness import FLAT, Bend, Part, find_bend
from archive.geometry.footsides import FootLine, find_foot
from archive.geometry.lattice import Lattice, find_lattices
from archive.geometry.mitres import doubts_of_mitre
from archive.geometry.neighbours import NO_POINTS, Points
from archive.geometry.rings import Ring, find_rings
from archive.geometry.rounds import Round, find_round
from archive.geometry.strips import Strip, on_feet, read_strip, rightwards, stands_off

Mask = NDArray[np.bool_]

APART = 2.2
"""Marks further than this from the lace, in pitches, are no part of it: picots stand one off."""

LEAST_PART = 0.05
"""Part of the ground that a separate piece of lace must carry."""

OUTSIDE_HEAD = 0.03
"""Share of pins outside the ground on the head's side that makes a shaped headside."""

FEWEST_STARTING_PINS = 4


@dataclass(frozen=True)
class Analysis:
    """What was found on a sheet, as it lies when the sheet is made flat.

    Attributes:
        points: (n, 2) the pins; without marks that stand away from a lace with a ground.
        sides: (n,) for each strip which of the pins are its own.
        strips: the straight parts, the more upright first; one, or the two sides of a corner.
        corner: (2,) where the footsides of the two sides meet, or None.
        doubts: of all strips, from the top down.
        bend: tells where on the sheet itself each of these positions lies.
        round: how a lace without ground, footside and repeat lies about a centre, or None.
    """

    points: Points
    sides: list[Mask]
    strips: list[Strip]
    corner: Points | None
    doubts: list[Doubtful]
    bend: Bend
    round: Round | None = None

    @property
    def main(self) -> Strip:
        """The strip from which the figures are taken."""
        return self.strips[0]

    @property
    def as_meant(self) -> Points:
        """(n, 2) the pins without those that seem too many, with those that seem to be missing."""
        extra = [doubt.position for doubt in self.doubts if doubt.kind == "extra"]
        missing = [doubt.position for doubt in self.doubts if doubt.kind == "missing"]
        odd = (self.points[:, None] == np.reshape(extra, (-1, 2))).all(axis=2).any(axis=1)
        return np.concatenate([self.points[~odd], np.reshape(missing, (-1, 2))])

    @property
    def tilt_deg(self) -> float | None:
        """Clockwise turn that sets the main footside upright."""
        along = self.main.along
        return None if along is None else float(np.rad2deg(np.arctan2(along[0], along[1])))


def analyse(points: Points, middles: Points = NO_POINTS) -> Analysis:
    """Everything the pins of a sheet tell.

    Args:
        points: (n, 2) float64 positions as (x, y), y down. Any number, none included.
        middles: (m, 2) places that are known to be the empty middle of a ring.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    whole = read_strip(points, middles)
    if whole.ground is None:
        return _analyse_by_halves(points, middles) or _analyse_flat(points, whole, middles)
    lace = belongs(points, whole.ground.lattice)
    if not lace.all():
        points = points[lace]
        whole = read_strip(points, middles)
    found = _analyse_flat(points, whole, middles)
    bend = find_bend(points, _parts(points, found))
    if bend is FLAT:
        return found
    flattened = _analyse_bent(points, middles, bend)
    if flattened.corner is not None and found.corner is None:
        # now that the corner shows, its square, where the net may be redrawn, is left out
        return _analyse_bent(points, middles, find_bend(points, _parts(points, flattened)))
    return flattened


def _analyse_bent(points: Points, middles: Points, bend: Bend) -> Analysis:
    flat, middles = bend.flatten(points), bend.flatten(middles)
    return replace(_analyse_flat(flat, read_strip(flat, middles), middles), bend=bend)


def _analyse_by_halves(points: Points, middles: Points) -> Analysis | None:
    """What a sheet tells on which no single lattice fits before it is flattened by half of it."""
    if len(points) == 0:
        return None
    longer = int(np.ptp(points, axis=0).argmax())
    upper = points[:, longer] < np.median(points[:, longer])
    for half in (points[upper], points[~upper]):
        for lattice in find_lattices(half)[:1]:
            bend = find_bend(points, [Part(points, half, lattice)])
            if bend is not FLAT:
                found = _analyse_bent(points, middles, bend)
                if found.main.ground is not None:
                    return found
    return None


def _parts(points: Points, found: Analysis) -> list[Part]:
    """The parts of a sheet by whose lattices its bend is found; (n, 2) points on the sheet."""
    parts = []
    for side, strip in zip(found.sides, found.strips, strict=True):
        if strip.ground is None:
            continue
        straight = np.ones(len(strip.points), dtype=bool)
        if found.corner is not None:
            near = [_in_corner(pin, strip, found.corner) for pin in strip.points]
            straight = ~np.array(near, dtype=bool)
        parts.append(Part(points[side][straight], points[side], strip.ground.lattice))
    return parts


def _analyse_flat(points: Points, whole: Strip, middles: Points) -> Analysis:
    """What the pins of a flat sheet tell, after they have been read as one strip."""
    corner = _find_corner(points, whole)
    if corner is None:
        every = [np.ones(len(points), dtype=bool)]
        straight = whole.ground is not None or whole.repeat is not None or whole.feet
        turning = None if straight else find_round(points)
        return Analysis(points, every, [whole], None, whole.doubts, FLAT, turning)
    at, sides, ways = corner
    strips = [read_strip(points[side], middles) for side in sides]
    width = float(np.ptp(strips[0].upright(strips[0].points)[:, 0]))
    grounds = [strip.ground.lattice.column for strip in strips if strip.ground is not None]
    column = float(np.mean(grounds)) if grounds else None
    doubts = [
        doubt
        for strip in strips
        for doubt in strip.doubts
        if not _in_corner(doubt.position, strip, at)
        or (doubt.kind == "extra" and _turns_whole(strip))
    ]
    pitch = min((foot.pitch for strip in strips for foot in strip.feet), default=0.0)
    doubts += [
        doubt
        for doubt in doubts_of_mitre(points, at, ways, width, column, middles)
        if all(np.hypot(*(doubt.position - other.position)) > pitch / 2 for other in doubts)
    ]
    doubts.sort(key=lambda doubt: (doubt.position[1], doubt.position[0], doubt.kind))
    return Analysis(points, sides, strips, at, doubts, FLAT)


def belongs(points: Points, lattice: Lattice) -> Mask:
    """(n,) true for the marks that hang together with the ground; titles and numbers do not."""
    pairs = cKDTree(points).query_pairs(APART * lattice.pitch, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(points), len(points)))
    _, group = connected_components(links, directed=False)
    on_ground = np.bincount(group, weights=lattice.on)
    lace: Mask = on_ground[group] >= LEAST_PART * lattice.on.sum()
    return lace


def _find_corner(
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


def _turns_whole(strip: Strip) -> bool:
    """Whether the ground is its own mirror image at a corner, so that it needs no redrawing."""
    return strip.ground is not None and abs(strip.ground.lattice.angle_deg - 45) < 1


def _in_corner(position: Points, strip: Strip, at: Points) -> bool:
    """Whether a place lies so near the corner that the net may have been redrawn for it."""
    placed = strip.upright(np.array([position, at]))
    width = float(np.ptp(strip.upright(strip.points)[:, 0]))
    return bool(abs(placed[0, 1] - placed[1, 1]) < width)


def rings_of(analysis: Analysis, outlines: Sequence[Points]) -> list[Ring]:
    """The rings of a sheet, on the flat.

    Args:
        analysis: what was found on the sheet.
        outlines: (k, 2) corners of each closed line on the sheet, as it lies.
    """
    grids = [strip.ground.grid for strip in analysis.strips if strip.ground is not None]
    lines = [analysis.bend.flatten(outline) for outline in outlines]
    return find_rings(analysis.as_meant, grids, lines)


# -- what pairs and thread are estimated from ------------------------------------------------


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
    return bool(loose.mean() > OUTSIDE_HEAD)


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
