"""Pictures for the site, rebuilt from their pixels.

The only module of the site that knows Pillow. Whatever goes out is a new picture made of
pixels alone: tags, comments, places and previews of the original stay behind, and its colour
profile gives way to that of sRGB. What opens an original here is meant to run apart, under limits.

Positions are `(x, y)` in pixels of the original, from the top left corner, y down.
"""

from __future__ import annotations

import functools
import io
import math
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageChops, ImageCms, ImageFilter, ImageOps

from archive.errors import UnreadableFile
from archive.resolution import believe, drawn_out

FORMATS = ("BMP", "GIF", "JPEG", "JPEG2000", "PNG", "PPM", "TIFF", "WEBP")
"""What is opened at all: none of these runs another program, as PostScript would."""
SHEET_LONGEST_PX = 2200
"""Longest side of a published sheet: an A4 page at 190 dots to the inch, readable when zoomed."""
THUMBNAIL_PX = (480, 360)
"""Twice the size at which a card shows it, for screens with fine dots."""
QUALITY = 80
"""WebP quality; common practice, no source."""
MOST_LIFT = 2.0
"""How many times the contrast of a photograph is lifted at most; common practice, no source."""
FINEST_WINDOW_PX = 4000
"""A window that is larger is looked at more coarsely first: eight times what a card shows."""

_ADVICE = "Scan the sheet again or attach another file."

Window = tuple[float, float, float, float]
"""Left, top, right, bottom; may reach beyond the picture, where there is paper."""


@dataclass(frozen=True)
class Derived:
    """A new picture: its bytes and its size in pixels."""

    data: bytes
    width: float
    height: float


def read_upright(path: Path, *, page: int = 1) -> Image.Image:
    """The picture in grey or sRGB, turned as its camera meant and with pixels as wide as long.

    Args:
        path: a file in one of `FORMATS`.
        page: which page of a TIFF, counted from 1.

    Raises:
        UnreadableFile: it is no picture, is damaged, is larger than Pillow thinks safe (about
            179 million pixels), or has no such page.
    """
    try:
        with warnings.catch_warnings():
            # Of sizes, which are judged by what they take, and of metadata, which is not used.
            warnings.simplefilter("ignore")
            # From an open file: given a path, Pillow 13 scrambles TIFF rows stored as columns.
            with path.open("rb") as file, Image.open(file, formats=FORMATS) as opened:
                if page > 1:
                    opened.seek(page - 1)
                return _upright(opened)
    except MemoryError:
        raise
    # A damaged file makes a decoder fail in any way it likes, not only with an OSError.
    except Exception as refusal:
        raise UnreadableFile(path, "it is not a whole picture", _ADVICE) from refusal


def from_array(pixels: NDArray[np.uint8]) -> Image.Image:
    """A picture of (rows, columns, 3) red, green and blue."""
    return Image.fromarray(pixels)


def _upright(opened: Image.Image) -> Image.Image:
    orientation = opened.getexif().get(ExifTags.Base.Orientation)
    resolution = believe(opened.info.get("dpi"), orientation)
    opened.load()
    profile = opened.info.get("icc_profile")
    upright = ImageOps.exif_transpose(opened)
    if upright.mode.startswith(("I", "F")):
        tones = np.asarray(upright, dtype=np.float32)
        upright = Image.fromarray((tones * (255 / max(1.0, tones.max()))).clip(0, 255).astype("u1"))
    if upright.mode in ("RGBA", "LA", "PA", "P") or "transparency" in upright.info:
        clear = upright.convert("RGBA")
        on_white = Image.new("RGB", clear.size, "white")
        on_white.paste(clear, mask=clear.getchannel("A"))
        # Its own profile is one for greys where its pixels are grey.
        upright = on_white.convert("L") if upright.mode in ("1", "L", "LA") else on_white
    # A bilevel scan must become grey before it is made smaller, or its lines break up.
    final = "L" if upright.mode in ("1", "L") else "RGB"
    if profile and upright.mode in ("L", "RGB", "CMYK"):
        upright = _as_srgb(upright, profile)
    upright = upright.convert(final)
    size = drawn_out(upright.size, resolution) if resolution else upright.size
    return upright.resize(size, Image.Resampling.BICUBIC) if size != upright.size else upright


def _as_srgb(picture: Image.Image, profile: bytes) -> Image.Image:
    """The picture in sRGB; unchanged where its profile is damaged or for other pixels."""
    try:
        converted = ImageCms.profileToProfile(
            picture,
            ImageCms.ImageCmsProfile(io.BytesIO(profile)),
            ImageCms.createProfile("sRGB"),
            outputMode="RGB",
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        return picture
    return converted or picture


def sheet_picture(picture: Image.Image) -> Derived:
    """The whole sheet, made smaller where it is larger than a screen can use."""
    shrink = min(1.0, SHEET_LONGEST_PX / max(picture.size))
    size = (max(1, round(picture.width * shrink)), max(1, round(picture.height * shrink)))
    return _as_webp(picture.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0))


