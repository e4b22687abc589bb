"""Disks that are full or read-only: what can be told is told, and nothing is lost."""

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.cli.conftest import draw_sheet
from tests.cli.running import (
    COMMAND,
    content_of,
    forking,
    make_read_only,
    run,
    run_apart,
    run_as_nobody,
    unchanged,
)

ADVICE = (
    "Make room there, allow writing there or choose another place, then try again; "
    "nothing already saved is lost."
)
FULL = Path("/dev/full")


def files_in(folder: Path) -> dict[str, bytes]:
    return {path: content for path, content in content_of(folder).items() if content is not None}


@forking
@pytest.mark.parametrize("most_bytes", [0, 5000])
@pytest.mark.parametrize(
    "arguments",
    [
        ("new", "ours"),
        ("add", "--shelfmark", "P 5"),
        ("edit", "P 1", "--set", "title=Moss"),
        ("attach", "P 1", "sheet.svg"),
        ("import", "list.csv"),
        ("publish", "--into", "site"),
    ],
    ids=lambda arguments: arguments[0],
)
def test_a_full_disk_is_told_and_leaves_everything_as_it_was(
    guild: Path, arguments: tuple[str, ...], most_bytes: int
) -> None:
    """The system's limit on the size of files stands for the full disk."""
    draw_sheet(Path("sheet.svg"))
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")
    before = files_in(Path())
    told = run_apart(*arguments, most_bytes=most_bytes, PRICKINGS_COLLECTION=str(guild))
    assert (told.code, told.out) == (6, ""), told.err
    problem, advice = told.err.splitlines()
    assert re.search("cannot be written: .*the disk", problem)
    assert advice == ADVICE
    assert files_in(Path()) == before


@forking
def test_an_index_that_finds_no_room_hinders_no_question(guild: Path) -> None:
    shutil.rmtree(guild / "index")
    told = run_apart("find", "kestrel", most_bytes=0, PRICKINGS_COLLECTION=str(guild))
    assert (told.code, told.err) == (0, "")
    assert told.out.startswith("2 patterns\n")


@pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")
def test_an_answer_that_finds_no_room_is_told(guild: Path) -> None:
    with FULL.open("wb") as full:
        done = subprocess.run(
            [COMMAND, "find", "--collection", guild],
            stdout=full,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert done.returncode == 6
    assert done.stderr.decode() == (
        "The answer cannot be written: the disk is full.\nMake room and ask again.\n"
    )


@forking
@pytest.mark.parametrize(
    ("arguments", "path"),
    [
        (("add", "--shelfmark", "P 5"), "guild/catalogue.lock"),
        (("edit", "P 1", "--set", "title=Moss"), "guild/catalogue.lock"),
        (("edit", "P 1", "--back-to", "1"), "guild/catalogue.lock"),
        (("import", "list.csv"), "guild/catalogue.lock"),
        (("import", "double.csv", "--dry-run", "--refused", "mend.csv"), "mend.csv"),
        (("new", "ours"), "ours"),
    ],
)
def test_a_read_only_disk_is_told(
    open_guild: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], path: str
) -> None:
    monkeypatch.setenv("PRICKINGS_COLLECTION", str(open_guild))
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")
    Path("double.csv").write_text("Shelfmark,Title\nP 5,Fern\nP 5,Moss\n", encoding="utf-8")
    make_read_only(Path())
    with unchanged(Path()):
        told = run_as_nobody(*arguments)
    assert told.code == 6, told
    problem, advice = told.err.splitlines()
    assert problem == f"“{Path(path)}” cannot be written: permission is denied."
    assert advice == ADVICE


@forking
@pytest.mark.parametrize(
    "arguments",
    [
        ("show", "P 1"),
        ("find", "kestrel"),
        ("history", "P 1"),
        ("next", "honeycomb ring"),
        ("import", "list.csv", "--dry-run"),
    ],
    ids=lambda arguments: arguments[0],
)
def test_a_read_only_collection_can_be_read_even_without_its_index(
    open_guild: Path, arguments: tuple[str, ...]
) -> None:
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")
    expected = run(*arguments, "--collection", str(open_guild))
    shutil.rmtree(open_guild / "index")
    make_read_only(Path())
    with unchanged(Path()):
        told = run_as_nobody(*arguments, "--collection", str(open_guild))
    assert told == expected
    assert told.code == 0


@forking
def test_a_folder_that_may_not_be_looked_into_is_told(open_guild: Path) -> None:
    open_guild.chmod(0o000)
    told = run_as_nobody("find", "--collection", str(open_guild))
    assert told.code == 3
    assert told.err == (
        "“guild” cannot be read: permission is denied.\nCopy the folder to where you may read it.\n"
    )


@forking
@pytest.mark.parametrize(
    "arguments",
    [
        ("add", "locked/it.yaml"),
        ("import", "locked/it.csv"),
        ("measure", "P 1", "--by-hand", "locked/it.toml"),
        ("import", "list.csv", "--columns", "locked/it.toml"),
        ("demo", "locked"),
    ],
    ids=" ".join,
)
def test_a_file_in_a_folder_that_may_not_be_looked_into_is_told(
    open_guild: Path, arguments: tuple[str, ...]
) -> None:
    Path("locked").mkdir()
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n", encoding="utf-8")
    Path("locked").chmod(0o000)
    if arguments[0] != "demo":
        arguments += ("--collection", str(open_guild))
    told = run_as_nobody(*arguments)
    assert (told.code, told.out) == (3, ""), told.err
    assert re.match("“locked.*” cannot be read: permission is denied.\n", told.err)


@forking
@pytest.mark.parametrize(
    "arguments",
    [
        ("new", "locked/guild"),
        ("import", "list.csv", "--dry-run", "--refused", "locked/out.csv"),
        ("publish", "--into", "locked/site"),
    ],
    ids=" ".join,
)
def test_a_place_in_a_folder_that_may_not_be_looked_into_is_told(
    open_guild: Path, arguments: tuple[str, ...]
) -> None:
    Path("locked").mkdir()
    Path("list.csv").write_text("Shelfmark,Title\nP 5,Fern\n,Moss\n", encoding="utf-8")
    Path("locked").chmod(0o000)
    if arguments[0] != "new":
        arguments += ("--collection", str(open_guild))
    told = run_as_nobody(*arguments)
    assert told.code == 6, told.err
    assert re.match("“.*locked.*” cannot be written: permission is denied.\n", told.err)
