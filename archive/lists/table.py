"""A list as it stands in its file: rows of cells, numbered as a spreadsheet shows them.

Tells a spreadsheet from text by what is in the file, not by its ending. Knows nothing of
headings or records.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path

from archive.errors import UnreadableFile

Cell = str | dt.date
"""The words of a cell; a day where the spreadsheet holds one; "" where the cell is empty."""

MOST_COLUMNS = 702
"""Columns A to ZZ; a list with more is a mistake or an attack."""
MOST_ROWS = 99_999
MOST_BYTES = 100_000_000


@dataclass(frozen=True)
class Table:
    """The rows of a list.

    Attributes:
        rows: Row n of the spreadsheet is `rows[n - 1]`, without empty cells at its end.
        sheet: The name of the sheet that was read; "" for a text file.
        other_sheets: Names of sheets with anything on them that were not read.
        without_value: (row, column from 0) -> the formula or error in a cell without a value.
        merged: (row, column from 0) -> the row above with which the cell is joined to one, in
            rows with anything else in them. Its words stand in that row only.
    """

    rows: list[list[Cell]]
    sheet: str = ""
    other_sheets: tuple[str, ...] = ()
    without_value: dict[tuple[int, int], str] = field(default_factory=dict)
    merged: dict[tuple[int, int], int] = field(default_factory=dict)


def column_letters(index: int) -> str:
    """The letters above the column at `index`, counted from 0.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def check_extent(path: Path, *, rows: int, columns: int) -> None:
    """Refuse a table that is larger than any list.

    Raises:
        UnreadableFile: It has too many rows or columns.
    """
    if columns > MOST_COLUMNS:
        raise UnreadableFile(
            path,
            f"it has {columns:,} columns, and a list has at most {MOST_COLUMNS}",
            "Keep only the columns of the list and save it again.",
        )
    if rows > MOST_ROWS:
        raise UnreadableFile(
            path,
            f"it has {rows:,} rows, and a list has at most {MOST_ROWS:,}",
            "Split it into several files and import them one after the other.",
        )
