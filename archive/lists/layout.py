"""The columns of one list, each with what is done with its cells."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from archive.lists.filling import Filling, filling_for
from archive.lists.headings import (
    LISTS,
    NOTE,
    REASON,
    SHELFMARK,
    Column,
    Headings,
    suggested_field,
)
from archive.lists.problems import Remark, remark
from archive.lists.table import Cell, Table, column_letters


@dataclass
class Layout:
    """What is done with the cells of each column.

    Attributes:
        shelfmark: The column of the shelfmarks.
        filling: Columns that fill a field of the record.
        kept: Columns whose cells are kept as notes.
        headings: (place, heading) of every column, for a row that is written out again.
        columns: Heading -> field, as recognised.
        suggestion: Heading that was not recognised -> the field it is most like.
        remarks: (heading, remark) about whole columns.
    """

    shelfmark: Column
    filling: list[tuple[Column, Filling]] = field(default_factory=list)
    kept: list[Column] = field(default_factory=list)
    headings: list[tuple[int, str]] = field(default_factory=list)
    columns: dict[str, str] = field(default_factory=dict)
    suggestion: dict[str, str] = field(default_factory=dict)
    remarks: list[tuple[str, Remark]] = field(default_factory=list)

    def heading_of(self, field: str) -> str:
        """The heading of the first column that fills `field`; "" if none does."""
        return next((c.heading for c, _ in self.filling if c.field == field), "")


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
            layout.filling.append((column, filling_for(column)))
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
