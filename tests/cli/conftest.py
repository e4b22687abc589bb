import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.running import run
from tests.strip import draw_strip

LIST = """\
Shelfmark;Title;Family;Kind;Techniques;Taught;Pairs;Gimps;Thread;Level;Width;Corner;Designer;Box
P 1;Bracken;Bucks point;edging;point ground;picots;18;0;80/2 NeL;easy;25 mm;no;A. Fern;Box 1
P 2;Kestrel;Bucks;edging;point ground, gimp;honeycomb rings;24 (+6 corner);2;cotton 50;3;3,5 cm;;\
A. Fern;Box 12
P 10;Kestrel Insertion;Bucks point;insertion;point ground;;c. 30;;;hard;;;trad.;Box 12
T 1;Gatepost;Torchon;corner edging;torchon ground;spiders;12;;60/2 NeL;1;22 mm;yes;;Box 3
T 2;Wicket;Torchon;edging;spiders, rose ground;;11;;linen 40/2 NeL;2;22 mm;;;Box 3
"""
"""A small list with a Windows-1252 look: semicolons, decimal commas, one label in doubt."""


def draw_sheet(path: Path) -> Path:
    """A drawn strip of torchon ground, 7 columns by 30 rows, footside on the right."""
    return draw_strip(path, columns=7)


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The command is called from an empty folder and knows of no collection."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PRICKINGS_COLLECTION", raising=False)


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A collection of five records, one with a sheet, made by the command itself."""
    folder = tmp_path_factory.mktemp("shelf")
    (folder / "list.csv").write_text(LIST, encoding="utf-8")
    draw_sheet(folder / "t1.svg")
    guild = folder / "guild"
    for arguments in (
        ("new", str(guild), "--name", "Our prickings", "--holder", "Our guild"),
        ("import", str(folder / "list.csv"), "--collection", str(guild)),
        ("attach", "T 1", str(folder / "t1.svg"), "--collection", str(guild)),
        ("find", "--collection", str(guild)),
    ):
        told = run(*arguments)
        assert told.err == ""
    return guild


@pytest.fixture
def guild(shelf: Path, tmp_path: Path) -> Path:
    """A copy of the shelf, called “guild” from where the command is called."""
    shutil.copytree(shelf, tmp_path / "guild")
    return Path("guild")


@pytest.fixture
def open_guild(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """As `guild`, in a place that every user may look into; pytest's own folders are closed."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        shutil.copytree(shelf, Path(place) / "guild")
        monkeypatch.chdir(place)
        yield Path("guild")
        monkeypatch.undo()
        for path in (Path(place), *Path(place).rglob("*")):
            path.chmod(0o700)
