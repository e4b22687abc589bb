"""The columns of one list, each with what is done with its cells."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from archive.lists.cells import Reading, date_in_spreadsheet
from archive.lists.drafting import Put
from archive.lists.filling import filling_for
from archive.lists.headings import LISTS, NOTE, REASON, SHELFMARK, Column, Headings, suggested_field
from archive.lists.problems import Remark, remark
from archive.lists.table import Cell, Table, column_letters
from archive.lists.words import signs_for

_LONGEST_SIGN = 14
_MOST_KNOWN = 20_000
_NOTHING: Reading[Any] = Reading(None)


class FilledColumn:
    """A column that fills a field.

    Attributes:
        index: Its place, from 0.
        heading: What stands above it.
        field: The field it fills.
        put: Puts a value into the record.
        known: Cell -> what was read; the same words are only read once.
    """

    def __init__(self, column: Column) -> None:
        filling = filling_for(column)
        self.index = column.index
        self.heading = column.heading
        self.field = column.field
        self.put: Put = filling.put
        self.known: dict[Cell, Reading[Any]] = {}
        self._filling = filling

    def read(self, cell: Cell) -> Reading[Any]:
        """What a cell says that is not known yet."""
        reading = self._read_day(cell) if isinstance(cell, dt.date) else self._read_words(cell)
        if len(self.known) < _MOST_KNOWN:
            self.known[cell] = reading
        return reading

    def _read_day(self, day: dt.date) -> Reading[Any]:
        if self._filling.takes_days:
            return self._filling.read(day.isoformat())
        return Reading(None, (date_in_spreadsheet(day),))

    def _read_words(self, cell: str) -> Reading[Any]:
        sign = _signs().get(cell.strip().casefold()) if len(cell) <= _LONGEST_SIGN else None
        if sign == "unknown":
            return _NOTHING
        if sign == "ditto":
            return Reading(None, (remark("ditto-mark", cell, kept=cell),))
        return self._filling.read(cell)


@cache
def _signs() -> dict[str, str]:
    """What a whole cell says that means nothing by itself."""
    meanings = {sign: name for name in ("unknown", "ditto") for sign in signs_for(name)}
    return {"": "unknown", **meanings}


@dataclass
class Layout:
    """What is done with the cells of each column.

    Attributes:
        shelfmark: The column of the shelfmarks.
        filled: Columns that fill a field of the record, from left to right.
        kept: Columns whose cells are kept as notes.
        headings: (place, heading) of every column, for a row that is written out again.
        columns: Heading -> field, as recognised.
        suggestion: Heading that was not recognised -> the field it is most like.
        remarks: (heading, remark) about whole columns.
    """

    shelfmark: Column
    filled: list[FilledColumn] = field(default_factory=list)
    kept: list[Column] = field(default_factory=list)
    headings: list[tuple[int, str]] = field(default_factory=list)
    columns: dict[str, str] = field(default_factory=dict)
    suggestion: dict[str, str] = field(default_factory=dict)
    remarks: list[tuple[str, Remark]] = field(default_factory=list)

    def heading_of(self, field: str) -> str:
        """The heading of the first column that fills `field`; "" if none does."""
        return next((column.heading for column in self.filled if column.field == field), "")


def lay_out(table: Table, found: Headings) -> Layout:
    """Decide for every column with anything in it what its cells are for."""
    rows = table.rows[found.row :]
    first_of: dict[str, Column] = {}
    for column in found.columns:
        if column.field:
            first_of.setdefault(column.field, column)
    layout = Layout(first_of[SHELFMARK])
    for column in _all_columns(found, rows):
        has_cells = _has_cells(rows, column.index)
        if column.field == REASON or not (column.heading or has_cells):
            continue
        heading = column.heading or f"column {column_letters(column.index)}"
        layout.headings.append((column.index, heading))
        if column.field == NOTE:
            layout.columns[heading] = NOTE
        elif column.field and (column is first_of[column.field] or column.field in LISTS):
            layout.columns[heading] = column.field
            layout.filled.append(FilledColumn(column))
            continue
        elif has_cells:
            layout.remarks.append((heading, _not_understood(column, first_of, layout)))
        layout.kept.append(Column(column.index, heading, NOTE))
    return layout


def _all_columns(found: Headings, rows: list[list[Cell]]) -> Iterator[Column]:
    """The columns of the headings, and those further right with cells below them."""
    yield from found.columns
    for index in range(len(found.columns), max(map(len, rows), default=0)):
        yield Column(index, "", None)


def _has_cells(rows: list[list[Cell]], index: int) -> bool:
    return any(len(row) > index and row[index] for row in rows)


def _not_understood(column: Column, first_of: dict[str, Column], layout: Layout) -> Remark:
    if not column.heading:
        letter = column_letters(column.index)
        return remark("column-without-heading", f"column {letter}", letter=letter)
    if column.field:
        return remark(
            "repeated-column",
            column.heading,
            first=first_of[column.field].heading,
            second=column.heading,
        )
    suggestion = suggested_field(column.heading)
    layout.suggestion[column.heading] = suggestion
    return remark("unknown-column", column.heading, line=f'“"{column.heading}" = "{suggestion}"”')
