"""A drawn pricking becomes its pins, exactly.

Knows which of a drawing's marks are pins: many, small, of like size. Knows nothing of the file
format below it and nothing of lace above it.

Positions are CSS pixels (96 to the inch), (0, 0) the top left corner of the page, y down.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from archive.geometry.neighbours import nearest_distance
from archive.geometry.outlines import BRIDGED
from archive.geometry.reading.marks import Mark
from archive.geometry.reading.svg import read_sheet
from archive.geometry.reading.svg_paths import PX_PER_INCH
from archive.resolution import MM_PER_INCH

Points = NDArray[np.float64]

SVG_MEDIA_TYPE = "image/svg+xml"

LEAST_ROUNDNESS = 0.55
"""A triangle has 0.60, a square 0.79, an ellipse twice as long as wide 0.5."""

MEETING = 0.1
"""A line whose ends are this near each other, in radii, is closed: a letter c is not."""

SIZE_STEP = 1.3
"""Marks whose radii differ less than by this factor belong to one size."""

SECOND_SIZE = 3.0
"""Picot pins and others may be drawn larger or smaller than the rest, up to this factor."""

SECOND_SHARE = 0.05
"""Such a size must have this part of the commonest one's number."""

LARGEST_OF_SPACING = 0.55
"""Pins do not touch: their radius is less than this part of the distance to the nearest one."""

FEWEST = 3


@dataclass(frozen=True)
class Drawing:
    """The pins of a drawing.

    Attributes:
        pins_px: (n, 2) centres, empty where the drawing has none.
        outlines_px: (k, 2) corners of each closed line that may go round pins, such as a gimp.
        px_per_mm: 96 / 25.4 where the page has a size in units of paper, else None.
        width_px: page width.
        height_px: page height.
        media_type: what the file is.
        pages: how many pages the file has, of which this is one.
    """

    pins_px: Points
    outlines_px: list[Points]
    px_per_mm: float | None
    width_px: float
    height_px: float
    media_type: str = SVG_MEDIA_TYPE
    pages: int = 1


def read_drawing(path: Path) -> Drawing:
    """The pins of an SVG file, top ones first.

    Sizes in pixels or without a unit leave the scale unknown: drawing programs have meant 72,
    90 and 96 to the inch by them.

    Raises:
        UnreadableFile: the file is no SVG, is damaged, or is made to do harm.
    """
    sheet = read_sheet(path)
    pins = choose_pins(sheet.marks)
    order = np.lexsort((pins[:, 0], pins[:, 1]))
    scale = PX_PER_INCH / MM_PER_INCH if sheet.physical else None
    outlines = choose_outlines(sheet.marks, pins)
    return Drawing(pins[order], outlines, scale, sheet.width, sheet.height)


def choose_pins(marks: list[Mark]) -> Points:
    """(n, 2) centres of the marks that are pins.

    The commonest size of small round marks is the pins'; sizes near it count when there are
    enough of them. A ring with a dot in it is one pin.
    """
    dots = [
        mark
        for mark in marks
        if mark.roundness >= LEAST_ROUNDNESS
        and mark.radius > 0
        and mark.gap < MEETING * mark.radius
    ]
    dots.sort(key=lambda mark: mark.radius)
    sizes: list[list[Mark]] = []
    for dot in dots:
        if sizes and dot.radius <= sizes[-1][-1].radius * SIZE_STEP:
            sizes[-1].append(dot)
        else:
            sizes.append([dot])
    sizes = [size for size in sizes if _apart(size)]
    if not sizes:
        return np.empty((0, 2))
    main = max(sizes, key=len)
    if len(main) < FEWEST:
        return np.empty((0, 2))
    usual = float(np.median([mark.radius for mark in main]))
    chosen = []
    for size in sizes:
        ratio = float(np.median([mark.radius for mark in size])) / usual
        near = 1 / SECOND_SIZE <= ratio <= SECOND_SIZE
        if size is main or (near and len(size) >= max(FEWEST, SECOND_SHARE * len(main))):
            chosen += size
    return _one_each(chosen)


def choose_outlines(marks: list[Mark], pins: Points) -> list[Points]:
    """Lines round the marks that are wider than the pins stand apart, small gaps bridged."""
    spacing = nearest_distance(pins)
    return [
        mark.outline
        for mark in marks
        if 2 * mark.radius > spacing > 0 and mark.gap < BRIDGED * spacing
    ]


def _apart(size: list[Mark]) -> bool:
    """Whether marks of one size stand apart as pins do: scales of a fan would touch."""
    centres = _one_each(size)
    if len(centres) < 2:
        return True
    radius = float(np.median([mark.radius for mark in size]))
    return radius <= LARGEST_OF_SPACING * nearest_distance(centres)


def _one_each(marks: list[Mark]) -> Points:
    """Centres of the marks, those inside another one left out."""
    centres = np.array([mark.centre for mark in marks]).reshape(-1, 2)
    radii = np.array([mark.radius for mark in marks])
    kept = np.ones(len(marks), dtype=bool)
    if len(marks) > 1:
        pairs = cKDTree(centres).query_pairs(float(radii.max()) / 2, output_type="ndarray")
        for one, other in pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))].tolist():
            near = np.hypot(*(centres[one] - centres[other])) < max(radii[one], radii[other]) / 2
            if kept[one] and kept[other] and near:
                kept[other] = False
    return centres[kept]
