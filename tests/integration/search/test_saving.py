"""The index on the disk: whole and of the right state, or built anew."""

import errno
import hashlib
import io
import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from archive.errors import StorageError
from archive.records import Entry
from archive.search import Question, StaleIndex, build_index, open_index, saving, wordindex

RECORDS = [Entry(shelfmark=f"P {number}", title="Fern wreath") for number in range(20)]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "guild" / "index"
    build_index(folder, RECORDS, state="s1")
    return folder


def total(folder: Path, state: str = "s1") -> int:
    with open_index(folder, state=state) as index:
        return index.ask(Question(words="fern")).total


def file_of(folder: Path) -> Path:
    (file,) = folder.glob("*.index")
    return file


def test_a_built_index_opens_for_its_state(folder: Path) -> None:
    assert total(folder) == 20


def test_an_index_of_another_state_is_stale(folder: Path) -> None:
    with pytest.raises(StaleIndex):
        total(folder, state="s2")


def test_building_anew_takes_the_place_of_the_old_index(folder: Path) -> None:
    build_index(folder, RECORDS[:3], state="s2")
    assert total(folder, state="s2") == 3
    with pytest.raises(StaleIndex):
        total(folder, state="s1")


def test_the_same_records_make_the_same_bytes(folder: Path) -> None:
    once = file_of(folder).read_bytes()
    build_index(folder, RECORDS, state="s1")
    assert file_of(folder).read_bytes() == once


def test_a_missing_index_is_stale(tmp_path: Path) -> None:
    with pytest.raises(StaleIndex):
        total(tmp_path / "nowhere")


@pytest.mark.parametrize(
    "found", [b"", b"\n", b"{}\n", b"[1]\n", b"not an index", b"\xff\xfe\n\x00"]
)
def test_a_file_that_is_no_index_is_stale(folder: Path, found: bytes) -> None:
    file_of(folder).write_bytes(found)
    with pytest.raises(StaleIndex):
        total(folder)


def test_a_folder_in_place_of_the_file_is_stale(folder: Path) -> None:
    file = file_of(folder)
    file.unlink()
    file.mkdir()
    with pytest.raises(StaleIndex):
        total(folder)


@pytest.mark.parametrize("share", [0.0, 0.001, 0.01, 0.1, 0.5, 0.9, 0.999])
def test_a_truncated_index_is_stale_and_mended_by_building(folder: Path, share: float) -> None:
    file = file_of(folder)
    whole = file.read_bytes()
    file.write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(StaleIndex):
        total(folder)
    build_index(folder, RECORDS, state="s1")
    assert total(folder) == 20


