import datetime as dt
from collections.abc import Iterable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.cell import Cell as Box

from archive.lists import read_table


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "list.xlsx"


def save(path: Path, cells: dict[str, object], *, empty_sheet_first: bool = False) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    if empty_sheet_first:
        sheet = book.create_sheet("Second")
    for position, value in cells.items():
        sheet[position] = value
    book.save(path)


def test_cells_keep_the_place_a_spreadsheet_shows(path: Path) -> None:
    save(path, {"B3": "Shelfmark", "C3": "Title", "B5": "P-1"})
    assert read_table(path).rows == [[], [], ["", "Shelfmark", "Title"], [], ["", "P-1"]]


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (12.0, "12"),
        (12, "12"),
        (2.5, "2.5"),
        (0.1 + 0.2, "0.3"),
        (True, "True"),
        ("=1+1 is text with an apostrophe", "=1+1 is text with an apostrophe"),
        (dt.time(3, 30), "03:30:00"),
        (dt.datetime(2021, 5, 12, 3, 30), "2021-05-12 03:30:00"),
        (dt.date(2021, 5, 12), dt.date(2021, 5, 12)),
        ("Tønder\nlærred ✔", "Tønder\nlærred ✔"),
    ],
)
def test_a_cell_is_what_the_spreadsheet_shows(path: Path, value: object, words: object) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    box = sheet["A1"]
    assert isinstance(box, Box)
    box.value = value  # type: ignore[assignment]
    if isinstance(value, str):
        box.data_type = "s"
    book.save(path)
    assert read_table(path).rows == [[words]]


def test_formulas_and_errors_without_a_value_are_not_lost(path: Path) -> None:
    """A file that no spreadsheet program has opened yet has formulas without values."""
    save(path, {"A1": "Shelfmark", "A2": "P-1", "B2": '=A1&"<x>"', "C2": "#REF!"})
    table = read_table(path)
    assert table.rows == [["Shelfmark"], ["P-1"]]
    assert table.without_value == {(1, 1): '=A1&"<x>"', (1, 2): "#REF!"}


def test_the_first_sheet_with_anything_on_it_is_read(path: Path) -> None:
    save(path, {"A1": "Shelfmark"}, empty_sheet_first=True)
    table = read_table(path)
    assert (table.sheet, table.other_sheets, table.rows) == ("Second", (), [["Shelfmark"]])


def test_further_sheets_are_named(path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"] = "Shelfmark"
    for name in ("Loans", "Empty", "Hidden"):
        more = book.create_sheet(name)
        if name != "Empty":
            more["A1"] = "x"
        more.sheet_state = "hidden" if name == "Hidden" else "visible"
    book.save(path)
    assert read_table(path).other_sheets == ("Loans",)


def test_calamine_and_openpyxl_read_the_same_words(path: Path) -> None:
    """Outside check: openpyxl, a general-purpose library, reads what we read."""
    rows: list[list[str]] = [
        [f"P-{row}", f"tëxt {row}\nline", "" if row % 3 else "x & <y>", str(row / 4)]
        for row in range(200)
    ]
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    book.save(path)

    def trimmed(cells: Iterable[object]) -> list[object]:
        return [cell or "" for cell in cells]

    again = openpyxl.load_workbook(path).active
    assert again is not None
    expected = [trimmed(row) for row in again.iter_rows(values_only=True)]
    assert read_table(path).rows == expected
