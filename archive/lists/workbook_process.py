"""Reads the first sheet of a workbook and prints it as JSON: run in a process of its own.

`python workbook_process.py FILE MEMORY_BYTES`, started by `archive.lists.workbook`, which has
looked at the file before. A workbook made to harm can take this process down, but not the
program. Imports nothing of the project, so that it starts at once.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import posixpath
import re
import sys
import zipfile
from typing import Any

from defusedxml import ElementTree
from python_calamine import CalamineSheet, CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

MOST_CHARACTERS = 200_000_000

_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_CELL = re.compile(rb"<(?:\w+:)?c\s([^<>]*)>(.*?)</(?:\w+:)?c>", re.DOTALL)
_POSITION = re.compile(rb"\br=[\"']([A-Z]{1,3})([0-9]{1,7})[\"']")
_FORMULA = re.compile(rb"<(?:\w+:)?f\b[^<>]*>([^<>]*)</(?:\w+:)?f>")
_VALUE = re.compile(rb"<(?:\w+:)?v\b[^<>/]*>([^<>]+)</(?:\w+:)?v>")
_SIGNS_OF_NO_VALUE = (b"<f", b":f", b't="e"', b"t='e'")
_ERROR = re.compile(rb"\bt=[\"']e[\"']")


def limit_memory(most_bytes: int) -> None:
    """Let the operating system refuse more memory, where it can: not on Windows."""
    try:
        import resource
    except ImportError:
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    soft = most_bytes if hard == resource.RLIM_INFINITY else min(most_bytes, hard)
    with contextlib.suppress(ValueError, OSError):  # some systems know the limit but refuse it
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


def read_first_sheet(path: str) -> dict[str, Any]:
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
        return {"sheet": "", "other_sheets": [], "rows": [], "without_value": []}
    name, sheet = filled[0]
    return {
        "sheet": name,
        "other_sheets": [other for other, _ in filled[1:]],
        "rows": _rows(sheet),
        "without_value": list(_without_value(path, name)),
    }


def _rows(sheet: CalamineSheet) -> list[list[Any]]:
    rows = []
    characters = 0
    for row in sheet.to_python(skip_empty_area=False):
        while row and row[-1] == "":
            row.pop()
        rows.append([_plain(cell) for cell in row])
        characters += sum(len(cell) for cell in rows[-1])
        if characters > MOST_CHARACTERS:
            raise MemoryError("the sheet holds more text than a list can")
    return rows


def _plain(cell: Any) -> Any:
    """A cell as JSON has it; a day as {"day": "2021-05-12"}, a time of day in words."""
    if type(cell) is float:
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime) and cell.time() != dt.time():
        return str(cell)
    if isinstance(cell, dt.date):
        return {"day": cell.isoformat()[:10]}
    return str(cell)


def _without_value(path: str, sheet: str) -> Any:
    """(row, column, formula or error) of the cells that hold no value; both counted from 0."""
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
        yield int(position[2]) - 1, column - 1, _unescaped(found)


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


if __name__ == "__main__":
    limit_memory(int(sys.argv[2]))
    sys.stdout.write(json.dumps(read_first_sheet(sys.argv[1])))
