"""Lists made to harm, damaged or of the wrong kind: each is refused, and the reader lives on."""

from __future__ import annotations

import contextlib
import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from archive.errors import InputError, UnreadableFile
from archive.limits import Limits
from archive.lists import read_list, read_table, workbook

SHEET = "xl/worksheets/sheet1.xml"
SHEET_OPEN = (
    '<?xml version="1.0" encoding="UTF-8"?><worksheet '
    'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
)


def a_workbook() -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Shelfmark", "Title"], ["P-1", "Catchwater"], ["P-2", "Duckling"]):
        sheet.append(row)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def with_parts(changed: dict[str, bytes], *, of: bytes | None = None) -> bytes:
    """A workbook in which some parts are replaced or added."""
    content = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(of or a_workbook())) as old,
        zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            if name not in changed:
                new.writestr(name, old.read(name))
        for name, part in changed.items():
            new.writestr(name, part)
    return content.getvalue()


def a_sheet(cells: str, *, before: str = "") -> bytes:
    return f"{SHEET_OPEN}{before}<sheetData>{cells}</sheetData></worksheet>".encode()


def text_cell(position: str, words: str) -> str:
    return f'<c r="{position}" t="inlineStr"><is><t>{words}</t></is></c>'


def bomb() -> bytes:
    """200 MB of spaces in 0.2 MB."""
    content = io.BytesIO(a_workbook())
    with (
        zipfile.ZipFile(content, "a", zipfile.ZIP_DEFLATED) as book,
        book.open("xl/sharedStrings.xml", "w", force_zip64=True) as part,
    ):
        for _ in range(20):
            part.write(b" " * 10_000_000)
    return content.getvalue()


def multiplied_strings() -> bytes:
    """One string of a million letters that 90,000 cells repeat: 90 GB once it is read."""
    letters = "".join(random.Random(1).choices("abcdefghijklmnop", k=1_000_000))
    cells = "".join(
        f'<row r="{row}"><c r="A{row}" t="s"><v>0</v></c></row>' for row in range(1, 90_000)
    )
    relations = zipfile.ZipFile(io.BytesIO(a_workbook())).read("xl/_rels/workbook.xml.rels")
    relation = (
        b'<Relationship Id="rIdS" Target="sharedStrings.xml" Type="http://schemas.openxmlformats'
        b'.org/officeDocument/2006/relationships/sharedStrings"/></Relationships>'
    )
    strings = (
        '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        f"<si><t>{letters}</t></si></sst>"
    )
    return with_parts(
        {
            SHEET: a_sheet(cells),
            "xl/sharedStrings.xml": strings.encode(),
            "xl/_rels/workbook.xml.rels": relations.replace(b"</Relationships>", relation),
        }
    )


def under_password() -> bytes:
    """The flag that says a part is encrypted, set in the directory and before each part."""
    content = bytearray(a_workbook())
    for signature, offset in ((b"PK\x01\x02", 8), (b"PK\x03\x04", 6)):
        place = content.find(signature)
        while place >= 0:
            content[place + offset] |= 1
            place = content.find(signature, place + 4)
    return bytes(content)


def lying_about_its_size() -> bytes:
    content = bytearray(with_parts({SHEET: a_sheet(text_cell("A1", "x" * 100_000))}))
    place = content.rfind(b"PK\x01\x02", 0, content.rfind(SHEET.encode()))
    content[place + 24 : place + 28] = (100).to_bytes(4, "little")
    return bytes(content)


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "bomb": (bomb, "unpacks to far more"),
    "strings multiplied by cells": (multiplied_strings, "more than 2 GiB of memory"),
    "cells in two far corners": (
        lambda: with_parts({SHEET: a_sheet(text_cell("A1", "x") + text_cell("XFD1048576", "y"))}),
        "beyond column ZZ",
    ),
    "a cell in row 500,000": (
        lambda: with_parts({SHEET: a_sheet(text_cell("B500000", "x"))}),
        "beyond column ZZ",
    ),
    "a document type": (
        lambda: with_parts(
            {
                SHEET: b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;">]>'
                + a_sheet(text_cell("A1", "&b;"))
            }
        ),
        "document type",
    ),
    "a document type in other letters": (
        lambda: with_parts({SHEET: '<?xml version="1.0"?><!DOCTYPE x><x/>'.encode("utf-16")}),
        "letters are stored",
    ),
    "3,000 parts": (
        lambda: with_parts({f"xl/extra{number}.xml": b"<x/>" for number in range(3_000)}),
        "built like no workbook",
    ),
    "a password": (under_password, "password"),
    "a false size": (lying_about_its_size, "damaged"),
    "cut off": (lambda: a_workbook()[:-200], "damaged"),
    "no XML": (lambda: with_parts({SHEET: b"\x01\x02\x03"}), "damaged"),
    "a packed file of another kind": (
        lambda: with_parts({"mimetype": b"x"}, of=_zip_of({"content.xml": b"<x/>"})),
        "not an .xlsx workbook",
    ),
    "an old workbook": (lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old kind"),
    "a picture called .csv": (lambda: b"\x89PNG\r\n\x1a\n" + bytes(100), "neither"),
    "text with NUL bytes": (lambda: b"Shelfmark,Title\nP-1,a\x00b\n", "neither"),
    "100,000 columns": (
        lambda: (",".join(f"c{number}" for number in range(100_000)) + "\n").encode(),
        "it has 100,000 columns, and a list has at most 702",
    ),
    "too many rows": (lambda: b"Shelfmark,Title\n" + b"P-1,x\n" * 100_001, "rows"),
    "a quotation mark without a partner": (
        lambda: b'Shelfmark,Title\nP-1,"wide\nP-2,x\n',
        "no partner",
    ),
    "empty": (lambda: b"", "it is empty"),
    "only spaces": (lambda: b"  \r\n \n", "it is empty"),
}


