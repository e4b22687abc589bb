"""A picture file becomes an array of grey values, or a refusal that says why.

Knows how picture files lie: transparency, palettes, sixteen bits, turned cameras, programs
that write a resolution they do not know, and files made to exhaust the machine. Knows nothing
of holes.

Coordinates everywhere in the analyser: arrays are indexed `[row, column]`, positions are
`(x, y)` in pixels with the centre of the first pixel at (0, 0) and y down the page.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from archive.errors import UnreadableFile
from archive.resolution import MM_PER_INCH, Resolution, believe, drawn_out, is_equal

FORMATS = ("BMP", "GIF", "JPEG", "JPEG2000", "PNG", "PPM", "TIFF", "WEBP")
"""What is opened at all: none of these runs another program, as PostScript would."""

SMALLEST_SIDE_PX = 32
"""Below this no hole and its surroundings fit into the picture."""

MOST_PIXELS = 170_000_000
"""A4 at 1200 dpi has 139 million; Pillow itself refuses from 179 million on."""

TOO_MANY_PIXELS = f"it has more than {MOST_PIXELS // 1_000_000} million pixels"

_SAVE_AGAIN = "Open it in a picture program and save it as PNG or TIFF, or scan the sheet again."


@dataclass(frozen=True)
class Scan:
    """One picture as grey values.

    Attributes:
        grey: (rows, columns) float32, luminance from 0 (black) to 1 (white).
        px_per_mm: The embedded resolution, or None where there is none worth believing.
        media_type: What the file is, such as `image/png`.
        pages: How many pages the file has, of which this is one.
    """

    grey: NDArray[np.float32]
    px_per_mm: float | None
    media_type: str
    pages: int = 1


def read_scan(path: Path, *, page: int | None = None) -> Scan:
    """The picture in `path` is decoded, upright and grey.

    Transparent parts become white, as paper would be. Of a TIFF with several pages the first
    is taken, or `page`, counted from 1. Where the file says that it has more pixels to the inch
    one way than the other, the picture is drawn out to as many both ways, so that angles are true.

    Raises:
        UnreadableFile: The file is missing, a folder, empty, not a picture, damaged, smaller
            than 32 pixels or larger than 170 million, or has no such page.
    """
    _refuse_what_is_no_file(path)
    # From an open file: given a path, Pillow 13 scrambles unpacked TIFF rows stored as columns.
    with (
        _picture_errors(path),
        path.open("rb") as file,
        Image.open(file, formats=FORMATS) as picture,
    ):
        pages = getattr(picture, "n_frames", 1) if picture.format == "TIFF" else 1
        number = check_page(path, page, pages)
        if number > 1:
            picture.seek(number - 1)
        _refuse_odd_sizes(path, picture)
        media_type = Image.MIME[picture.format or ""]
        orientation = picture.getexif().get(ExifTags.Base.Orientation)
        resolution = believe(picture.info.get("dpi"), orientation)
        picture.load()
        grey = _luminance(ImageOps.exif_transpose(picture))
        if resolution:
            grey, resolution = _drawn_out(path, grey, resolution)
    return Scan(grey, believable_px_per_mm(resolution), media_type, pages)


def check_page(path: Path, page: int | None, pages: int) -> int:
    """The number of the page to read, the first if none is asked for.

    Raises:
        UnreadableFile: the file has no such page.
    """
    number = 1 if page is None else page
    if not 1 <= number <= pages:
        has = "only one page" if pages == 1 else f"{pages:,} pages"
        raise UnreadableFile(path, f"it has {has}, and no page {number}", "Choose another page.")
    return number


def _refuse_what_is_no_file(path: Path) -> None:
    if path.is_dir():
        raise UnreadableFile(path, "it is a folder", "Name the picture file inside it.")
    if not path.exists():
        raise UnreadableFile(path, "there is no such file", "Check the name and the folder.")
    if path.stat().st_size == 0:
        raise UnreadableFile(path, "the file is empty", "Copy it again, or scan the sheet again.")


@contextmanager
def _picture_errors(path: Path) -> Iterator[None]:
    """Pillow's many ways to refuse a file become one, with the reason in plain words."""
    try:
        with warnings.catch_warnings():
            # Its warnings are about sizes, which are judged here, and about broken
            # metadata, which is not used.
            warnings.simplefilter("ignore")
            yield
    except (UnreadableFile, MemoryError):
        raise
    except UnidentifiedImageError as cause:
        raise UnreadableFile(path, "it is not a picture of a known kind", _SAVE_AGAIN) from cause
    except Image.DecompressionBombError as cause:
        raise _too_large(path) from cause
    except PermissionError as cause:
        raise UnreadableFile(
            path, "permission is denied", "Allow reading the file, or copy it elsewhere."
        ) from cause
    except Exception as cause:  # decoders meet damaged bytes with any exception whatever
        raise UnreadableFile(path, "the picture is damaged or breaks off", _SAVE_AGAIN) from cause


