"""Lists saved as workbooks (.xlsx): looked over first, then read in a process with limits.

A workbook is a zip of XML parts, and both can be made to swell beyond any memory. The gate
looks at the sizes a file declares and at what it really unpacks to, at document types and at
cells far out; what passes is read by python-calamine in a process that is given so much
memory and time and no more.
"""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from python_calamine import PasswordError

from archive.apart import Apart
from archive.errors import UnreadableFile
from archive.limits import Limits
from archive.lists.first_sheet import read_first_sheet
from archive.lists.table import Table, check_extent

MOST_PARTS = 2_000
MOST_UNPACKED_BYTES = 400_000_000
MOST_SWELLING = 200
"""Unpacked over packed size; deflate allows 1,032."""
SMALL_PART_BYTES = 1_000_000
"""A part smaller than this may swell as it likes."""
LIMITS = Limits(cpu_s=60, wall_s=120)

_CHUNK_BYTES = 1 << 20
_OVERLAP_BYTES = 4_096
_DOCUMENT_TYPE = re.compile(rb"<!\s*(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_FAR_CELL = re.compile(
    rb"<(?:\w+:)?c\s[^<>]*?\br=[\"'](?:[A-Z]{3,}[0-9]+|[A-Z]+[0-9]{6,})[\"'][^<>]*(?<!/)>"
)
_USUAL_PACKING = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    OSError,
    OverflowError,
    ValueError,
)
"""What `zipfile` raises about a file that is not whole."""
_SAVE_AGAIN = "Open it in your spreadsheet program, save it again as .xlsx and import that."


def read_workbook(path: Path) -> Table:
    """The first sheet with anything on it.

    Raises:
        UnreadableFile: The file is damaged, protected, no workbook, or made to harm.
    """
    look_over(path)
    table = _read_apart(path)
    check_extent(path, rows=len(table.rows), columns=max(map(len, table.rows), default=0))
    return table


def look_over(path: Path) -> None:
    """The gate: nothing in the file is larger or stranger than a list can be.

    Raises:
        UnreadableFile: Names what is wrong.
    """
    try:
        with zipfile.ZipFile(path) as workbook:
            _look_at_directory(workbook, path)
            for part in workbook.infolist():
                _look_at_part(workbook, part, path)
    except _DAMAGE as fault:
        raise _unreadable(path, "the file is damaged") from fault
    except RuntimeError as fault:  # zipfile's word for a part under a password
        raise _unreadable(path, "it is protected by a password") from fault


def _look_at_directory(workbook: zipfile.ZipFile, path: Path) -> None:
    parts = workbook.infolist()
    names = {part.filename for part in parts}
    if "xl/workbook.xml" not in names:
        raise _unreadable(path, "it is a packed file, but not an .xlsx workbook")
    packed_as_usual = {part.compress_type for part in parts} <= _USUAL_PACKING
    if len(parts) > MOST_PARTS or len(names) < len(parts) or not packed_as_usual:
        raise _unreadable(path, "it is built like no workbook")
    if sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
        raise _unreadable(path, "it unpacks to far more than a list can hold")
    for part in parts:
        swelling = part.file_size / max(part.compress_size, 1)
        if part.file_size > SMALL_PART_BYTES and swelling > MOST_SWELLING:
            raise _unreadable(path, "it unpacks to far more than a list can hold")


def _look_at_part(workbook: zipfile.ZipFile, part: zipfile.ZipInfo, path: Path) -> None:
    """Unpack a part once, piece by piece; `zipfile` checks its size and its checksum."""
    if not part.filename.endswith((".xml", ".rels")):
        return
    for chunk in _chunks(workbook, part):
        if _DOCUMENT_TYPE.search(chunk):
            raise _unreadable(path, "it declares a document type, which no workbook does")
        if chunk[:2] in (b"\xfe\xff", b"\xff\xfe") or chunk[:1] == b"\x00":
            raise _unreadable(path, "its letters are stored as no workbook stores them")
        if _FAR_CELL.search(chunk):
            raise _unreadable(path, "it has cells beyond column ZZ or row 99,999")


def _chunks(workbook: zipfile.ZipFile, part: zipfile.ZipInfo) -> Iterator[bytes]:
    """The unpacked part in pieces, each beginning with the end of the one before."""
    before = b""
    with workbook.open(part) as unpacked:
        while chunk := unpacked.read(_CHUNK_BYTES):
            yield before + chunk
            before = chunk[-_OVERLAP_BYTES:]


def _read_apart(path: Path) -> Table:
    with Apart(advice=_SAVE_AGAIN, limits=LIMITS) as room:
        try:
            return room.read(read_first_sheet, path)
        except UnreadableFile:
            raise
        except PasswordError as fault:
            raise _unreadable(path, "it is protected by a password") from fault
        except Exception as fault:  # whatever its parsers meet in a damaged file
            raise _unreadable(path, "the file is damaged") from fault


def _unreadable(path: Path, reason: str) -> UnreadableFile:
    return UnreadableFile(path, reason, _SAVE_AGAIN)
