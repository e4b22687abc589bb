"""A page of a PDF document becomes its pins, exactly, or a picture of the page.

A page on which the pins are drawn is read from its drawing. A page that is covered by a scan is
drawn pixel for pixel as it was scanned; so is, at 600 dpi, a page that holds neither, such as
one whose dots are letters. Knows the page: its size, its unit, its turn and its cut. Nothing of
the document runs, and no password is tried.

Source: ISO 32000-1:2008, 7.7.3.3 (page objects: MediaBox, CropBox, Rotate, UserUnit) and 8.3.2.3
(the default unit is 1/72 inch).
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2  # type: ignore[import-untyped]
from numpy.typing import NDArray
from pypdfium2 import raw as pdfium

from archive.errors import UnreadableFile
from archive.geometry.reading.document_marks import TooMuchOnPage, look_over_page
from archive.geometry.reading.drawings import Drawing, choose_outlines, choose_pins
from archive.geometry.reading.marks import Mark, Matrix, affine
from archive.geometry.reading.pixels import (
    MOST_PIXELS,
    SMALLEST_SIDE_PX,
    TOO_MANY_PIXELS,
    Scan,
    believable_px_per_mm,
    check_page,
)
from archive.geometry.reading.svg import WIDEST_PX
from archive.geometry.reading.svg_paths import PX_PER_INCH
from archive.resolution import MM_PER_INCH

MEDIA_TYPE = "application/pdf"
UNITS_PER_INCH = 72.0

SCANNED_SHARE = 0.5
"""A page of which pictures cover this part is a scan, whatever is drawn beside them."""

DRAWN_DPI = 600.0
"""How finely a page is drawn that is neither a scan nor holds drawn pins."""

SHOWN_DPI = 300.0
"""How finely a page is drawn that people shall look at."""

MOST_DRAWN_PIXELS = 100_000_000
"""A larger page is drawn more coarsely; A4 at 600 dpi has 35 million."""

HAIR = 1e-6
"""Part of the page by which a drawn page is too small; a hundredth of a pixel on A4 at 1200 dpi."""

_SAVE_AGAIN = "Print it to a new PDF file, or save the page as a PNG at 600 dpi."
_HEAD_BYTES = 1024
_STREAM = re.compile(rb"stream\r?\n.*?endstream", re.DOTALL)
_USER_UNIT = re.compile(rb"/UserUnit\s+([0-9.]+)(?!\s+\d+\s+R)")


def looks_like_pdf(content: bytes) -> bool:
    """Whether a file's content begins like a PDF document; some put other bytes before it."""
    return b"%PDF-" in content[:_HEAD_BYTES]


class _Refused(Exception):
    """The document passes a limit; the message says which."""


def read_document(path: Path, *, page: int | None = None) -> Drawing | Scan:
    """The pins of a page, or its picture.

    Args:
        path: a PDF document.
        page: which page, counted from 1; the first if None.

    Raises:
        UnreadableFile: the document is damaged, locked, made to harm, or has no such page.
    """
    with _document_errors(path), pypdfium2.PdfDocument(path) as document:
        index = check_page(path, page, len(document)) - 1
        return replace(_read_page(document, index), pages=len(document))


def draw_page(path: Path, *, page: int = 1) -> NDArray[np.uint8]:
    """A page as people see it on paper: in colour, without notes that readers stuck to it.

    Args:
        path: a PDF document.
        page: which page, counted from 1.

    Returns:
        (rows, columns, 3) uint8 of red, green and blue, at 300 dpi; a very large page coarser.

    Raises:
        UnreadableFile: the document is damaged, locked, made to harm, or has no such page.
    """
    with _document_errors(path), pypdfium2.PdfDocument(path) as document:
        index = check_page(path, page, len(document)) - 1
        unit_inch = _user_unit(document, index) / UNITS_PER_INCH
        shown = document[index]
        _check_measure(shown, unit_inch)
        look_over_page(shown, np.eye(3))
        px_per_unit = min(SHOWN_DPI * unit_inch, math.sqrt(MOST_DRAWN_PIXELS / _area(shown)))
        bitmap = shown.render(scale=px_per_unit, may_draw_forms=False, draw_annots=False,
                              rev_byteorder=True, prefer_bgrx=False)  # fmt: skip
        return np.array(bitmap.to_numpy()[:, :, :3])


@contextmanager
def _document_errors(path: Path) -> Iterator[None]:
    try:
        yield
    except (_Refused, TooMuchOnPage) as cause:
        raise UnreadableFile(path, str(cause), _SAVE_AGAIN) from cause
    except pypdfium2.PdfiumError as cause:
        if cause.err_code in (pdfium.FPDF_ERR_PASSWORD, pdfium.FPDF_ERR_SECURITY):
            advice = "Save it without a password, or print it to a new PDF file."
            raise UnreadableFile(path, "it is protected by a password", advice) from cause
        raise UnreadableFile(path, "the document is damaged", _SAVE_AGAIN) from cause


