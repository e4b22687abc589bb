"""Lists saved as workbooks (.xlsx): looked over first, then read in a process with limits.

A workbook is a zip of XML parts, and both can be made to swell beyond any memory. The gate
looks at the sizes a file declares and at what it really unpacks to, at document types and at
cells far out; what passes is read by python-calamine in a process that is given so much
memory and time and no more. On Windows the operating system offers no such memory limit
here; there the gate and the time limit stand alone.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import struct
import subprocess
import sys
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from archive.errors import UnreadableFile
from archive.lists.table import Cell, Table, check_extent

MOST_PARTS = 2_000
MOST_UNPACKED_BYTES = 400_000_000
MOST_SWELLING = 200
"""Unpacked over packed size; deflate allows 1,032."""
SMALL_PART_BYTES = 1_000_000
"""A part smaller than this may swell as it likes."""
MOST_MEMORY_BYTES = 2 * 1024**3
MOST_SECONDS = 60

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
    result = _read_apart(path)
    rows = [[_cell(cell) for cell in row] for row in result["rows"]]
    check_extent(path, rows=len(rows), columns=max(map(len, rows), default=0))
    return Table(
        rows=rows,
        sheet=result["sheet"],
        other_sheets=tuple(result["other_sheets"]),
        without_value={(row, column): found for row, column, found in result["without_value"]},
    )


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


def _read_apart(path: Path) -> dict[str, Any]:
    """What `workbook_process` prints about the file."""
    command = [
        sys.executable,
        "-P",
        str(Path(__file__).with_name("workbook_process.py")),
        str(path.resolve()),
        str(MOST_MEMORY_BYTES),
    ]
    try:
        done = subprocess.run(command, capture_output=True, timeout=MOST_SECONDS, check=False)
    except subprocess.TimeoutExpired as fault:
        raise _unreadable(path, f"reading it took more than {MOST_SECONDS} seconds") from fault
    if done.returncode != 0:
        raise _unreadable(path, _reason(done.stderr))
    result: dict[str, Any] = json.loads(done.stdout)
    return result


def _reason(complaint: bytes) -> str:
    """What the last words of the process mean; one that was killed has none."""
    if b"PasswordError" in complaint:
        return "it is protected by a password"
    if b"memory allocation" in complaint or b"MemoryError" in complaint or not complaint:
        return "it needs far more memory than a list can"
    return "the file is damaged"


def _cell(cell: Any) -> Cell:
    return cell if type(cell) is str else dt.date.fromisoformat(cell["day"])


def _unreadable(path: Path, reason: str) -> UnreadableFile:
    return UnreadableFile(path, reason, _SAVE_AGAIN)
