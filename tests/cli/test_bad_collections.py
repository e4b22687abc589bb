"""Collections that are damaged, too new, in use, or not there; folders that hold other things."""

import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from archive.store import open_collection
from tests.cli.conftest import draw_sheet
from tests.cli.running import refused, run, unchanged

BACKUP = "Leave the folder as it is and work on from your last backup."
EDITOR = "Correct the file with any text editor; the lines that start with # explain it."

READING = [("show", "P 1"), ("find",), ("history", "P 1"), ("next", "picot"), ("check",)]
WRITING = [
    ("add", "--shelfmark", "P 5"),
    ("edit", "P 1", "--set", "title=Moss"),
    ("edit", "P 1", "--back-to", "1"),
    ("attach", "P 1", "sheet.svg"),
    ("import", "list.csv"),
    ("measure", "T 1"),
    ("measure", "--all"),
]
CALLS = [*READING, *WRITING, ("publish", "--into", "site")]


def called(arguments: tuple[str, ...]) -> str:
    return " ".join(arguments)


@pytest.fixture(autouse=True)
def _files() -> None:
    draw_sheet(Path("sheet.svg"))
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")


def noise(catalogue: Path) -> None:
    catalogue.write_bytes(random.Random(4).randbytes(3000))


def emptied(catalogue: Path) -> None:
    catalogue.write_bytes(b"")


def cut_short(catalogue: Path) -> None:
    catalogue.write_bytes(catalogue.read_bytes()[:20_000])


@pytest.mark.parametrize("arguments", CALLS, ids=called)
@pytest.mark.parametrize(
    ("damage", "reason"),
    [
        (noise, "it is not a catalogue of prickings"),
        (emptied, "it is not a catalogue of prickings"),
        (cut_short, "a part of it is not as it was written"),
    ],
)
def test_a_damaged_catalogue_is_left_as_it_is(
    guild: Path, damage: Callable[[Path], None], reason: str, arguments: tuple[str, ...]
) -> None:
    damage(guild / "catalogue.db")
    with unchanged(Path()):
        told = run(*arguments, "--collection", str(guild))
        refused(told, 5, f"“{guild / 'catalogue.db'}” is damaged: {reason}.", BACKUP)


@pytest.mark.parametrize("arguments", CALLS, ids=called)
def test_a_collection_of_a_newer_version_is_left_as_it_is(
    guild: Path, arguments: tuple[str, ...]
) -> None:
    catalogue = sqlite3.connect(guild / "catalogue.db")
    catalogue.execute("UPDATE alembic_version SET version_num = '9999'")
    catalogue.commit()
    catalogue.close()
    with unchanged(Path()):
        refused(
            run(*arguments, "--collection", str(guild)),
            5,
            f"The collection in “{guild}” was written by a newer version of prickings "
            "(catalogue 9999).",
            "Install the newest prickings and try again; nothing has been changed.",
        )


@pytest.mark.parametrize("arguments", WRITING, ids=called)
def test_a_second_writer_is_told_to_wait(guild: Path, arguments: tuple[str, ...]) -> None:
    with open_collection(guild) as opened, opened.writing(), unchanged(guild):
        refused(
            run(*arguments, "--collection", str(guild)),
            5,
            f"Another program is writing to the collection in “{guild}”.",
            "Wait until it has finished, then try again; nothing has been changed.",
        )


@pytest.mark.parametrize("arguments", READING, ids=called)
def test_reading_goes_on_while_somebody_writes(guild: Path, arguments: tuple[str, ...]) -> None:
    with open_collection(guild) as opened, opened.writing():
        told = run(*arguments, "--collection", str(guild))
    assert told.code in (0, 1)
    assert told.err == ""


@pytest.mark.parametrize(
    ("settings", "reason"),
    [
        ('name = "T"\nholder = \n', "line 2 is not valid TOML (Invalid value)"),
        ('name = "T"\n\nlanguage = "xx!"\n',
         "line 3, language: “xx!” is not a language code such as en, nl or de-CH"),
        ('name = "T"\n\n[house]\nfoot_passive_pairs = "two"\n',
         "line 4, foot_passive_pairs: must be a whole number"),
        ('name = "T"\n[publishing]\npicturs = "never"\n', "line 3, picturs: is not known"),
        ('holder = "T"\n', "name: is missing"),
    ],
)  # fmt: skip
def test_broken_settings_are_pointed_at_by_their_line(
    guild: Path, settings: str, reason: str
) -> None:
    path = guild / "collection.toml"
    path.write_text(settings, encoding="utf-8")
    with unchanged(Path()):
        told = run("find", "--collection", str(guild))
        refused(told, 3, f"“{path}” cannot be read: {reason}.", EDITOR)


