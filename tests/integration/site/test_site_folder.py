"""The folder of a site is changed whole or not at all, and only where it is one."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from archive.errors import CollectionDamaged, StorageError, UsageError
from archive.site import NotASite
from tests.integration.site.invented import Shelf, publish, small_shelf, written
from tests.integration.site.published import files_of


@pytest.mark.parametrize("name", ["letter.txt", "patterns/letter.html", ".hidden"])
def test_a_folder_with_other_things_in_it_is_left_alone(
    name: str, shelf: Shelf, tmp_path: Path
) -> None:
    publish(shelf, tmp_path / "site")
    (tmp_path / "site" / name).write_text("mine", encoding="utf-8")
    before = files_of(tmp_path / "site")
    shelf.entries.pop()
    with pytest.raises(NotASite) as refusal:
        publish(shelf, tmp_path / "site")
    assert name in refusal.value.problem
    assert files_of(tmp_path / "site") == before


def test_a_folder_that_is_no_site_is_left_alone(shelf: Shelf, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(NotASite):
        publish(shelf, tmp_path / "home")
    assert (tmp_path / "home" / "index.html").read_text(encoding="utf-8") == "mine"


def test_files_that_desktops_leave_are_no_obstacle(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    for name in (".DS_Store", "pictures/Thumbs.db"):
        (tmp_path / "site" / name).write_bytes(b"0")
    assert publish(shelf, tmp_path / "site").written == 0


def test_a_file_that_was_lost_from_the_site_is_made_again(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    (tmp_path / "site" / "patterns" / "b-2.html").unlink()
    (tmp_path / "site" / "style" / "site.css").write_bytes(b"")
    publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == before


def test_a_build_that_fails_leaves_the_old_site(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")

    def broken(*_: object) -> bytes:
        raise RuntimeError("a bug")

    monkeypatch.setattr("archive.site.public_data.records_file", broken)
    shelf.entries.pop()
    with pytest.raises(RuntimeError):
        publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]


def test_a_record_that_is_not_as_it_was_written_leaves_the_old_site(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    title = shelf.entries[3].title
    monkeypatch.setattr(
        "tests.integration.site.invented.written",
        lambda entry: written(entry)._replace(
            record=written(entry).record.replace(title, title + '"')
        ),
    )
    with pytest.raises(CollectionDamaged, match="the record “T 2” is not as it was written"):
        publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_whole_disk_is_not_taken_for_a_folder(shelf: Shelf) -> None:
    with pytest.raises(UsageError) as refusal:
        publish(shelf, Path(Path.cwd().anchor))
    assert "a whole disk" in refusal.value.problem


def test_when_the_new_site_cannot_take_its_place_the_old_one_goes_back(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    rename = Path.rename

    def locked(path: Path, target: Path) -> Path:
        if path.name == ".site.building":
            raise PermissionError(13, "in use")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", locked)
    shelf.entries.pop()
    with pytest.raises(StorageError):
        publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]


_BUILDING = """
import sys
from pathlib import Path
from tests.integration.site.invented import publish, small_shelf
shelf = small_shelf(Path(sys.argv[1]))
print("ready", flush=True)
for turn in range(1000):
    shelf.entries[0] = shelf.entries[0].model_copy(update={"title": f"Edge {turn % 2}"})
    publish(shelf, Path(sys.argv[2]))
    print(turn, flush=True)
"""


def test_a_killed_build_leaves_a_whole_site_or_one_that_the_next_build_puts_back(
    tmp_path: Path,
) -> None:
    shelf = small_shelf(tmp_path / "shelf")
    site = tmp_path / "site"
    whole = []
    for title in ("Edge 0", "Edge 1"):
        shelf.entries[0] = shelf.entries[0].model_copy(update={"title": title})
        publish(shelf, site)
        whole.append(files_of(site))
    root = Path(__file__).parents[3]
    seed = random.randrange(1_000_000)
    print(f"seed {seed}")
    chance = random.Random(seed)
    for _ in range(15):
        building = subprocess.Popen(
            [sys.executable, "-c", _BUILDING, str(tmp_path / "shelf"), str(site)],
            cwd=root,
            stdout=subprocess.PIPE,
        )
        assert building.stdout is not None
        building.stdout.readline()
        building.stdout.readline()
        time.sleep(chance.uniform(0, 0.15))
        building.send_signal(signal.SIGTERM if sys.platform == "win32" else signal.SIGKILL)
        building.wait()
        building.stdout.close()
        place = site if site.exists() else tmp_path / ".site.before"
        assert files_of(place) in whole
    publish(shelf, site)
    assert files_of(site) == whole[1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]
