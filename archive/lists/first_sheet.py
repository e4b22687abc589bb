"""Reads the first sheet of a workbook, as it stands in the file.

Knows cells and formulas. Trusts the file: `archive.lists.workbook` looks it over before and runs
this apart from the program, under limits.
"""

from __future__ import annotations

import datetime as dt
import posixpath
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from defusedxml import ElementTree
from python_calamine import CalamineSheet, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

from archive.lists.table import Cell, Table

MOST_CHARACTERS = 200_000_000

_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_CELL = re.compile(rb"<(?:\w+:)?c\s([^<>]*)>(.*?)</(?:\w+:)?c>", re.DOTALL)
_POSITION = re.compile(rb"\br=[\"']([A-Z]{1,3})([0-9]{1,7})[\"']")
_FORMULA = re.compile(rb"<(?:\w+:)?f\b[^<>]*>([^<>]*)</(?:\w+:)?f>")
_VALUE = re.compile(rb"<(?:\w+:)?v\b[^<>/]*>([^<>]+)</(?:\w+:)?v>")
_SIGNS_OF_NO_VALUE = (b"<f", b":f", b't="e"', b"t='e'")
_ERROR = re.compile(rb"\bt=[\"']e[\"']")


def read_first_sheet(path: Path) -> Table:
    """The first visible sheet with anything on it, and the names of further ones."""
    workbook = CalamineWorkbook.from_path(path)
    names = [
        sheet.name
        for sheet in workbook.sheets_metadata
        if sheet.typ == SheetTypeEnum.WorkSheet and sheet.visible == SheetVisibleEnum.Visible
    ]
    filled = [
        (name, sheet)
        for name in names
        if (sheet := workbook.get_sheet_by_name(name)).end is not None
    ]
    if not filled:
        return Table(rows=[], sheet="", other_sheets=(), without_value={})
    name, sheet = filled[0]
    rows = _rows(sheet)
    return Table(
        rows=rows,
        sheet=name,
        other_sheets=tuple(other for other, _ in filled[1:]),
        without_value=dict(_without_value(path, name)),
        merged={
            (row, column): first
            for (first, column), (last, _) in sheet.merged_cell_ranges or ()
            for row in range(first + 1, min(last + 1, len(rows)))
            if rows[row]
        },
    )


def _rows(sheet: CalamineSheet) -> list[list[Cell]]:
    rows = []
    characters = 0
    for row in sheet.to_python(skip_empty_area=False):
        while row and row[-1] == "":
            row.pop()
        rows.append([_plain(cell) for cell in row])
        characters += sum(len(cell) for cell in rows[-1] if isinstance(cell, str))
        if characters > MOST_CHARACTERS:
            raise MemoryError("the sheet holds more text than a list can")
    return rows


def _plain(cell: Any) -> Cell:
    """A cell as words or as a day; a time of day in words."""
    if type(cell) is float:
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime) and cell.time() != dt.time():
        return str(cell)
    if isinstance(cell, dt.datetime):
        return cell.date()
    if isinstance(cell, dt.date):
        return cell
    return str(cell)


def _without_value(path: Path, sheet: str) -> Iterator[tuple[tuple[int, int], str]]:
    """(row, column), both from 0, of the cells without a value, each with its formula or error."""
    with zipfile.ZipFile(path) as parts:
        xml = parts.read(_part_of(parts, sheet))
    if not any(sign in xml for sign in _SIGNS_OF_NO_VALUE):
        return
    for cell in _CELL.finditer(xml):
        attributes, content = cell.groups()
        formula, value = _FORMULA.search(content), _VALUE.search(content)
        error = _ERROR.search(attributes)
        position = _POSITION.search(attributes)
        if position is None or not (error or (formula and value is None)):
            continue
        column = 0
        for letter in position[1]:
            column = column * 26 + letter - ord("A") + 1
        found = value[1] if value else b"=" + formula[1] if formula else b""
        yield (int(position[2]) - 1, column - 1), _unescaped(found)


def _unescaped(xml: bytes) -> str:
    text: str = ElementTree.fromstring(b"<t>" + xml + b"</t>").text or ""
    return text


def _part_of(parts: zipfile.ZipFile, sheet: str) -> str:
    """The name of the part that holds a sheet."""
    workbook_part = "xl/workbook.xml"
    workbook = ElementTree.fromstring(parts.read(workbook_part))
    relations = ElementTree.fromstring(parts.read("xl/_rels/workbook.xml.rels"))
    targets = {relation.get("Id"): relation.get("Target", "") for relation in relations}
    for element in workbook.iter():
        if element.tag.endswith("}sheet") and element.get("name") == sheet:
            target = targets[element.get(_RELATION)]
            return posixpath.normpath(posixpath.join("/xl", target)).lstrip("/")
    raise KeyError(sheet)
