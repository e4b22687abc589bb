"""From a file, or from bare positions, to a measurement.

Joins the readers, the hole finder and the analysis with what a person says of the sheet.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from archive.geometry.analysing import analyse
from archive.geometry.holes.finding import find_holes
from archive.geometry.mending import heed, mend_pins, tell_by_hand
from archive.geometry.outlines import find_outlines
from archive.geometry.reading.drawings import Drawing
from archive.geometry.reading.sheets import read_content, read_sheet
from archive.geometry.rings import find_middles
from archive.geometry.telling import How, tell_analysis
from archive.records.byhand import NOTHING_SAID, ByHand
from archive.records.house import HouseRules
from archive.records.measurement import Measurement, SourceFile

Points = NDArray[np.float64]


def measure(
    path: Path,
    *,
    page: int | None = None,
    px_per_mm: float | None = None,
    settings: HouseRules | None = None,
    by_hand: ByHand = NOTHING_SAID,
) -> Measurement:
    """The pricking in a file is found and measured.

    Args:
        path: a scan, an SVG drawing or a PDF document.
        page: which page of a file with several, counted from 1; the first if None.
        px_per_mm: the resolution, where it is known better than the file knows it.
        settings: house rules for pairs and thread.
        by_hand: what a person says of holes and footside, over what is found.

    Raises:
        UnreadableFile: the file is missing, damaged, hostile or of another kind.
        InputError: a place said by hand lies beside the sheet, or has no scale.
    """
    content = read_content(path)
    sheet = read_sheet(path, page=page)
    known = sheet.px_per_mm
    how: How
    if isinstance(sheet, Drawing):
        positions, how = sheet.pins_px, "drawing-units"
        outlines = sheet.outlines_px
        width, height = sheet.width_px, sheet.height_px
    else:
        positions, how = find_holes(sheet.grey).positions_px, "embedded"
        outlines = find_outlines(sheet.grey, positions)
        height, width = sheet.grey.shape
    if px_per_mm is not None:
        known, how = px_per_mm, "given"
    source = SourceFile(
        file=path.name,
        sha256=hashlib.sha256(content).hexdigest(),
        media_type=sheet.media_type,
        width_px=float(width),
        height_px=float(height),
        page=page or 1,
        pages=sheet.pages,
    )
    return measure_points(
        positions,
        px_per_mm=known,
        how=how,
        source=source,
        settings=settings,
        by_hand=by_hand,
        outlines_px=outlines,
    )


def measure_points(
    positions_px: ArrayLike,
    *,
    px_per_mm: float | None = None,
    how: How = "given",
    source: SourceFile | None = None,
    settings: HouseRules | None = None,
    by_hand: ByHand = NOTHING_SAID,
    outlines_px: Sequence[Points] = (),
) -> Measurement:
    """Bare pin positions are measured.

    Args:
        positions_px: (n, 2) positions as (x, y), y down; n may be 0.
        px_per_mm: pixels to the millimetre; None leaves every length in millimetres unknown.
        how: where that figure comes from.
        source: the file the positions were found in.
        settings: house rules for pairs and thread.
        by_hand: what a person says of holes and footside, over what is found.
        outlines_px: (k, 2) corners of each closed line drawn on the sheet: they tell rings.

    Raises:
        InputError: a place said by hand lies beside the sheet, or has no scale.
    """
    points = np.asarray(positions_px, dtype=np.float64).reshape(-1, 2)
    mended = mend_pins(points, by_hand, px_per_mm=px_per_mm, source=source)
    order = np.lexsort((mended.points[:, 0], mended.points[:, 1]))
    pins = mended.points[order]
    analysis = heed(analyse(pins, find_middles(pins, outlines_px)), mended)
    found = tell_analysis(analysis, outlines_px, px_per_mm, how, source, settings or HouseRules())
    return found if by_hand == NOTHING_SAID else tell_by_hand(found, mended)