def _refuse_odd_sizes(path: Path, picture: Image.Image) -> None:
    if min(picture.size) < SMALLEST_SIDE_PX:
        raise UnreadableFile(
            path,
            f"it is only {picture.width} × {picture.height} pixels",
            "Scan the sheet with 300 dots per inch.",
        )
    if picture.width * picture.height > MOST_PIXELS:
        raise _too_large(path)


def _too_large(path: Path) -> UnreadableFile:
    return UnreadableFile(
        path,
        TOO_MANY_PIXELS,
        "Save it with 300 or 600 dots per inch, or in several parts.",
    )


def believable_px_per_mm(dpi: object) -> float | None:
    """The resolution in pixels per millimetre, unless it is one that says nothing.

    None for a missing, unequal, screen-default or impossible resolution: a length made from it
    would be a guess.
    """
    resolution = believe(dpi)
    if resolution is None or not is_equal(resolution):
        return None
    return sum(resolution) / 2 / MM_PER_INCH


def _drawn_out(
    path: Path, grey: NDArray[np.float32], resolution: Resolution
) -> tuple[NDArray[np.float32], Resolution]:
    """The picture with as many pixels to the inch one way as the other, the finer of the two."""
    if is_equal(resolution):
        return grey, resolution
    finer = max(resolution)
    rows, columns = grey.shape
    width, height = drawn_out((columns, rows), resolution)
    if width * height > MOST_PIXELS:
        raise _too_large(path)
    drawn = Image.fromarray(grey).resize((width, height), Image.Resampling.BICUBIC)
    return np.clip(np.asarray(drawn), 0, 1), (finer, finer)


def _luminance(picture: Image.Image) -> NDArray[np.float32]:
    """(rows, columns) float32 from 0 to 1, whatever the picture's mode."""
    if picture.mode.startswith("I;16"):
        return _scaled(picture, 65535)
    if picture.mode in ("I", "F"):
        return _stretched(np.asarray(picture, dtype=np.float32))
    if picture.mode == "LAB":
        picture = picture.getchannel("L")
    if picture.has_transparency_data:
        coloured = picture.convert("RGBA")
        picture = Image.alpha_composite(Image.new("RGBA", picture.size, "white"), coloured)
    elif picture.mode not in ("1", "L", "RGB"):
        picture = picture.convert("RGB")
    return _scaled(picture.convert("L"), 255)


def _scaled(picture: Image.Image, white: int) -> NDArray[np.float32]:
    """Values as float32 with `white` as 1, in a single new array."""
    grey: NDArray[np.float32] = np.multiply(np.asarray(picture), 1 / white, dtype=np.float32)
    return grey


def _stretched(values: NDArray[np.float32]) -> NDArray[np.float32]:
    """Values without a known white, spread over 0 to 1 (all 0 for a blank picture)."""
    finite = np.nan_to_num(values, nan=0.0, posinf=0.0, neginf=0.0)
    lowest = finite.min()
    span = max(finite.max() - lowest, np.finfo(np.float32).tiny)
    return np.asarray((finite - lowest) / span, dtype=np.float32)
