"""Lists, column maps and record files that cannot be read or are not valid."""

import random
from pathlib import Path

import pytest

from tests.cli.conftest import draw_sheet
from tests.cli.running import forking, refused, run, run_as_nobody, unchanged

NAME_AND_PROGRAMS = "Check the name, and that no other program holds the file."
SAVE_AGAIN = "Open it in your spreadsheet program and save it as .xlsx or as CSV (UTF-8)."
ONE_FIELD_A_LINE = "Give a YAML or JSON file with one field a line, such as “shelfmark: P 1”."


def refused_in(guild: Path, arguments: tuple[str, ...], *told: str, code: int = 3) -> None:
    """The command is refused in these words, and the collection stays as it was."""
    with unchanged(guild):
        refused(run(*arguments, "--collection", str(guild)), code, *told)


def test_a_list_without_headings_is_refused(guild: Path) -> None:
    Path("list.csv").write_text("P 5,Fern,18\nP 6,Moss,20\n", encoding="utf-8")
    refused_in(
        guild,
        ("import", "list.csv"),
        "No row of “list.csv” looks like the headings of a list.",
        "Put a row of headings above the list, or name the columns by their letters in a file "
        'for --columns, with lines like A = "shelfmark".',
    )


def test_a_list_without_shelfmarks_is_refused(guild: Path) -> None:
    Path("list.csv").write_text("Title,Pairs\nFern,18\n", encoding="utf-8")
    refused_in(
        guild,
        ("import", "list.csv"),
        "The list “list.csv” has no column for the shelfmark.",
        "Head that column “Shelfmark”, or name it in a file for --columns, with a line like "
        '"Title" = "shelfmark".',
    )


def test_a_hundred_thousand_columns_are_refused(guild: Path) -> None:
    headings = ["Shelfmark", "Title", *(f"x{number}" for number in range(99_998))]
    Path("wide.csv").write_text(",".join(headings) + "\nP 5,Fern\n", encoding="utf-8")
    refused_in(
        guild,
        ("import", "wide.csv"),
        "“wide.csv” cannot be read: it has 100,000 columns, and a list has at most 702.",
        "Keep only the columns of the list and save it again.",
    )


