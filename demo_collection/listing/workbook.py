"""Rows become the bytes of an .xlsx workbook; the same rows give the same bytes."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence

import openpyxl
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from demo_collection.listing.rows import Cell as Value

_WIDE, _NARROW = 36, 14
_LONG_CELL = 30
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_SAVED_AT = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*(</dcterms:)")


def workbook_bytes(rows: Sequence[Sequence[Value]], *, sheet_name: str) -> bytes:
    """A workbook with one sheet; dates are dates, and the headings stay in view."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = sheet_name
    widest = max(len(row) for row in rows)
    headings = next(number for number, row in enumerate(rows, 1) if len(row) == widest)
    for number, row in enumerate(rows, 1):
        for column, value in enumerate(row, 1):
            cell = sheet.cell(number, column, value)
            cell.alignment = Alignment(vertical="top", wrap_text=number > headings)
            if isinstance(value, dt.date):
                cell.number_format = "d-mmm"
            elif isinstance(value, str):
                cell.data_type = "s"
            if number <= headings:
                cell.font = Font(bold=True, size=14 if number == 1 else 11)
    for column in range(1, widest + 1):
        longest = max(len(str(row[column - 1] or "")) for row in rows[headings:])
        width = _WIDE if longest > _LONG_CELL else _NARROW
        sheet.column_dimensions[get_column_letter(column)].width = width
    sheet.freeze_panes = f"B{headings + 1}"
    content = io.BytesIO()
    book.save(content)
    return _without_times(content.getvalue())


def _without_times(content: bytes) -> bytes:
    """The same workbook without the time at which it was saved."""
    timeless = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as saved,
        zipfile.ZipFile(timeless, "w", zipfile.ZIP_DEFLATED) as written,
    ):
        for name in saved.namelist():
            part = _SAVED_AT.sub(rb"\g<1>1980-01-01T00:00:00Z\g<3>", saved.read(name))
            written.writestr(zipfile.ZipInfo(name, _NO_TIME), part, zipfile.ZIP_DEFLATED)
    return timeless.getvalue()
