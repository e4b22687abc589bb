import csv
import datetime as dt
import io
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.lists import PROBLEMS, ListReading, read_list, write_refused
from archive.lists.filling import filling_for
from archive.lists.headings import NOTE, Column, fields
from archive.lists.words import plain, words_for
from archive.records import Finding, Pattern, Relation, TechniqueUse


def read(tmp_path: Path, *lines: str) -> ListReading:
    path = tmp_path / "list.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return read_list(path)


def read_rows(tmp_path: Path, *rows: list[object]) -> ListReading:
    """The rows as a workbook keeps them, dates and formulas included."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    path = tmp_path / "list.xlsx"
    book.save(path)
    return read_list(path)


def the_record(reading: ListReading) -> Pattern:
    ((_, pattern),) = reading.patterns
    return pattern


FIXTURES: dict[str, tuple[list[object], ...]] = {
    "unknown-column": (["Shelfmark", "Colour"], ["P-1", "red"]),
    "column-without-heading": (["Shelfmark", "Title", None], ["P-1", "x", "red"]),
    "repeated-column": (["Shelfmark", "Title", "Name"], ["P-1", "x", "y"]),
    "repeated-row": (["Shelfmark", "Title"], ["P-1", "x"], ["P-1", "x"]),
    "unknown-technique": (["Shelfmark", "Techniques"], ["P-1", "picotts"]),
    "unknown-family": (["Shelfmark", "Family"], ["P-1", "macramé"]),
    "unknown-kind": (["Shelfmark", "Kind"], ["P-1", "tea cosy"]),
    "unknown-rights": (["Shelfmark", "Rights"], ["P-1", "old"]),
    "unclear-pairs": (["Shelfmark", "Pairs"], ["P-1", "18/20"]),
    "odd-bobbins": (["Shelfmark", "Bobbins"], ["P-1", 37]),
    "unclear-gimps": (["Shelfmark", "Gimps"], ["P-1", "some"]),
    "became-a-date": (["Shelfmark", "Pairs"], ["P-1", dt.date(2024, 10, 12)]),
    "unclear-size": (["Shelfmark", "Size"], ["P-1", "20-25 mm"]),
    "size-without-unit": (["Shelfmark", "Width"], ["P-1", 25]),
    "unclear-number": (["Shelfmark", "Corner pairs"], ["P-1", "some"]),
    "unclear-difficulty": (["Shelfmark", "Difficulty"], ["P-1", "4/10"]),
    "unclear-yes-no": (["Shelfmark", "Corner"], ["P-1", "one day"]),
    "unclear-date": (["Shelfmark", "Checked"], ["P-1", "12/05/2021"]),
    "unclear-relation": (["Shelfmark", "Related"], ["P-1", "companion to P-2"]),
    "words-left-over": (["Shelfmark", "Pairs"], ["P-1", "18 pairs, lovely"]),
    "cells-disagree": (["Shelfmark", "Pairs", "Gimps"], ["P-1", "18 + 2 gimps", "1"]),
    "too-long": (["Shelfmark", "Title"], ["P-1", "x" * 501]),
    "out-of-range": (["Shelfmark", "Size"], ["P-1", "9999999 mm"]),
    "two-lengths": (["Shelfmark", "Width"], ["P-1", "25 x 40 mm"]),
    "ditto-mark": (["Shelfmark", "Kind"], ["P-1", "edging"], ["P-2", "ditto"]),
    "no-value": (["Shelfmark", "Title"], ["P-1", "=1+1"]),
    "thread-without-number": (["Shelfmark", "Thread"], ["P-1", "silk"]),
    "thread-numbers-unclear": (["Shelfmark", "Thread"], ["P-1", "80/2 or 60/2"]),
    "thread-order-unclear": (["Shelfmark", "Thread"], ["P-1", "2/60 worsted"]),
    "thread-number-is-no-count": (["Shelfmark", "Thread"], ["P-1", "cotton 50"]),
    "thread-without-system": (["Shelfmark", "Thread"], ["P-1", "80/2 linen"]),
    "thread-without-plies": (["Shelfmark", "Thread"], ["P-1", "NeL 80"]),
    "thread-system-and-fibre-disagree": (["Shelfmark", "Thread"], ["P-1", "NeL 80/2 silk"]),
}


@pytest.mark.parametrize("code", FIXTURES)
def test_a_finding_says_where_it_is_and_what_would_do(code: str, tmp_path: Path) -> None:
    headings, *rows = FIXTURES[code]
    reading = read_rows(tmp_path, headings, *rows)
    (finding,) = reading.findings
    about_the_column = code in ("unknown-column", "column-without-heading", "repeated-column")
    assert finding.code == code
    assert finding.row == (1 if about_the_column else len(rows) + 1)
    assert finding.advice.endswith((".", "?", "”"))
    assert "{" not in finding.advice
    assert reading.refused == []
    assert reading.read == len(rows)


def test_further_sheets_are_a_finding_about_the_whole_file(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Shelfmark"])
    book.create_sheet("Loans").append(["x"])
    book.save(tmp_path / "list.xlsx")
    (finding,) = read_list(tmp_path / "list.xlsx").findings
    assert (finding.code, finding.row, finding.found) == ("other-sheets", None, "Loans")


def test_every_code_has_a_fixture_and_a_sentence() -> None:
    assert set(PROBLEMS) == set(FIXTURES) | {"other-sheets"}
    for problem in PROBLEMS.values():
        assert problem.told.endswith(".")
        assert problem.advice


FILLED = sorted(fields() - {NOTE})
cell_words = st.text(
    st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=40
)
nearly_right = st.sampled_from(
    ["18 pairs, lovely", "picotts; point ground", "c. 25 mm", "12/05/2021", "see", "37", "CC", "©"]
)


@given(st.sampled_from(FILLED), cell_words | nearly_right)
def test_a_cell_is_understood_or_its_words_are_kept(field: str, cell: str) -> None:
    value, remarks = filling_for(Column(0, field, field)).read(cell)
    if value in (None, (), ((), None)):
        says_none = plain(cell) in words_for("none") or not plain(cell)
        no_word = not any(sign.isalnum() for sign in cell)
        assert says_none or no_word or any(about.kept for about in remarks)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(cell_words | nearly_right, min_size=len(FILLED), max_size=len(FILLED)))
def test_no_cell_stops_the_reading(tmp_path: Path, cells: list[str]) -> None:
    path = tmp_path / "list.csv"
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file).writerows([["first", *FILLED], ["kept", *cells]])
    reading = read_list(path)
    assert reading.read == 1
    assert len(reading.patterns) + len(reading.refused) == 1
    for _, pattern in reading.patterns:
        assert ("first", "kept") in {(note.field, note.words) for note in pattern.unparsed}


def test_columns_may_stand_in_any_order(tmp_path: Path) -> None:
    columns = [
        ("Shelfmark", "P-1"),
        ("Title", "Catchwater"),
        ("Pairs", "18 + 2 gimps"),
        ("Techniques", "point ground; picots"),
        ("Kind", "edging"),
    ]
    forwards = read_rows(tmp_path, *map(list, zip(*columns, strict=True)))
    backwards = read_rows(tmp_path, *map(list, zip(*reversed(columns), strict=True)))
    assert the_record(forwards) == the_record(backwards)


def test_titles_and_empty_rows_are_passed_over_and_rows_keep_their_numbers(tmp_path: Path) -> None:
    reading = read(
        tmp_path, "Our prickings,", "", "Shelfmark,Title", "P-1,a", ",", "Shelfmark,Title", "P-2,b"
    )
    assert [(row, pattern.shelfmark) for row, pattern in reading.patterns] == [
        (4, "P-1"),
        (7, "P-2"),
    ]
    assert reading.read == 2


def test_an_unrecognised_column_is_kept_with_each_record(tmp_path: Path) -> None:
    reading = read(tmp_path, "Shelfmark,Colour,Pears", "P-1,red,18", "P-2,,20")
    first, second = (pattern for _, pattern in reading.patterns)
    assert [(note.field, note.words) for note in first.unparsed] == [
        ("Colour", "red"),
        ("Pears", "18"),
    ]
    assert [(note.field, note.words) for note in second.unparsed] == [("Pears", "20")]
    assert reading.suggestion == {"Colour": NOTE, "Pears": "pairs"}
    assert '“"Pears" = "pairs"”' in reading.findings[1].advice


def test_a_map_settles_a_column_without_a_finding(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Shelfmark,Colour,Pears\nP-1,red,18\n", encoding="utf-8")
    reading = read_list(path, columns={"Pears": "pairs", "Colour": "note"})
    assert reading.findings == []
    assert the_record(reading).pairs.best == 18
    assert reading.columns == {"Shelfmark": "shelfmark", "Colour": "note", "Pears": "pairs"}


def test_a_mark_for_unknown_is_no_finding(tmp_path: Path) -> None:
    record = the_record(
        read(tmp_path, "Shelfmark,Pairs,Kind,Designer,Corner", "P-1,?,-,unknown,n/a")
    )
    assert record == Pattern(shelfmark="P-1")


def test_initials_are_not_taken_for_not_available(tmp_path: Path) -> None:
    record = the_record(read(tmp_path, "Shelfmark,Designer", "P-1,N. A."))
    assert record.designer.name == "N. A."


def test_the_strongest_role_of_a_technique_counts(tmp_path: Path) -> None:
    reading = read(tmp_path, "Shelfmark,Techniques,Teaches", "P-1,picots; gimp,picots")
    assert the_record(reading).techniques == (
        TechniqueUse(technique="picot", role="taught"),
        TechniqueUse(technique="gimp", role="practised"),
    )


def test_a_single_column_of_rights_speaks_of_the_sheet_but_not_of_photographs(
    tmp_path: Path,
) -> None:
    rights = the_record(read(tmp_path, "Shelfmark,Rights,Holder", "P-1,CC BY,the guild")).rights
    assert rights.design == rights.working_up == rights.pricking
    assert rights.design is not None
    assert (rights.design.statement, rights.design.holder) == ("cc_by", "the guild")
    assert rights.photograph is None


def test_a_companion_is_settled_by_the_other_row(tmp_path: Path) -> None:
    reading = read(
        tmp_path,
        "Shelfmark,Kind,Related",
        "P-1,edging,companion to P-2",
        "P-2,insertion,companion to P-1",
        "P-3,mat,",
    )
    assert [pattern.related for _, pattern in reading.patterns[:2]] == [
        (Relation(kind="companion insertion", shelfmark="P-2"),),
        (Relation(kind="companion edging", shelfmark="P-1"),),
    ]
    assert reading.findings == []


def test_what_is_internal_in_a_list_stays_internal(tmp_path: Path) -> None:
    record = the_record(
        read(
            tmp_path, "Shelfmark,Donor,Box,Value,Notes,Provenance", "P-1,A. B.,Box 12,20,mine,attic"
        )
    )
    assert record.internal.model_dump() == {
        "donor": "A. B.",
        "location": "Box 12",
        "valuation": "20",
        "private_notes": "mine",
        "provenance": "attic",
    }
    assert Pattern(shelfmark="P-1", internal=record.internal) == record


def test_a_number_of_a_spreadsheet_is_a_shelfmark_without_a_decimal_point(tmp_path: Path) -> None:
    assert the_record(read_rows(tmp_path, ["Shelfmark"], [12.0])).shelfmark == "12"


def test_words_that_look_like_a_formula_stay_words(tmp_path: Path) -> None:
    reading = read(tmp_path, "Shelfmark,Title", "P-1,=1+1")
    assert the_record(reading).title == "=1+1"
    assert reading.findings == []


def test_a_date_that_may_be_meant_as_one_is_taken(tmp_path: Path) -> None:
    reading = read_rows(
        tmp_path,
        ["Shelfmark", "Period", "Checked", "Pairs"],
        ["P-1", dt.date(1921, 5, 12), dt.date(2021, 5, 12), dt.date(2024, 10, 12)],
    )
    record = the_record(reading)
    assert (record.period, record.condition.checked) == ("1921-05-12", dt.date(2021, 5, 12))
    assert [(note.field, note.words) for note in record.unparsed] == [("Pairs", "12 October 2024")]
    assert "“12-10” or “10-12”" in reading.findings[0].advice


def test_a_cell_joined_over_several_rows_is_said_of_each(tmp_path: Path) -> None:
    """Joined headings are no record, and neither is a row in which nothing else stands."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["No", "Title", "Box"], ["", "", "(room)"], ["P-1", "a", "Box 1"], ["P-2", "b"],
                [], ["P-3", "c"], ["P-4", "d"]):  # fmt: skip
        sheet.append(row)
    for joined in ("A1:A2", "C3:C6", "B7:C7"):
        sheet.merge_cells(joined)
    book.save(tmp_path / "list.xlsx")
    reading = read_list(tmp_path / "list.xlsx")
    places = {pattern.shelfmark: pattern.internal.location for _, pattern in reading.patterns}
    assert places == {"P-1": "Box 1", "P-2": "Box 1", "P-3": "Box 1", "P-4": ""}
    assert [refused.row for refused in reading.refused] == [2]


