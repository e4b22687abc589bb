"""The command as it is installed: where it looks for the collection, and how it ends."""

import re
import subprocess
from pathlib import Path

import pytest

from archive.cli.commands import COMMANDS
from tests.cli.running import COMMAND, run, run_apart

ROOT = Path(__file__).parents[2]


def test_the_collection_named_before_the_command_counts(guild: Path) -> None:
    told = run_apart("--collection", str(guild), "find", "--kind", "insertion")
    assert (told.code, told.err) == (0, "")
    assert "P 10       Kestrel Insertion" in told.out


def test_the_collection_named_in_the_environment_counts(guild: Path) -> None:
    told = run_apart("show", "P 10", PRICKINGS_COLLECTION=str(guild))
    assert (told.code, told.err) == (0, "")
    assert told.out.startswith("P 10  Kestrel Insertion\n")


def test_the_current_folder_is_the_collection_unless_another_is_named(
    guild: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(guild)
    assert run_apart("show", "P 10").code == 0


@pytest.mark.parametrize(
    "arguments",
    [
        ("find", "--collection", "nearer"),
        ("--collection", "nearer", "find"),
        ("--collection", "guild", "find", "--collection", "nearer"),
    ],
)
def test_the_nearer_word_for_the_collection_counts(
    guild: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    """An option before the environment, the command's own before the one in front of it."""
    monkeypatch.setenv("PRICKINGS_COLLECTION", str(guild))
    assert run("find").code == 0
    told = run(*arguments)
    assert (told.code, told.err.splitlines()[0]) == (4, "There is no collection in “nearer”.")


def test_called_without_a_command_it_shows_what_there_is() -> None:
    told = run_apart()
    assert (told.code, told.err) == (0, "")
    assert told.out == run("--help").out
    assert set(re.findall(r"^  ([a-z]+)  ", told.out, re.MULTILINE)) == set(COMMANDS)


def test_version_is_that_of_the_project() -> None:
    version = re.search(r'^version = "(.+)"', (ROOT / "pyproject.toml").read_text("utf-8"), re.M)
    assert version is not None
    assert run("--version").out == f"prickings {version[1]}\n"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_shows_how_it_is_used(name: str) -> None:
    told = run(name, "--help")
    assert (told.code, told.err) == (0, "")
    assert told.out.startswith(f"Usage: prickings {name} ")


def test_a_reader_that_has_seen_enough_gets_no_complaint() -> None:
    """As in `prickings vocabulary | head -1`."""
    with subprocess.Popen(
        [COMMAND, "vocabulary"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        assert process.stderr.read() == b""


def test_words_of_any_script_survive_a_console_that_knows_only_ascii(guild: Path) -> None:
    told = run_apart("vocabulary", "Tønder", PYTHONIOENCODING="ascii", LC_ALL="C")
    assert (told.code, told.err) == (0, "")
    assert told.out.startswith("Tønder (family of lace)\n")
    assert guild.is_dir()


@pytest.mark.parametrize(
    ("code", "arguments"),
    [
        (0, ("show", "P 1")),
        (1, ("import", "doubtful.csv")),
        (2, ("find", "--pairs", "many")),
        (3, ("add", "broken.yaml")),
        (4, ("show", "P 99")),
        (5, ("show", "P 1", "--collection", "damaged")),
        (6, ("publish", "--into", str(Path("doubtful.csv") / "site"))),
    ],
)
def test_each_exit_code_means_what_the_readme_says(
    guild: Path, monkeypatch: pytest.MonkeyPatch, code: int, arguments: tuple[str, ...]
) -> None:
    monkeypatch.setenv("PRICKINGS_COLLECTION", str(guild))
    Path("doubtful.csv").write_text("Shelfmark,Pairs\nP 5,many\n", encoding="utf-8")
    Path("broken.yaml").write_text("title: [", encoding="utf-8")
    Path("damaged").mkdir()
    (Path("damaged") / "catalogue.db").touch()
    (Path("damaged") / "collection.toml").write_text('name = "T"', encoding="utf-8")
    told = run(*arguments)
    assert told.code == code, told
    assert len(told.err.splitlines()) == (0 if code < 2 else 2)
    documented = re.findall(
        r"^\| (\d) \|", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE
    )
    assert str(code) in documented
