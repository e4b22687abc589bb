"""Documents of several pages, and the time a sheet may take."""

from __future__ import annotations

from pathlib import Path

import pytest

from archive.records import Pattern
from archive.store import open_collection
from archive.workflows import measuring
from tests.cli.conftest import draw_sheet
from tests.cli.running import refused, run, unchanged
from tests.pdf_writing import one_page, pdf, stream, swollen


def ground(rows: int) -> bytes:
    """A drawn strip of six columns at 45°, 10 units from row to row."""
    return b"".join(
        b"%d %d 2 2 re f\n" % (50 + 5 * column, 40 + 10 * row + 5 * (column % 2))
        for column in range(6)
        for row in range(rows)
    )


@pytest.fixture
def booklet(tmp_path: Path) -> str:
    """Two pages: strips of 12 and of 20 rows."""
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 200 300]/Contents %d 0 R>>"
    content = pdf(
        [
            b"<</Type/Catalog/Pages 2 0 R>>",
            b"<</Type/Pages/Kids[3 0 R 4 0 R]/Count 2>>",
            page % 5,
            page % 6,
            stream(ground(12)),
            stream(ground(20)),
        ]
    )
    path = tmp_path / "booklet.pdf"
    path.write_bytes(content)
    return str(path)


@pytest.mark.parametrize(
    ("asked", "told", "pins"),
    [((), "1 of 2", 72), (("--page", "1"), "1 of 2", 72), (("--page", "2"), "2 of 2", 120)],
)
def test_the_report_says_which_page_was_measured(
    asked: tuple[str, ...], told: str, pins: int, booklet: str
) -> None:
    answer = run("measure", booklet, *asked)
    assert answer.code == 0
    lines = answer.out.splitlines()
    assert lines[0].split(maxsplit=1) == ["page", f"{told}; of a file --page N measures another"]
    assert lines[1].split() == ["pinholes", str(pins)]
    found = run("measure", booklet, *asked, "--json").json
    assert f"{found['source']['page']} of {found['source']['pages']}" == told
    assert found["scale"]["how"] == "drawing-units"
    assert found["ground"]["pitch_mm"] == pytest.approx(10 * 25.4 / 72, rel=1e-4)


def test_a_page_that_is_not_there_is_refused(booklet: str) -> None:
    problem = f"“{booklet}” cannot be read: it has 2 pages, and no page 3."
    refused(run("measure", booklet, "--page", "3"), 3, problem, "Choose another page.")


def test_a_drawing_of_one_page_has_no_second(tmp_path: Path) -> None:
    sheet = str(draw_sheet(tmp_path / "sheet.svg"))
    assert run("measure", sheet, "--page", "1").out.startswith("pinholes")
    problem = f"“{sheet}” cannot be read: it has only one page, and no page 2."
    refused(run("measure", sheet, "--page", "2"), 3, problem, "Choose another page.")


def test_a_page_of_a_record_cannot_be_asked_for(shelf: Path) -> None:
    refused(
        run("measure", "P 1", "--page", "2", "--collection", str(shelf)),
        2,
        "--page is for a file that belongs to no record.",
        "Save the page as a file of its own and attach that to the record.",
    )


def test_a_sheet_that_takes_too_long_is_given_up(tmp_path: Path) -> None:
    bends = "c1 2 3 4 5 6" * 400_000
    path = tmp_path / "sheet.svg"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0{bends}"/>'
        "</svg>",
        encoding="utf-8",
    )
    refused(
        run("measure", str(path), "--time-limit", "1"),
        3,
        f"“{path}” cannot be read: reading it took more than 1 seconds of computing.",
        "Save the sheet anew from a picture or drawing program, a scan with 300 dpi. A large one "
        "on a slow computer may need “prickings measure --time-limit SECONDS”.",
    )


def test_a_sheet_that_breaks_its_reader_is_a_finding_and_the_others_are_measured(
    tmp_path: Path,
) -> None:
    """A page whose content swells to gigabytes takes down the process that reads it, alone."""
    assert run("new", "guild").code == 0
    bomb = tmp_path / "bomb.pdf"
    bomb.write_bytes(one_page(swollen(4_000), entries=b"/Filter/FlateDecode"))
    sheets = [draw_sheet(tmp_path / "a.svg"), bomb, draw_sheet(tmp_path / "b.svg")]
    with open_collection(Path("guild")) as collection:
        for number, sheet in enumerate(sheets, start=1):
            with collection.writing() as writer:
                writer.save([Pattern(shelfmark=f"P {number}")], how="added")
                # “prickings attach” would have refused the second one
                writer.attach(f"P {number}", sheet, role="pricking")
    told = run("measure", "--all", "--json", "--collection", "guild")
    assert told.code == 1
    assert told.json["measured"] == 2
    assert [finding["shelfmark"] for finding in told.json["findings"]] == ["P 2"]
    assert "“bomb.pdf” cannot be read" in told.json["findings"][0]["found"]


def stumble(path: Path, **_options: object) -> None:
    raise KeyError(path.suffix)


def test_a_mistake_of_the_program_on_one_sheet_is_told_and_ends_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run("new", "guild").code == 0
    assert run("add", "--shelfmark", "P 1", "--title", "Reed", "--collection", "guild").code == 0
    sheet = str(draw_sheet(tmp_path / "reed.svg"))
    assert run("attach", "P 1", sheet, "--collection", "guild").code == 0
    monkeypatch.setattr(measuring, "measure", stumble)
    told = run("measure", "--all", "--json", "--collection", "guild")
    assert (told.code, told.json["measured"]) == (1, 0)
    found = told.json["findings"][0]["found"]
    assert found == ("“reed.svg” brought the measuring to a mistake of its own (KeyError: '.svg').")


def test_a_document_made_to_harm_is_not_attached(guild: Path, tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.pdf"
    bomb.write_bytes(one_page(swollen(4_000), entries=b"/Filter/FlateDecode"))
    with unchanged(guild):
        told = run("attach", "P 1", str(bomb), "--collection", str(guild))
    assert told.code == 3
    assert f"“{bomb}” cannot be read" in told.err
