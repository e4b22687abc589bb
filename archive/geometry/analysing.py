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

from archive.geometry.corners import find_corner, lies_in_corner, turns_whole
from archive.geometry.doubts import Doubtful
from archive.geometry.flatness.bends import FLAT, Bend
from archive.geometry.flatness.finding import find_bend
from archive.geometry.flatness.numbering import Part
from archive.geometry.lattice import Lattice, find_lattices
from archive.geometry.mitres import doubts_of_mitre
from archive.geometry.neighbours import NO_POINTS, Points
from archive.geometry.rings import Ring, find_rings
from archive.geometry.rounds import Round, find_round
from archive.geometry.strips import Strip, read_strip

Mask = NDArray[np.bool_]

APART = 2.2
"""Marks further than this from the lace, in pitches, are no part of it: picots stand one off."""

LEAST_PART = 0.05
"""Part of the ground that a separate piece of lace must carry."""


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
            near = [lies_in_corner(pin, strip, found.corner) for pin in strip.points]
            straight = ~np.array(near, dtype=bool)
        parts.append(Part(points[side][straight], points[side], strip.ground.lattice))
    return parts


def _analyse_flat(points: Points, whole: Strip, middles: Points) -> Analysis:
    """What the pins of a flat sheet tell, after they have been read as one strip."""
    corner = find_corner(points, whole)
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
        if not lies_in_corner(doubt.position, strip, at)
        or (doubt.kind == "extra" and turns_whole(strip))
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


def rings_of(analysis: Analysis, outlines: Sequence[Points]) -> list[Ring]:
    """The rings of a sheet, on the flat.

    Args:
        analysis: what was found on the sheet.
        outlines: (k, 2) corners of each closed line on the sheet, as it lies.
    """
    grids = [strip.ground.grid for strip in analysis.strips if strip.ground is not None]
    lines = [analysis.bend.flatten(outline) for outline in outlines]
    return find_rings(analysis.as_meant, grids, lines)
