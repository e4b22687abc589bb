"""What lies on a page of a PDF document: closed shapes and dots, and how finely pictures are kept.

Knows page objects, nested forms and their matrices. Knows nothing of files and nothing of pins.
Lengths are in the page's own unit, the origin and directions those of the page's space.

Source: ISO 32000-1:2008, 8.3 (matrices), 8.5 (paths), 8.8 and 8.9 (external objects, images).
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from pypdfium2 import raw as pdfium  # type: ignore[import-untyped]

from archive.geometry.reading.marks import (
    Mark,
    Matrix,
    Points,
    affine,
    bend,
    ellipse_mark,
    polygon_mark,
)

MOST_OBJECTS = 400_000
DEEPEST = 16
"""Forms within forms."""

SHARE_OF_FINEST = 0.1
"""Pictures must cover this part of all to say how finely the page was scanned: a logo does not."""


class TooMuchOnPage(Exception):
    """A limit is passed; the message says which."""


@dataclass(frozen=True)
class Picture:
    """A picture on the page: the area it covers, and its pixels to the unit of the page."""

    area: float
    px_per_unit: float


@dataclass
class PageContent:
    """What was found on a page."""

    marks: list[Mark] = field(default_factory=list)
    pictures: list[Picture] = field(default_factory=list)
    objects: int = 0

    @property
    def pictured(self) -> float:
        """The area that pictures cover, overlaps counted again."""
        return sum(picture.area for picture in self.pictures)

    @property
    def px_per_unit(self) -> float:
        """How finely the page was scanned; 0 without pictures."""
        covered = 0.0
        for picture in sorted(self.pictures, key=lambda picture: -picture.px_per_unit):
            covered += picture.area
            if covered >= SHARE_OF_FINEST * self.pictured:
                return picture.px_per_unit
        return 0.0


def look_over_page(page: Any, matrix: Matrix) -> PageContent:
    """The marks and pictures of a page.

    Args:
        page: a page of pypdfium2.
        matrix: (3, 3), from the page's space to where the marks shall be given; areas and
            resolutions of pictures stay in the page's own unit.

    Raises:
        TooMuchOnPage: the page holds more than any sheet.
    """
    content = PageContent()
    count = pdfium.FPDFPage_CountObjects(page)
    _walk(content, count, lambda k: pdfium.FPDFPage_GetObject(page, k), (np.eye(3), matrix), 0)
    return content


def _walk(
    content: PageContent,
    count: int,
    get: Callable[[int], Any],
    matrices: tuple[Matrix, Matrix],
    depth: int,
) -> None:
    """Add what a page or form holds; `matrices` place it on the page, and the page's marks."""
    if depth > DEEPEST:
        raise TooMuchOnPage(f"its parts lie more than {DEEPEST} deep in each other")
    content.objects += count
    if content.objects > MOST_OBJECTS:
        raise TooMuchOnPage(f"one page holds more than {MOST_OBJECTS:,} things")
    inner, outer = matrices
    for index in range(count):
        thing = get(index)
        kind = pdfium.FPDFPageObj_GetType(thing)
        placed = inner @ _matrix_of(thing)
        if kind == pdfium.FPDF_PAGEOBJ_PATH:
            content.marks += _marks_of_path(thing, outer @ placed)
        elif kind == pdfium.FPDF_PAGEOBJ_IMAGE:
            content.pictures += _picture(thing, placed)
        elif kind == pdfium.FPDF_PAGEOBJ_FORM:
            parts = pdfium.FPDFFormObj_CountObjects(thing)
            _walk(content, parts, _part_of(thing), (placed, outer), depth + 1)


def _part_of(form: Any) -> Callable[[int], Any]:
    return lambda index: pdfium.FPDFFormObj_GetObject(form, index)


def _matrix_of(thing: Any) -> Matrix:
    found = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(thing, found)
    return affine(found.a, found.b, found.c, found.d, found.e, found.f)


def _picture(image: Any, placed: Matrix) -> Iterator[Picture]:
    """A picture fills the unit square before it is placed (ISO 32000-1, 8.9.5)."""
    across, down = ctypes.c_uint(), ctypes.c_uint()
    known = pdfium.FPDFImageObj_GetImagePixelSize(image, across, down)
    wide, high = np.hypot(*placed[:2, 0]), np.hypot(*placed[:2, 1])
    area = abs(float(np.linalg.det(placed[:2, :2])))
    if known and area > 0:
        yield Picture(area, float(max(across.value / wide, down.value / high)))


def _marks_of_path(path: Any, matrix: Matrix) -> Iterator[Mark]:
    fill, stroked = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(path, fill, stroked)
    filled = fill.value != pdfium.FPDF_FILLMODE_NONE and _shows(
        path, pdfium.FPDFPageObj_GetFillColor
    )
    drawn = bool(stroked.value) and _shows(path, pdfium.FPDFPageObj_GetStrokeColor)
    if not (filled or drawn):
        return
    for corners, closed in _outlines(path):
        if (closed or len(corners) > 1) and (corners == corners[0]).all():
            if drawn and pdfium.FPDFPageObj_GetLineCap(path) == pdfium.FPDF_LINECAP_ROUND:
                width = ctypes.c_float()
                pdfium.FPDFPageObj_GetStrokeWidth(path, width)
                yield from ellipse_mark(corners[0], (width.value / 2, width.value / 2), matrix)
        else:
            yield from polygon_mark(corners, matrix, closed=closed or filled)


def _shows(path: Any, colour_of: Callable[..., Any]) -> bool:
    """Whether a colour is not wholly transparent; one that is a pattern shows."""
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    return not colour_of(path, red, green, blue, alpha) or alpha.value > 0


def _outlines(path: Any) -> Iterator[tuple[Points, bool]]:
    """Each piece of a path: (n, 2) corners, curves flattened, and whether it is closed."""
    corners: list[Points] = []
    controls: list[Points] = []
    x, y = ctypes.c_float(), ctypes.c_float()
    for index in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, index)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        point = np.array([x.value, y.value], dtype=np.float64)
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            if corners:
                yield np.array(corners), False
            corners = [point]
        elif kind == pdfium.FPDF_SEGMENT_BEZIERTO and len(controls) < 2:
            controls.append(point)
            continue
        elif kind == pdfium.FPDF_SEGMENT_BEZIERTO:
            corners.extend(bend(corners[-1] if corners else point, controls[0], controls[1], point))
        else:
            corners.append(point)
        controls = []
        if pdfium.FPDFPathSegment_GetClose(segment):
            yield np.array(corners), True
            corners = corners[:1]
    if len(corners) > 1:
        yield np.array(corners), False