def test_what_stands_in_several_rows_is_found_in_each(tmp_path: Path) -> None:
    lines = [f"P-{row},80/2 linen" for row in range(2, 5)]
    findings = read(tmp_path, "Shelfmark,Thread", *lines).findings
    assert [(one.row, one.shelfmark) for one in findings] == [(2, "P-2"), (3, "P-3"), (4, "P-4")]


REFUSED = {
    "The row has no shelfmark.": ["", "a"],
    "Row 2 has the same shelfmark and says something else.": ["P-1", "other"],
    "The row looks like a total, not like a pattern.": ["Total:", "300"],
    "The row is no valid record (shelfmark is longer than 80 characters).": [
        "P" * 81,
        "a",
    ],
    "The row is no valid record (shelfmark has a line break or another invisible character in "
    "it).": ["P\n1", "a"],
}


@pytest.mark.parametrize("reason", REFUSED)
def test_a_row_that_cannot_be_kept_is_refused_with_its_reason(reason: str, tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    rows = io.StringIO()
    csv.writer(rows).writerows([["Shelfmark", "Title"], ["P-1", "first"], REFUSED[reason]])
    path.write_text(rows.getvalue(), encoding="utf-8")
    reading = read_list(path)
    (refused,) = reading.refused
    assert (refused.row, refused.reason, refused.shelfmark) == (3, reason, REFUSED[reason][0])
    assert [pattern.title for _, pattern in reading.patterns] == ["first"]
    assert reading.read == 2


def test_a_shelfmark_that_became_a_date_is_refused_until_it_is_mended(tmp_path: Path) -> None:
    reading = read_rows(tmp_path, ["Shelfmark", "Title"], [dt.date(2024, 12, 3), "x"])
    (refused,) = reading.refused
    assert "3 December 2024" in refused.reason
    assert "“3-12” or “12-3”" in refused.reason
    write_refused(reading.refused, tmp_path / "refused.csv")
    assert read_list(tmp_path / "refused.csv").patterns == []


def test_refused_rows_can_be_mended_and_imported_again(tmp_path: Path) -> None:
    reading = read(
        tmp_path,
        'Shelfmark,Title,Colour,"Width (cm)",',
        "P-1,first,,,",
        'P-1,=1+1,"red\nblue",\'-x,beside',
        ",@home,-,2,",
    )
    refused_file = tmp_path / "refused.csv"
    write_refused(reading.refused, refused_file)
    with refused_file.open(encoding="utf-8-sig", newline="") as file:
        headings, *rows = csv.reader(file)
    assert headings[-1] == "Reason refused"
    assert all(not cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row)
    rows[0][0], rows[1][0] = "P-2", "P-3"
    with refused_file.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([headings, *rows])
    again = read_list(refused_file)
    first, second = (pattern for _, pattern in again.patterns)
    assert again.refused == []
    assert (first.shelfmark, first.title) == ("P-2", "=1+1")
    assert {(note.field, note.words) for note in first.unparsed} == {
        ("Colour", "red\nblue"),
        ("Width (cm)", "-x"),
        ("column E", "beside"),
    }
    assert (second.title, second.size.width_mm) == ("@home", 20)


def test_progress_ends_with_all_rows_done(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("Shelfmark\n" + "".join(f"P-{row}\n" for row in range(1200)), encoding="utf-8")
    told: list[tuple[int, int]] = []
    read_list(path, progress=lambda done, of: told.append((done, of)))
    assert told == [(500, 1200), (1000, 1200), (1200, 1200)]


def test_reading_a_list_twice_gives_the_same(tmp_path: Path) -> None:
    first = read(tmp_path, "Shelfmark,Techniques,Colour", "P-1,picotts,red", ",x,y")
    assert read(tmp_path, "Shelfmark,Techniques,Colour", "P-1,picotts,red", ",x,y") == first
    assert isinstance(first.findings[0], Finding)
