"""Opens a list, whatever kind of file it is."""

from __future__ import annotations

import os
from pathlib import Path

from archive.errors import UnreadableFile, reading_errors
from archive.lists.delimited import read_delimited
from archive.lists.table import MOST_BYTES, Table
from archive.lists.workbook import read_workbook

_ZIP = b"PK"
_OLD_OR_LOCKED_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


def read_table(path: Path) -> Table:
    """The rows of a list in CSV or .xlsx, told apart by what is in the file.

    Raises:
        UnreadableFile: There is no such file, or it is no list that can be read.
    """
    content = _content(path)
    if content.startswith(_ZIP):
        return read_workbook(path)
    if content.startswith(_OLD_OR_LOCKED_WORKBOOK):
        raise UnreadableFile(
            path,
            "it is a workbook of the old kind (.xls), or protected by a password",
            "Open it in your spreadsheet program and save it as .xlsx without a password.",
        )
    return read_delimited(content, path)


def _content(path: Path) -> bytes:
    advice = "Check the name, and that no other program holds the file."
    with reading_errors(path, advice), path.open("rb") as file:
        size = os.fstat(file.fileno()).st_size
        content = file.read() if size <= MOST_BYTES else b""
    if size > MOST_BYTES:
        raise UnreadableFile(
            path,
            f"it has {size / 1e6:,.0f} MB, far more than a list",
            "Check that it is the right file.",
        )
    if not content.strip():
        raise UnreadableFile(path, "it is empty", "Save the list again and name the new file.")
    return content