def test_a_picture_and_noise_called_csv_are_refused(guild: Path) -> None:
    Path("noise.csv").write_bytes(random.Random(2).randbytes(20_000))
    Path("picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(2000))
    for name in ("noise.csv", "picture.csv"):
        refused_in(
            guild,
            ("import", name),
            f"“{name}” cannot be read: it is neither a spreadsheet nor text.",
            SAVE_AGAIN,
        )


def test_a_broken_workbook_is_refused(guild: Path) -> None:
    Path("list.xlsx").write_bytes(b"PK\x03\x04" + bytes(200))
    refused_in(
        guild,
        ("import", "list.xlsx"),
        "“list.xlsx” cannot be read: the file is damaged.",
        "Open it in your spreadsheet program, save it again as .xlsx and import that.",
    )


@pytest.mark.parametrize(
    ("name", "reason", "advice"),
    [
        ("empty.csv", "it is empty", "Save the list again and name the new file."),
        ("folder.csv", "it is a folder", NAME_AND_PROGRAMS),
        ("missing.csv", "there is no such file", NAME_AND_PROGRAMS),
    ],
)
def test_an_empty_list_a_folder_and_a_missing_one_are_refused(
    guild: Path, name: str, reason: str, advice: str
) -> None:
    Path("empty.csv").touch()
    Path("folder.csv").mkdir()
    refused_in(guild, ("import", name), f"“{name}” cannot be read: {reason}.", advice)


@forking
@pytest.mark.parametrize("command", ["import", "add"])
def test_a_file_that_may_not_be_read_is_refused(open_guild: Path, command: str) -> None:
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")
    Path("list.csv").chmod(0o000)
    with unchanged(open_guild):
        told = run_as_nobody(command, "list.csv", "--collection", str(open_guild))
    assert (told.code, told.out) == (3, ""), told.err
    problem, advice = told.err.splitlines()
    assert problem == "“list.csv” cannot be read: permission is denied."
    assert advice.endswith(".")


def test_a_repeated_shelfmark_goes_among_the_refused_and_the_first_stays(guild: Path) -> None:
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\nP 5,Moss\n", encoding="utf-8")
    told = run("import", "list.csv", "--json", "--collection", str(guild))
    assert told.code == 1
    assert told.json["refused"] == [
        {"row": 3, "shelfmark": "P 5",
         "reason": "Row 2 has the same shelfmark and says something else."}
    ]  # fmt: skip
    assert run("show", "P 5", "--json", "--collection", str(guild)).json["title"] == "Fern"


def test_the_refused_rows_never_take_the_place_of_their_list(guild: Path) -> None:
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\nP 5,Moss\n", encoding="utf-8")
    with unchanged(Path()):
        refused_in(
            guild,
            ("import", "list.csv", "--refused", "list.csv"),
            "The refused rows would take the place of the list “list.csv” itself.",
            "Name another file with --refused; nothing has been changed.",
            code=2,
        )


def test_refused_rows_that_cannot_be_written_are_told_all_the_same(guild: Path) -> None:
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\nP 5,Moss\n", encoding="utf-8")
    target = str(Path("missing") / "mend.csv")
    told = run("import", "list.csv", "--refused", target, "--collection", str(guild))
    assert told.code == 6
    assert "row 3, P 5: Row 2 has the same shelfmark" in told.out
    assert told.err.startswith(
        f"“{target}” cannot be written: the folder it should go into is not there.\n"
    )


@pytest.mark.parametrize(
    ("content", "code", "problem", "advice"),
    [
        (
            '"Muster" = "tittle"\n',
            2,
            "Records have no field called “tittle”.",
            "Did you mean “title” or “other titles” or “tip”?",
        ),
        (
            '"Muster" = \n',
            3,
            "“map.toml” cannot be read: it is not valid TOML (Invalid value (at line 1, column "
            "12)).",
            'Write one line a column, like "Muster" = "title".',
        ),
        (
            '"Mister" = "title"\n',
            3,
            "The list “list.csv” has no column headed “Mister”.",
            "Did you mean “Muster”?",
        ),
        (
            None,
            3,
            "“map.toml” cannot be read: there is no such file.",
            'Write one line a column, like "Muster" = "title".',
        ),
    ],
)
def test_a_column_map_that_does_not_fit_is_refused(
    guild: Path, content: str | None, code: int, problem: str, advice: str
) -> None:
    Path("list.csv").write_text("Shelfmark,Muster\nP 5,Fern\n", encoding="utf-8")
    if content is not None:
        Path("map.toml").write_text(content, encoding="utf-8")
    refused_in(guild, ("import", "list.csv", "--columns", "map.toml"), problem, advice, code=code)


@pytest.mark.parametrize(
    ("name", "content", "code", "problem", "advice"),
    [
        (
            "record.yaml",
            "shelfmark: P 5\ntitle: [Fern\n",
            3,
            "“record.yaml” cannot be read: it is not valid YAML (line 3).",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.json",
            '{"shelfmark": "P 5",}',
            3,
            "“record.json” cannot be read: it is not valid JSON (line 1).",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.yaml",
            "[" * 100_000,
            3,
            "“record.yaml” cannot be read: it is not valid YAML.",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.json",
            "[" * 100_000,
            3,
            "“record.json” cannot be read: it is not valid JSON.",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.yaml",
            "- P 5\n- Fern\n",
            3,
            "“record.yaml” cannot be read: it holds no fields.",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.yaml",
            "",
            3,
            "“record.yaml” cannot be read: it holds no fields.",
            ONE_FIELD_A_LINE,
        ),
        (
            "record.yaml",
            "title: Fern\n",
            3,
            "The record “(no shelfmark)” is not valid: shelfmark: is missing.",
            "Correct the named fields and try again; nothing has been changed.",
        ),
        (
            "record.yaml",
            "shelfmark: P 5\nsize: {widht_mm: 3}\n",
            2,
            "Records have no field called “size.widht_mm”.",
            "Did you mean “size.width_mm”?",
        ),
        (
            "record.yaml",
            "shelfmark: P 5\n7: 3\n",
            2,
            "Records have no field called “7”.",
            "“prickings show SHELFMARK --json” names every field.",
        ),
        (
            "record.yaml",
            "shelfmark: P 5\ntechniques: [{technique: honeycom}]\npairs: {stated: {start: -4}}\n",
            3,
            "The record “P 5” is not valid: techniques.0.technique: “honeycom” is not a technique "
            "of the vocabulary (nearest: honeycomb, honeycomb ring, isolated honeycomb stitch); "
            "pairs.stated.start: must be 0 or more.",
            "Correct the named fields and try again; nothing has been changed.",
        ),
        (
            "record.yaml",
            "shelfmark: P 1\n",
            3,
            "There is a record “P 1” already.",
            "Choose another shelfmark, or change that record with “prickings edit”.",
        ),
    ],
)  # fmt: skip
def test_a_record_that_cannot_be_added_is_refused(
    guild: Path, name: str, content: str, code: int, problem: str, advice: str
) -> None:
    Path(name).write_text(content, encoding="utf-8")
    refused_in(guild, ("add", name), problem, advice, code=code)


def test_a_record_file_that_is_no_text_a_folder_or_missing_is_refused(guild: Path) -> None:
    draw_sheet(Path("sheet.svg"))
    Path("noise.yaml").write_bytes(random.Random(3).randbytes(3000))
    Path("folder.yaml").mkdir()
    for name, reason in (
        ("noise.yaml", "it is not text in UTF-8"),
        ("folder.yaml", "it is a folder"),
        ("missing.yaml", "there is no such file"),
        ("sheet.svg", "it holds no fields"),
    ):
        refused_in(guild, ("add", name), f"“{name}” cannot be read: {reason}.", ONE_FIELD_A_LINE)
