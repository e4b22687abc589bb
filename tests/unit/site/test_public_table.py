from __future__ import annotations

import csv
import io
from typing import Any

import pytest

from archive.records import Entry
from archive.site.public_table import COLUMNS, table_file, table_row


def _read(*entries: Entry) -> list[dict[str, str]]:
    data = b"".join(table_file([table_row(entry) for entry in entries]))
    return list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def _entry(**told: Any) -> Entry:
    return Entry.model_validate({"shelfmark": "A 1", **told})


def test_every_row_has_the_columns_of_the_head() -> None:
    (row,) = _read(_entry())
    assert tuple(row) == COLUMNS
    assert row["Shelfmark"] == "A 1"


def test_what_is_not_known_is_an_empty_cell() -> None:
    (row,) = _read(_entry())
    assert row["Pairs"] == row["Corner"] == row["Gimps"] == row["Width mm"] == ""


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r="])
def test_no_cell_is_a_formula(start: str) -> None:
    """Source: OWASP, CSV Injection: what a cell must not begin with."""
    text = f"{start}HYPERLINK(A1)"
    told = _entry(
        other_titles=[text],
        working_notes=[{"text": text}],
        designer={"status": "named", "name": text},
    )
    (row,) = _read(told)
    for cell in (row["Other titles"], row["Working notes"], row["Designer"]):
        assert cell == f"'{text.strip()}"


def test_a_note_of_many_lines_is_one_cell_of_one_line() -> None:
    row = table_row(_entry(working_notes=[{"text": "one,\ntwo"}, {"text": 'say "three"'}]))
    assert b"\n" not in row
    assert (
        _read(_entry(working_notes=[{"text": "one,\ntwo"}, {"text": 'say "three"'}]))[0][
            "Working notes"
        ]
        == 'one, two / say "three"'
    )


def test_numbers_stay_numbers() -> None:
    (row,) = _read(_entry(size={"width_mm": 24.5}, pairs={"counted": {"start": 18}}))
    assert (row["Width mm"], row["Pairs"], row["Pairs are"]) == ("24.5", "18", "counted")