def test_missing_and_unreadable_settings_are_named(guild: Path) -> None:
    path = guild / "collection.toml"
    advice = "Take it from your last backup, or save it anew as UTF-8."
    path.write_bytes("name = “Bücher”".encode("cp1252"))
    told = run("find", "--collection", str(guild))
    refused(told, 3, f"“{path}” cannot be read: it is not text in UTF-8.", advice)
    path.unlink()
    told = run("find", "--collection", str(guild))
    refused(told, 3, f"“{path}” cannot be read: there is no such file.", advice)


@pytest.mark.parametrize("arguments", CALLS, ids=called)
@pytest.mark.parametrize("folder", ["missing", "list.csv", "."])
def test_where_there_is_no_collection_it_is_said(folder: str, arguments: tuple[str, ...]) -> None:
    with unchanged(Path()):
        refused(
            run(*arguments, "--collection", folder),
            4,
            f"There is no collection in “{folder}”.",
            "Name its folder with --collection, or start one with “prickings new FOLDER”.",
        )


def test_no_collection_is_started_over_anything(guild: Path) -> None:
    with unchanged(Path()):
        refused(
            run("new", str(guild)),
            2,
            f"There is a collection in “{guild}” already.",
            "Choose another folder, or name this one with --collection to work with it.",
        )
        refused(
            run("new", "."),
            2,
            "The folder “.” is not empty.",
            "Choose a folder that is empty or not there yet; nothing has been changed.",
        )
        refused(
            run("new", "list.csv"),
            6,
            "“list.csv” cannot be written: something of that name is there already.",
            "Choose another name or place, or make the missing folder first; "
            "nothing already saved is lost.",
        )


@pytest.mark.parametrize(
    ("option", "value", "fault"),
    [
        ("--language", "klingon!", "language: “klingon!” is not a language code such as en, nl or "
         "de-CH."),
        ("--name", "x" * 501, "name: is longer than 500 characters."),
    ],
)  # fmt: skip
def test_a_collection_is_not_started_with_settings_that_cannot_be(
    option: str, value: str, fault: str
) -> None:
    with unchanged(Path()):
        told = run("new", "ours", option, value)
        refused(told, 3, fault, "Give another value; no collection was started.")


def test_a_site_is_not_published_over_other_things(guild: Path) -> None:
    Path("papers").mkdir()
    (Path("papers") / "letter.txt").write_text("dear", encoding="utf-8")
    advice = "Choose a new or empty folder, or move that file away first; nothing was changed."
    with unchanged(Path("papers")), unchanged(guild / "files"):
        for folder, found in (("papers", "letter.txt"), (str(guild), "catalogue.db")):
            told = run("publish", "--into", folder, "--collection", str(guild))
            assert (told.code, told.out) == (2, "")
            problem, given = told.err.splitlines()
            assert problem == (
                f"“{Path(folder).absolute()}” holds “{found}”, which is not part of a published "
                "site."
            )
            assert given == advice
        told = run("publish", "--into", "list.csv", "--collection", str(guild))
        assert (told.code, told.out, len(told.err.splitlines())) == (2, "", 2)


def test_the_demo_is_not_built_over_other_things() -> None:
    with unchanged(Path()):
        told = run("demo", "list.csv")
        assert (told.code, told.out, len(told.err.splitlines())) == (6, "", 2)


def test_the_demo_is_not_mixed_into_a_collection_that_is_there(guild: Path) -> None:
    Path("ours").mkdir()
    home = guild.rename(Path("ours") / "collection")
    with unchanged(Path()):
        refused(
            run("demo", "ours"),
            2,
            f"“{home}” holds another collection, “Our prickings”.",
            "Choose another folder for the demo; nothing has been changed.",
        )