def _read_page(document: Any, index: int) -> Drawing | Scan:
    unit_inch = _user_unit(document, index) / UNITS_PER_INCH
    page = document[index]
    width, height = _check_measure(page, unit_inch)
    content = look_over_page(page, _to_px(page, unit_inch * PX_PER_INCH))
    if content.pictured >= SCANNED_SHARE * _area(page):
        dpi = content.px_per_unit / unit_inch
        grey = _draw(document, index, content.px_per_unit)
        if grey.min() == grey.max():
            raise _Refused("the picture on its page is damaged, or blank")
        return Scan(grey, believable_px_per_mm((dpi, dpi)), MEDIA_TYPE)
    marks = [mark for mark in content.marks if _is_within(mark, width, height)]
    pins = choose_pins(marks)
    if len(pins):
        order = np.lexsort((pins[:, 0], pins[:, 1]))
        outlines, scale = choose_outlines(marks, pins), PX_PER_INCH / MM_PER_INCH
        return Drawing(pins[order], outlines, scale, width, height, MEDIA_TYPE)
    px_per_unit = min(DRAWN_DPI * unit_inch, math.sqrt(MOST_DRAWN_PIXELS / _area(page)))
    grey = _draw(document, index, px_per_unit)
    return Scan(grey, px_per_unit / unit_inch / MM_PER_INCH, MEDIA_TYPE)


def _user_unit(document: Any, index: int) -> float:
    """The page's unit, in 1/72 inch.

    The library tells everything of a page but this, so the page is copied alone into a
    document in memory, where its entry stands in plain letters.
    """
    copied = io.BytesIO()
    with pypdfium2.PdfDocument.new() as alone:
        alone.import_pages(document, [index])
        alone.save(copied)
    written = copied.getvalue()
    if b"/UserUnit" not in written:
        return 1.0
    found = _USER_UNIT.search(_STREAM.sub(b"", written))
    return float(found[1]) if found else 1.0


def _check_measure(page: Any, unit_inch: float) -> tuple[float, float]:
    """Width and height of a page in pixels of 1/96 inch."""
    width, height = (side * unit_inch * PX_PER_INCH for side in page.get_size())
    if not (0 < width <= WIDEST_PX and 0 < height <= WIDEST_PX):
        raise _Refused("its page has no size, or is larger than any sheet")
    return width, height


def _area(page: Any) -> float:
    left, bottom, right, top = page.get_bbox()
    return float((right - left) * (top - bottom))


def _to_px(page: Any, px_per_unit: float) -> Matrix:
    """(3, 3), from the page's space to pixels from the top left corner of the page as shown."""
    left, bottom, right, top = page.get_bbox()
    matrix = {
        0: affine(1, 0, 0, -1, -left, top),
        90: affine(0, 1, 1, 0, -bottom, -left),
        180: affine(-1, 0, 0, 1, right, -bottom),
        270: affine(0, -1, -1, 0, top, right),
    }[page.get_rotation()]
    return affine(px_per_unit, 0, 0, px_per_unit, 0, 0) @ matrix


def _is_within(mark: Mark, width: float, height: float) -> bool:
    x, y = mark.centre
    return bool(0 <= x <= width and 0 <= y <= height)


def _draw(document: Any, index: int, px_per_unit: float) -> NDArray[np.float32]:
    """(rows, columns) float32 grey of the page as shown.

    The page is cut to a whole number of pixels first: it is then drawn in exactly this
    resolution, and a scan that fills it comes out pixel for pixel as it was scanned. The library
    draws a picture into all pixels it touches, so it is let fall short of them by a hair.
    """
    page = document[index]
    left, bottom, right, top = page.get_bbox()
    columns, rows = (math.ceil(side * px_per_unit - 0.01) for side in (right - left, top - bottom))
    if columns * rows > MOST_PIXELS:
        raise _Refused(TOO_MANY_PIXELS)
    if min(columns, rows) < SMALLEST_SIDE_PX:
        raise _Refused(f"its page is only {columns} × {rows} pixels")
    wide, high = columns / px_per_unit, rows / px_per_unit
    box = (
        left - HAIR * wide,
        top - (1 + HAIR) * high,
        left + (1 + HAIR) * wide,
        top + HAIR * high,
    )
    turn = page.get_rotation()
    page.set_mediabox(*box)
    page.set_cropbox(*box)
    page.set_rotation(0)
    page.close()
    page = document[index]
    bitmap = pypdfium2.PdfBitmap.new_native(columns, rows, pdfium.FPDFBitmap_Gray)
    bitmap.fill_rect((255, 255, 255, 255), 0, 0, columns, rows)
    pdfium.FPDF_RenderPageBitmap(bitmap, page, 0, 0, columns, rows, 0, 0)
    upright = np.rot90(bitmap.to_numpy().reshape(rows, columns), -turn // 90)
    grey: NDArray[np.float32] = np.multiply(upright, 1 / 255, dtype=np.float32)
    return grey
