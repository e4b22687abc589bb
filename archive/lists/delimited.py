"""Lists saved as text: which letters, which separator, which cells.

Knows nothing of what the cells mean.
"""

from __future__ import annotations

import codecs
import contextlib
import csv
import io
import re
from collections import Counter
from itertools import islice
from pathlib import Path

from archive.errors import UnreadableFile
from archive.lists.table import MOST_ROWS, Cell, Table, check_extent

SEPARATORS = ",;\t"
_ROWS_LOOKED_AT = 200
_CHARACTERS_LOOKED_AT = 200_000
_NAMED_SEPARATOR = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)
_NO_TEXT = bytes(range(9)) + bytes(range(14, 32)) + b"\x7f"
_INERT = re.compile(r"'+[=+\-@\t\r]")
_ACTIVE = re.compile(r"'*[=+\-@\t\r]")


def read_delimited(content: bytes, path: Path) -> Table:
    """The table in a text file; `path` is only named in errors.

    UTF-8 and UTF-16 with their marks, UTF-8 without, and else Windows-1252. Cells may hold
    line breaks inside quotation marks; such a row counts once, as in a spreadsheet.

    Raises:
        UnreadableFile: It is no text, its quotation marks do not match, or it is too large.
    """
    text = _decoded(content, path)
    named = _NAMED_SEPARATOR.match(text)
    if named:
        separator, text = named[1], text[named.end() :]
    else:
        separator = _likeliest_separator(text)
    rows = _rows(text, separator, path)
    check_extent(path, rows=len(rows), columns=max(map(len, rows), default=0))
    if _INERT.search(text):
        rows = [[activated(str(cell)) for cell in row] for row in rows]
    return Table(rows)


def inert(cell: str) -> str:
    """The cell as it must be written so that no spreadsheet takes it for a formula.

    >>> inert("=1+1"), activated(inert("'=1+1"))
    ("'=1+1", "'=1+1")
    """
    return f"'{cell}" if _ACTIVE.match(cell) else cell


def activated(cell: str) -> str:
    """The cell as it was before `inert`."""
    return cell[1:] if _INERT.match(cell) else cell


def _decoded(content: bytes, path: Path) -> str:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encodings = ["utf-16"]
    elif len(content.translate(None, _NO_TEXT)) == len(content):
        encodings = ["utf-8-sig", "cp1252"]
    else:
        encodings = []
    for encoding in encodings:
        with contextlib.suppress(UnicodeDecodeError):
            return content.decode(encoding)
    raise UnreadableFile(
        path,
        "it is neither a spreadsheet nor text",
        "Open it in your spreadsheet program and save it as .xlsx or as CSV (UTF-8).",
    )


def _likeliest_separator(text: str) -> str:
    """The separator that cuts the most rows into the same number of cells, and into many."""
    beginning = text[:_CHARACTERS_LOOKED_AT]

    def agreement(separator: str) -> int:
        reader = csv.reader(_lines(beginning), delimiter=separator)
        try:
            widths = Counter(len(row) for row in islice(reader, _ROWS_LOOKED_AT))
        except csv.Error:
            return 0
        return max(((width - 1) * rows for width, rows in widths.items()), default=0)

    return max(SEPARATORS, key=agreement)


def _rows(text: str, separator: str, path: Path) -> list[list[Cell]]:
    """The rows without empty cells and rows at their ends; at most one row too many."""
    reader = csv.reader(_lines(text), delimiter=separator, strict=True)
    rows: list[list[Cell]] = []
    try:
        for row in islice(reader, MOST_ROWS + 1):
            while row and not row[-1].strip():
                row.pop()
            rows.append([*row])
    except csv.Error as fault:
        raise UnreadableFile(
            path,
            f"a quotation mark in row {len(rows) + 1} or just above it has no partner",
            "Take the mark out, or write it twice, and save the file again.",
        ) from fault
    while rows and not rows[-1]:
        rows.pop()
    return rows


def _lines(text: str) -> io.StringIO:
    return io.StringIO(text, newline="")