def thumbnail(
    picture: Image.Image, window: Window, *, turn_deg: float = 0.0, marks: bool = True
) -> Derived:
    """What lies in the window, at the size of a card and with its contrast lifted.

    Args:
        picture: the upright picture.
        window: the part to show, in the picture's pixels.
        turn_deg: clockwise turn about the window's middle that sets the lace upright.
        marks: whether it shows small dark marks, which would fade when made smaller.
    """
    left, top, right, bottom = window
    reach = max(right - left, bottom - top)
    coarser = max(1, math.ceil(reach / FINEST_WINDOW_PX))
    corner = ((left + right) / 2 - reach, (top + bottom) / 2 - reach)
    paper = _paper(picture)
    piece = Image.new(picture.mode, (round(2 * reach / coarser),) * 2, paper)
    inside = (
        max(0, int(corner[0])),
        max(0, int(corner[1])),
        min(picture.width, int(corner[0] + 2 * reach)),
        min(picture.height, int(corner[1] + 2 * reach)),
    )
    if inside[0] < inside[2] and inside[1] < inside[3]:
        place = (
            round((inside[0] - corner[0]) / coarser),
            round((inside[1] - corner[1]) / coarser),
        )
        piece.paste(picture.reduce(coarser, box=inside), place)
    if abs(turn_deg) > 0.05:
        # Pillow turns anticlockwise for positive angles.
        piece = piece.rotate(-turn_deg, Image.Resampling.BILINEAR, fillcolor=paper)
    middle = piece.width / 2
    half = ((right - left) / 2 / coarser, (bottom - top) / 2 / coarser)
    cut = piece.crop(
        (
            round(middle - half[0]),
            round(middle - half[1]),
            round(middle + half[0]),
            round(middle + half[1]),
        )
    )
    small = cut.resize(THUMBNAIL_PX, Image.Resampling.LANCZOS, reducing_gap=3.0)
    shrink = cut.width / THUMBNAIL_PX[0]
    if not marks:
        return _as_webp(_lifted(small))
    small = small.convert("L")
    if shrink > 1.5:
        dark = cut.convert("L").filter(ImageFilter.MinFilter(min(7, 2 * round(shrink / 3) + 1)))
        darkened = dark.resize(THUMBNAIL_PX, Image.Resampling.LANCZOS, reducing_gap=3.0)
        small = Image.blend(small, darkened, 0.5)
    return _as_webp(ImageOps.autocontrast(small, cutoff=(0.5, 5)))


def _lifted(photograph: Image.Image) -> Image.Image:
    """The photograph with its contrast drawn out, but its colours no more than MOST_LIFT times."""
    dark, light = np.percentile(np.asarray(photograph.convert("L")), (0.2, 99.8))
    spread = max(light - dark, 255 / MOST_LIFT)
    black = max(0.0, light - spread)
    steps = (np.arange(256) - black) * (255 / spread)
    tones = steps.round().clip(0, 255).astype(int).tolist()
    return photograph.point(tones * len(photograph.getbands()))


def find_lace(picture: Image.Image) -> Window:
    """The part of a sheet that has marks on it; the whole sheet where nothing stands out."""
    shrink = max(1.0, max(picture.size) / 400)
    size = (max(1, int(picture.width / shrink)), max(1, int(picture.height / shrink)))
    grey = picture.convert("L").resize(size, Image.Resampling.BOX)
    ground = grey.filter(ImageFilter.GaussianBlur(12))
    marks = ImageChops.difference(grey, ground).point(lambda value: 255 if value > 14 else 0)
    box = marks.filter(ImageFilter.MedianFilter(3)).getbbox() or (0, 0, *size)
    left, top, right, bottom = (side * shrink for side in box)
    return (left, top, right, bottom)


def _paper(picture: Image.Image) -> int | tuple[int, ...]:
    """A light tone of the sheet, to stand beyond its edges."""
    tiny = np.asarray(picture.resize((16, 16), Image.Resampling.BOX))
    tones = np.percentile(tiny, 75, axis=(0, 1)).round().astype(int)
    return int(tones) if tones.ndim == 0 else tuple(int(tone) for tone in tones)


@functools.cache
def srgb_profile() -> bytes:
    """The colour profile of sRGB, the same on every day and computer, which names no device.

    Source: ICC.1:2022, 7.2: the date lies in the bytes 24 to 35, the platform in 40 to 43, where
    zeros say that there is no main one.
    """
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = struct.pack(">6H", 2000, 1, 1, 0, 0, 0)
    profile[40:44] = bytes(4)
    return bytes(profile)


def _as_webp(picture: Image.Image) -> Derived:
    """The picture as a file, made anew from its pixels so that nothing else comes along.

    The profile of sRGB says how its colours are meant, and its greys too: the pixels of WebP are
    always coloured (source: RFC 6386, 2), so that a profile for greys would not fit them.
    """
    written = io.BytesIO()
    bare = Image.frombytes(picture.mode, picture.size, picture.tobytes())
    bare.save(written, "WEBP", quality=QUALITY, method=4, icc_profile=srgb_profile())
    return Derived(written.getvalue(), picture.width, picture.height)
