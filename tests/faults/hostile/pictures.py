"""Pictures made to harm, most by what their heads say of their sizes."""

from __future__ import annotations

import io
import random
import struct
import zlib
from functools import cache

from PIL import Image, ImageDraw

from tests.faults.hostile.made import Made
from tests.pdf_writing import swollen


def picture() -> Image.Image:
    """Sixty pins of a ground of 45°, 30 pixels from row to row."""
    drawn = Image.new("L", (420, 500), 250)
    pen = ImageDraw.Draw(drawn)
    for k in range(60):
        row, place = divmod(k, 5)
        x, y = 60 + 60 * place + 30 * (row % 2), 50 + 30 * row
        pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=20)
    return drawn


@cache
def saved(kind: str, **options: object) -> bytes:
    content = io.BytesIO()
    picture().save(content, kind, **options)
    return content.getvalue()


def png(width: int, height: int, data: bytes, *more: tuple[bytes, bytes]) -> bytes:
    header = struct.pack(">IIBBBBB", width & 0xFFFFFFFF, height & 0xFFFFFFFF, 8, 0, 0, 0, 0)
    chunks = [(b"IHDR", header), *more, (b"IDAT", data), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in chunks
    )


def tiff(
    width: int, height: int, *, offset: int = 200, length: int = 4096, following: int = 0
) -> bytes:
    """A picture in one strip; `following` is where the next page is said to be."""
    entries = [
        (256, 4, width),
        (257, 4, height),
        (258, 3, 8),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, offset),
        (277, 3, 1),
        (278, 4, height),
        (279, 4, length),
    ]
    out = b"II*\0\x08\0\0\0" + struct.pack("<H", len(entries))
    out += b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    return (out + struct.pack("<I", following)).ljust(200, b"\0") + b"\x80" * 4096


def gif(width: int, height: int, frames: int = 1) -> bytes:
    frame = b"," + struct.pack("<HHHHB", 0, 0, width, height, 0) + b"\x02\x02\x4c\x01\0"
    return (
        b"GIF89a"
        + struct.pack("<HHBBB", width, height, 0x80, 0, 0)
        + bytes(6)
        + frame * frames
        + b";"
    )


def webp(width: int, height: int) -> bytes:
    body = b"VP8X" + struct.pack("<II", 10, 0)
    body += struct.pack("<I", width - 1)[:3] + struct.pack("<I", height - 1)[:3]
    body += saved("WEBP")[12:]
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def with_size(content: bytes, at: int, form: str, *sizes: int) -> bytes:
    """Other sizes written over those in a picture's head."""
    packed = struct.pack(form, *sizes)
    return content[:at] + packed + content[at + len(packed) :]


PICTURES: dict[str, Made] = {
    "PNG of 40,000 squared": (lambda: png(40_000, 40_000, swollen(1_600)), "million pixels"),
    "PNG of 16,000 by 10,000, nearly empty": (
        lambda: png(16_000, 10_000, zlib.compress(b"\0" * 99)),
        None,
    ),
    "PNG of 2,147,483,647 squared": (lambda: png(2**31 - 1, 2**31 - 1, b""), ""),
    "PNG of no width": (lambda: png(0, 100, b""), ""),
    "PNG of more pixels than it says": (lambda: png(64, 64, swollen(500)), None),
    "PNG whose text swells": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), (b"zTXt", b"a\0\0" + swollen(500))),
        None,
    ),
    "PNG whose profile swells": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), (b"iCCP", b"a\0\0" + swollen(500))),
        None,
    ),
    "PNG that says half its height": (lambda: with_size(saved("PNG"), 20, ">I", 250), ""),
    "PNG of a thousand parts": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), *[(b"tEXt", b"a\0b")] * 1_000),
        None,
    ),
    "TIFF of 60,000 squared": (lambda: tiff(60_000, 60_000), "million pixels"),
    "TIFF of 4,294,967,295 columns": (lambda: tiff(2**32 - 1, 2**32 - 1), ""),
    "TIFF whose strip is beyond its end": (lambda: tiff(64, 64, offset=2**31), ""),
    "TIFF whose strip is longer than it": (lambda: tiff(12_000, 12_000, length=144_000_000), ""),
    "TIFF whose next page is itself": (lambda: tiff(64, 64, following=8), None),
    "TIFF whose next page is nowhere": (lambda: tiff(64, 64, following=2**31), None),
    "GIF of 65,535 squared": (lambda: gif(65_535, 65_535), "million pixels"),
    "GIF of 12,000 squared, nearly empty": (lambda: gif(12_000, 12_000), None),
    "GIF of 100,000 frames": (lambda: gif(64, 64, frames=100_000), None),
    "GIF of no height": (lambda: gif(64, 0), ""),
    "WebP of 16,777,216 columns": (lambda: webp(1 << 24, 1 << 24), ""),
    "WebP that says another size": (lambda: webp(9_000, 9_000), ""),
    "JPEG of 65,500 squared": (
        lambda: with_size(
            saved("JPEG"), saved("JPEG").find(b"\xff\xc0") + 5, ">HH", 65_500, 65_500
        ),
        "million pixels",
    ),
    "JPEG of 12,000 squared, nearly empty": (
        lambda: with_size(
            saved("JPEG"), saved("JPEG").find(b"\xff\xc0") + 5, ">HH", 12_000, 12_000
        ),
        None,
    ),
    "BMP of 2,000,000,000 columns": (
        lambda: with_size(saved("BMP"), 18, "<ii", 2_000_000_000, 2_000_000_000),
        "",
    ),
    "BMP upside down without end": (lambda: with_size(saved("BMP"), 22, "<i", -(2**31)), ""),
    "PGM of 99,999 squared": (lambda: b"P5 99999 99999 255\n" + bytes(99), "million pixels"),
    "PGM of a size in 5 MB of digits": (lambda: b"P5 " + b"9" * 5_000_000, ""),
    "JPEG 2000 that breaks off": (lambda: saved("JPEG2000")[:200], ""),
    "PostScript": (lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 99 99\n", "PostScript"),
    "noise": (lambda: random.Random(4).randbytes(100_000), "known kind"),
}
