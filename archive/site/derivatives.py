"""An original becomes the two pictures that the site shows of it: the whole sheet, a small one.

Runs apart from the program that publishes (`archive.apart`), since originals come from
elsewhere. Takes and gives plain data. Knows nothing of records, rights or measurements.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL.Image import Image

from archive.site import images, vector_sheets
from archive.site.images import Derived, Window

VERSION = "5"
"""Raised when the same original would give other pictures, so that those kept are made anew."""

PageDrawer = Callable[..., NDArray[np.uint8]]
"""`draw_page(path, page=number)`: a page of a document as (rows, columns, 3) uint8, RGB."""


@dataclass(frozen=True)
class Cut:
    """What the small picture shows.

    Attributes:
        window: left, top, right and bottom in parts of the sheet's width and height; may reach
            beyond the sheet. None where only the sheet itself can tell where its lace is.
        turn_deg: clockwise turn about the window's middle that sets the lace upright.
        marks: whether the sheet shows small dark marks, which would fade when made smaller.
    """

    window: Window | None
    turn_deg: float
    marks: bool

    def window_on(self, width: float, height: float) -> Window | None:
        """The window on a sheet of this size."""
        if self.window is None:
            return None
        left, top, right, bottom = self.window
        return (left * width, top * height, right * width, bottom * height)


def of_picture(path: Path, cut: Cut, *, page: int) -> tuple[Derived, Derived]:
    """The sheet and the small picture, as WebP, of a scan or photograph.

    Raises:
        UnreadableFile: it is no picture, is damaged or too large, or has no such page.
    """
    return _of_pixels(images.read_upright(path, page=page), cut)


def of_page(path: Path, cut: Cut, *, page: int, draw: PageDrawer) -> tuple[Derived, Derived]:
    """The same of a page of a document, which `draw` knows how to draw.

    Raises:
        UnreadableFile: `draw` cannot draw it.
    """
    return _of_pixels(images.from_array(draw(path, page=page)), cut)


def of_drawing(path: Path, cut: Cut) -> tuple[Derived, Derived]:
    """The same of an SVG drawing, as SVG.

    Raises:
        UnreadableFile: it is no drawing, is damaged, or made to overwhelm its reader.
    """
    drawing = vector_sheets.read_drawing(path)
    width, height = drawing.width, drawing.height
    window = cut.window_on(width, height) or _shaped((0.0, 0.0, width, height))
    return (
        Derived(drawing.whole().encode(), width, height),
        Derived(drawing.part(window, turn_deg=cut.turn_deg).encode(), *images.THUMBNAIL_PX),
    )


def _of_pixels(picture: Image, cut: Cut) -> tuple[Derived, Derived]:
    window = cut.window_on(*picture.size) or _shaped(images.find_lace(picture))
    small = images.thumbnail(picture, window, turn_deg=cut.turn_deg, marks=cut.marks)
    return images.sheet_picture(picture), small


def _shaped(window: Window) -> Window:
    """The window in the shape of a small picture, cut to the middle of a strip or widened."""
    left, top, right, bottom = window
    width, height = right - left, bottom - top
    across, down = images.THUMBNAIL_PX
    if height > 1.6 * width:
        height = width
    elif width > 2.2 * height:
        width = height * across / down
    width, height = max(width, height * across / down), max(height, width * down / across)
    x, y = (left + right) / 2, (top + bottom) / 2
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