@settings(max_examples=150)
@given(data=st.data())
def test_any_changed_byte_makes_the_index_stale(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.getbasetemp() / "flipped"
    if not folder.exists():
        build_index(folder, RECORDS, state="s1")
    file = file_of(folder)
    whole = file.read_bytes()
    spot = data.draw(st.integers(0, len(whole) - 1))
    changed = bytearray(whole)
    changed[spot] ^= data.draw(st.integers(1, 255))
    try:
        file.write_bytes(changed)
        with pytest.raises(StaleIndex):
            total(folder)
    finally:
        file.write_bytes(whole)


@pytest.mark.parametrize("name", ["_FORMAT", "__version__"])
def test_an_index_of_another_version_is_stale(
    folder: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(saving, name, "other")
    with pytest.raises(StaleIndex):
        total(folder)


@pytest.mark.parametrize("terms", ["techniques", "families", "kinds"])
def test_an_index_made_with_other_words_of_lace_is_stale(
    folder: Path, terms: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    known = [*getattr(saving, terms)()]
    changed = [*known[:-1], replace(known[-1], also=("another word",))]
    monkeypatch.setattr(saving, terms, lambda: changed)
    with pytest.raises(StaleIndex):
        total(folder)


class _Mischief:
    """What a pickle may do to whoever opens it."""

    def __reduce__(self) -> Any:
        return print, ("the pickle was run",)


def test_a_pickle_in_a_foreign_index_is_never_run(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content = io.BytesIO()
    np.savez(content, words=np.array([_Mischief()], dtype=object))
    stamp = json.loads(file_of(folder).read_bytes().partition(b"\n")[0])
    stamp["sha256"] = hashlib.sha256(content.getvalue()).hexdigest()
    file_of(folder).write_bytes(json.dumps(stamp).encode() + b"\n" + content.getvalue())
    with pytest.raises(StaleIndex):
        total(folder)
    assert capsys.readouterr().out == ""


def test_building_that_fails_half_way_leaves_the_old_index(folder: Path) -> None:
    def broken() -> Iterator[Entry]:
        yield RECORDS[0]
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_index(folder, broken(), state="s2")
    assert total(folder) == 20


def test_a_full_disk_leaves_the_old_index_and_is_told_plainly(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(StorageError, match="the disk is full"):
        build_index(folder, RECORDS[:1], state="s2")
    assert total(folder) == 20
    assert [file.name for file in folder.iterdir()] == [file_of(folder).name]


def test_a_file_where_the_folder_should_be_is_told_plainly(tmp_path: Path) -> None:
    (tmp_path / "index").write_text("", encoding="utf-8")
    with pytest.raises(StorageError):
        build_index(tmp_path / "index", RECORDS, state="s1")


_BUILD_AND_DIE = """
import os, sys
from pathlib import Path
from archive.records import Entry
from archive.search import build_index

def die(*_):
    os._exit(9)

told = lambda done, of: None
if sys.argv[2] == "reading":
    told = lambda done, of: die()
else:
    Path.replace = die
records = [Entry(shelfmark=f"P {number}") for number in range(4)]
build_index(Path(sys.argv[1]), records, state="s2", progress=told)
"""


@pytest.mark.parametrize("moment", ["reading", "replacing"])
def test_a_program_that_dies_half_way_leaves_the_old_index(folder: Path, moment: str) -> None:
    """It dies as if killed, and the next program builds the index without help."""
    died = subprocess.run([sys.executable, "-c", _BUILD_AND_DIE, str(folder), moment], check=False)
    assert died.returncode == 9
    assert total(folder) == 20
    build_index(folder, RECORDS[:2], state="s2")
    assert total(folder, state="s2") == 2


def test_what_a_killed_program_left_behind_is_cleared_up_in_time(folder: Path) -> None:
    old, fresh = folder / "old.new", folder / "fresh.new"
    for left in (old, fresh):
        left.write_bytes(b"half")
    two_hours_ago = file_of(folder).stat().st_mtime - 7200
    os.utime(old, (two_hours_ago, two_hours_ago))
    build_index(folder, RECORDS, state="s1")
    assert not old.exists()
    assert fresh.exists()


def test_progress_is_told_now_and_then_and_at_the_end(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    records = [Entry(shelfmark=f"P {number}") for number in range(230)]
    for entries in (records, iter(records)):
        build_index(
            tmp_path / "index", entries, state="s1", progress=lambda *done: told.append(done)
        )
    assert told == [(100, 230), (200, 230), (230, 230)] * 2
    told.clear()
    build_index(
        tmp_path / "index",
        (record for record in records),
        state="s1",
        progress=lambda *done: told.append(done),
    )
    assert told == [(100, 0), (200, 0)]


def test_sorting_in_many_runs_makes_the_same_index(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A collection too large to be sorted at once is sorted piece by piece."""
    once = file_of(folder).read_bytes()
    monkeypatch.setattr(wordindex, "_MB_SORTED_AT_ONCE", 0.002)
    build_index(folder, RECORDS, state="s1")
    assert file_of(folder).read_bytes() == once


def test_a_program_that_seeds_chance_the_same_way_twice_loses_no_record(tmp_path: Path) -> None:
    """Whoosh names its parts by the global generator of chance."""
    for name in ("a", "b", "a"):
        random.seed(5)
        build_index(tmp_path / name, RECORDS, state="s1")
    assert total(tmp_path / "a") == total(tmp_path / "b") == 20
