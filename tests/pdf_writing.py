"""PDF documents written byte by byte, so that a test knows all that is in them."""

from __future__ import annotations

import zlib
from functools import cache


def pdf(objects: list[bytes], trailer: bytes = b"", at: int | None = None) -> bytes:
    """Objects numbered from 1, the first one the catalogue; the table is said to be `at`."""
    out = bytearray(b"%PDF-1.7\n")
    places = []
    for number, thing in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + thing + b"\nendobj\n"
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer <</Size %d /Root 1 0 R %s>>\n" % (len(objects) + 1, trailer)
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % (table if at is None else at))


def stream(data: bytes, entries: bytes = b"") -> bytes:
    return b"<</Length %d %s>>\nstream\n" % (len(data), entries) + data + b"\nendstream"


def one_page(
    content: bytes,
    page: bytes = b"",
    *more: bytes,
    box: bytes = b"0 0 300 400",
    entries: bytes = b"",
) -> bytes:
    """A document of one page; `more` objects are numbered from 5."""
    return pdf(
        [
            b"<</Type/Catalog/Pages 2 0 R>>",
            b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
            b"<</Type/Page/Parent 2 0 R/MediaBox[%s]/Contents 4 0 R %s>>" % (box, page),
            stream(content, entries),
            *more,
        ]
    )


@cache
def swollen(times: int) -> bytes:
    """A megabyte of spaces, packed, `times` over: 1 kB for each megabyte."""
    packer = zlib.compressobj(9)
    head = packer.compress(b"") + packer.flush(zlib.Z_FULL_FLUSH)
    piece = packer.compress(b" " * 1_000_000) + packer.flush(zlib.Z_FULL_FLUSH)
    return head + piece * times + packer.flush()
