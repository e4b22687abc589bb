"""`prickings measure` with what a person says of a sheet."""

from pathlib import Path

import pytest

from tests.cli.running import run, unchanged

HOLES = 210
"""On the drawn sheet of T 1."""


def line(label: str, text: str) -> str:
    """What stands behind a label in a report; empty where there is no such line."""
    told = (row for row in text.splitlines() if row.startswith(label))
    return next(told, "").removeprefix(label).strip()


def test_holes_said_by_hand_are_told_kept_and_forgotten_again(guild: Path) -> None:
    measure = ("measure", "T 1", "--collection", str(guild))
    told = run(
        *measure, "--hole", "10,12 mm", "--no-hole", "16,28 mm", "--no-hole", "45.354,52.913 px"
    )
    assert (told.code, told.err) == (0, "")
    assert line("pinholes", told.out) == str(HOLES + 1 - 1)
    assert line("by hand", told.out) == "1 hole added, 1 hole taken away, 1 place as found"
    assert line("by hand", run(*measure).out) == line("by hand", told.out)
    assert line("by hand", run("show", "T 1", "--collection", str(guild)).out) == line(
        "by hand", told.out
    )
    forgotten = run(*measure, "--forget-by-hand")
    assert line("pinholes", forgotten.out) == str(HOLES)
    assert line("by hand", forgotten.out) == ""


def test_a_file_takes_the_place_of_what_was_said_before(guild: Path, tmp_path: Path) -> None:
    measure = ("measure", "T 1", "--collection", str(guild))
    run(*measure, "--hole", "10,12 mm")
    said = tmp_path / "said.toml"
    said.write_text('no_hole = ["10,10 mm"]\nfoot = "left"\n', encoding="utf-8-sig")
    told = run(*measure, "--by-hand", str(said))
    assert line("by hand", told.out) == "1 hole taken away, the footside on the left"
    assert line("footside", told.out).startswith("on the left, 29 pins")


def test_a_file_outside_a_collection_can_be_mended_too(shelf: Path) -> None:
    told = run("measure", str(shelf.parent / "t1.svg"), "--hole", "10,12 mm", "--json")
    assert told.json["by_hand"] == {
        "added": 1,
        "taken_away": 0,
        "confirmed": 0,
        "foot": None,
        "marks": [{"hole": True, "x": 37.795, "y": 45.354, "unit": "px"}],
    }
    assert told.json["pins"]["count"] == HOLES + 1


@pytest.mark.parametrize(
    ("options", "code", "said"),
    [
        (("T 1", "--hole", "10,12"), 3, "“10,12” is not a place on a sheet."),
        (("T 1", "--hole", "99,12 mm"), 3, "lies beside the sheet"),
        (("T 1", "--by-hand", "nowhere.toml"), 3, "“nowhere.toml” cannot be read: there is no"),
        (("T 1", "--by-hand", "."), 3, "“.” cannot be read: it is a folder"),
        (("--all", "--no-hole", "10,12 mm"), 2, "said of one sheet"),
        (("--all", "--forget-by-hand"), 2, "said of one sheet"),
    ],
)
def test_what_cannot_be_meant_changes_nothing(
    guild: Path, options: tuple[str, ...], code: int, said: str
) -> None:
    with unchanged(guild):
        told = run("measure", *options, "--collection", str(guild))
    assert told.code == code
    assert said in told.err
    assert told.out == ""
