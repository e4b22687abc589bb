"""A file becomes a drawing's pins or a scan's picture, whatever kind of file it is.

Decides by a file's content, never by its ending. Knows nothing of what is found on the sheet.
"""

from __future__ import annotations

import re
from pathlib import Path

from archive.errors import UnreadableFile, reading_errors
from archive.geometry.reading.documents import looks_like_pdf, read_document
from archive.geometry.reading.drawings import Drawing, read_drawing
from archive.geometry.reading.pixels import Scan, check_page, read_scan

_HEAD_BYTES = 65536

_FROM_A_DRAWING_PROGRAM = "Save it from the drawing program as SVG or PDF."
_FROM_A_TELEPHONE = "Send or save it from the telephone as JPEG, or open it and save it as PNG."
_FROM_A_WRITING_PROGRAM = "Save it from its program as PDF; unpack a packed folder first."
_OTHER_KINDS = (
    (rb"\s*0\r?\n\s*SECTION\b", "a DXF drawing", _FROM_A_DRAWING_PROGRAM),
    (rb"%!PS|\xc5\xd0\xd3\xc6", "a PostScript drawing", _FROM_A_DRAWING_PROGRAM),
    (rb"....ftyp(heic|heix|hevc|mif1|msf1)", "a HEIC photograph", _FROM_A_TELEPHONE),
    (rb"....ftypavif", "an AVIF photograph", _FROM_A_TELEPHONE),
    (
        rb"PK\x03\x04|\xd0\xcf\x11\xe0|\{\\rtf",
        "a document of another program, or a packed folder",
        _FROM_A_WRITING_PROGRAM,
    ),
)
"""First bytes of files that people have sheets in and that are not read."""


def read_sheet(path: Path, *, page: int | None = None) -> Drawing | Scan:
    """The pins of a drawing, or the picture of a scan.

    Args:
        path: a scan, an SVG drawing or a PDF document.
        page: which page of a file with several, counted from 1; the first if None.

    Raises:
        UnreadableFile: the file is missing, damaged, hostile, of another kind, or has no such
            page.
    """
    head = read_content(path, most_bytes=_HEAD_BYTES)
    if looks_like_svg(head):
        check_page(path, page, 1)
        return read_drawing(path)
    if looks_like_pdf(head):
        return read_document(path, page=page)
    _refuse_other_kinds(path, head)
    return read_scan(path, page=page)


def _refuse_other_kinds(path: Path, head: bytes) -> None:
    for beginning, kind, advice in _OTHER_KINDS:
        if re.match(beginning, head, re.DOTALL):
            raise UnreadableFile(path, f"it is {kind}", advice)


def check_sheet(path: Path) -> None:
    """The file can be read as a sheet.

    Raises:
        UnreadableFile: it cannot.
    """
    read_sheet(path)


def looks_like_svg(content: bytes) -> bool:
    """Whether a file's content begins like an SVG drawing."""
    head = content[:_HEAD_BYTES]
    for encoding in ("utf-16", "utf-8"):
        if encoding == "utf-16" and head[:2] not in (b"\xff\xfe", b"\xfe\xff"):
            continue
        text = head.decode(encoding, errors="replace").lstrip("\ufeff \t\r\n")
        return text.startswith("<") and "<svg" in text.replace("<svg:svg", "<svg")
    return False


def read_content(path: Path, *, most_bytes: int = -1) -> bytes:
    """The bytes of a file, or as many of its first ones.

    Raises:
        UnreadableFile: there is no such file, it is empty, or it may not be read.
    """
    advice = "Check its name and whether it can be opened."
    with reading_errors(path, advice), path.open("rb") as file:
        content = file.read(most_bytes)
    if not content:
        raise UnreadableFile(path, "it is empty", "Copy it again from where it came.")
    return content