def _zip_of(parts: dict[str, bytes]) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as packed:
        for name, part in parts.items():
            packed.writestr(name, part)
    return content.getvalue()


@pytest.mark.parametrize("case", HOSTILE)
def test_a_hostile_list_is_refused_with_its_reason(case: str, tmp_path: Path) -> None:
    make, reason = HOSTILE[case]
    path = tmp_path / "list.xlsx"
    path.write_bytes(make())
    with pytest.raises(UnreadableFile) as refusal:
        read_list(path)
    assert reason in refusal.value.problem
    assert refusal.value.problem.count(".") <= 3
    assert refusal.value.advice.endswith(".")


def test_the_ending_of_the_name_does_not_matter(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(a_workbook())
    assert [pattern.shelfmark for _, pattern in read_list(path).patterns] == ["P-1", "P-2"]


def test_a_false_size_of_the_sheet_is_not_believed(tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    cells = "".join(
        f'<row r="{row}">{text_cell(f"A{row}", mark)}{text_cell(f"B{row}", "x")}</row>'
        for row, mark in ((1, "Shelfmark"), (2, "P-1"), (3, "P-2"))
    )
    sheet = a_sheet(cells, before='<dimension ref="A1:XFD1048576"/>')
    path.write_bytes(with_parts({SHEET: sheet}))
    assert [row[0] for row in read_table(path).rows] == ["Shelfmark", "P-1", "P-2"]


def test_disguised_far_cells_do_not_reach_the_program(tmp_path: Path) -> None:
    """The gate cannot see through an escaped letter; the limits of the process hold."""
    path = tmp_path / "list.xlsx"
    cells = text_cell("A1", "x") + text_cell("&#88;FD1048576", "y")
    path.write_bytes(with_parts({SHEET: a_sheet(cells)}))
    with pytest.raises(UnreadableFile):
        read_table(path)


def test_reading_stops_when_its_time_is_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(a_workbook())
    monkeypatch.setattr(workbook, "LIMITS", Limits(wall_s=0.001))
    with pytest.raises(UnreadableFile, match="took more than"):
        read_table(path)


@pytest.mark.parametrize("seed", range(25))
def test_a_damaged_sheet_is_read_or_refused(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    with zipfile.ZipFile(io.BytesIO(a_workbook())) as book:
        names = [SHEET, "xl/workbook.xml", "xl/styles.xml", "xl/_rels/workbook.xml.rels"]
        name = chance.choice(names)
        part = bytearray(book.read(name))
    for _ in range(chance.randint(1, 8)):
        part[chance.randrange(len(part))] = chance.randrange(256)
    path = tmp_path / "list.xlsx"
    path.write_bytes(with_parts({name: bytes(part)}))
    with contextlib.suppress(InputError):
        read_list(path)


@pytest.mark.parametrize("seed", range(40))
def test_a_workbook_with_a_wrong_byte_is_read_or_refused(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    content = bytearray(a_workbook())
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    path = tmp_path / "list.xlsx"
    path.write_bytes(content)
    with contextlib.suppress(InputError):
        read_list(path)


def test_a_folder_and_a_missing_file_are_no_lists(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFile, match="it is a folder"):
        read_table(tmp_path)
    with pytest.raises(UnreadableFile, match="there is no such file"):
        read_table(tmp_path / "list.csv")


def test_a_list_without_headings_is_refused_and_told_of_columns(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("P-1,Catchwater,18\nP-2,Duckling,20\n", encoding="utf-8")
    with pytest.raises(InputError, match="looks like the headings") as refusal:
        read_list(path)
    assert "--columns" in refusal.value.advice


def test_headings_alone_are_an_empty_list(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Shelfmark,Title,Pairs\n", encoding="utf-8")
    reading = read_list(path)
    assert (reading.read, reading.patterns, reading.findings) == (0, [], [])
