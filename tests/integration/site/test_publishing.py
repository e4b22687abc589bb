"""Publishing anew makes what has changed, and the same site as publishing from nothing."""

from __future__ import annotations

import shutil
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.records import Entry
from archive.site import ComesNext, NextPattern, Shelved
from tests.integration.site.invented import OPEN_RIGHTS, Shelf, publish, small_shelf
from tests.integration.site.published import files_of

CANARY = "canary-7f3a"


def test_publishing_twice_writes_nothing_the_second_time(shelf: Shelf, tmp_path: Path) -> None:
    first = publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    second = publish(shelf, tmp_path / "site")
    assert (second.written, second.unchanged) == (0, first.written)
    assert files_of(tmp_path / "site") == before


def test_the_same_collection_gives_the_same_bytes_in_whatever_order(
    shelf: Shelf, tmp_path: Path
) -> None:
    publish(shelf, tmp_path / "one")
    shelf.entries.reverse()
    shelf.folder = tmp_path / "other-cache"
    publish(shelf, tmp_path / "two")
    assert files_of(tmp_path / "one") == files_of(tmp_path / "two")


def test_a_changed_record_rewrites_its_page_and_leaves_most_others(
    shelf: Shelf, tmp_path: Path
) -> None:
    first = publish(shelf, tmp_path / "site")
    shelf.entries[0] = shelf.entries[0].model_copy(update={"period": "about 1900"})
    second = publish(shelf, tmp_path / "site")
    # The page, the records twice, the search index; the index of files is written every time.
    assert second.written == 4
    assert second.unchanged == first.written - 4
    assert b"about 1900" in (tmp_path / "site" / "patterns" / "b-2.html").read_bytes()


def test_where_nothing_has_changed_nothing_is_touched(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    places = [tmp_path, *(path for path in (tmp_path / "site").rglob("*") if path.is_dir())]
    before = [path.stat().st_mtime_ns for path in places]
    publish(shelf, tmp_path / "site")
    assert [path.stat().st_mtime_ns for path in places] == before


def test_a_change_in_private_words_alone_writes_nothing(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    told = shelf.entries[0].model_dump()
    told["internal"] = {"donor": CANARY}
    shelf.entries[0] = Entry.model_validate(told)
    assert publish(shelf, tmp_path / "site").written == 0
    assert files_of(tmp_path / "site") == before


def _edited(entry: Entry, what: str, value: int) -> Entry:
    told = entry.model_dump()
    told.update(
        {
            "title": {"title": f"Edge {value}"},
            "level": {"difficulty": {"level": value}},
            "technique": {"techniques": [{"technique": "gimp", "role": "taught"}]},
            "pairs": {"pairs": {"stated": {"start": 4 * value}}},
            "rights": {"rights": {} if value > 2 else OPEN_RIGHTS},
            "correction": {"corrections": [{"fault": f"hole {value} is missing"}]},
            "related": {"related": [{"kind": "see also", "shelfmark": ("T 1", "B 2")[value % 2]}]},
            "words": {"working_notes": [{"text": f"word{value} and\u2028another"}]},
            "private": {"internal": {"donor": f"donor {value}"}},
            "family": {"families": [("torchon", "bucks")[value % 2]]},
            "shelfmark": {"shelfmark": f"{entry.shelfmark[:6]} {value}"},
        }[what]
    )
    return Entry.model_validate(told)


def test_other_processes_help_to_make_the_same_site(
    shelf: Shelf, site: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archive.helping.ENOUGH", 2)
    monkeypatch.setattr("archive.site.making.PIECE", 1)
    monkeypatch.setattr("os.cpu_count", lambda: 3)
    # Nothing is left for this process, so that all is done by others.
    monkeypatch.setattr("archive.helping.Shared._do_one", lambda _: time.sleep(0.01))
    publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == site
    shelf.entries[3] = _edited(shelf.entries[3], "title", 4)
    shelf.entries[4] = _edited(shelf.entries[4], "level", 4)
    monkeypatch.undo()
    publish(shelf, tmp_path / "site")
    shutil.rmtree(shelf.folder / "cache")
    publish(shelf, tmp_path / "clean")
    assert files_of(tmp_path / "site") == files_of(tmp_path / "clean")


@pytest.mark.parametrize("path", ["records.json", "records.csv"])
def test_lines_of_an_old_site_that_somebody_changed_are_not_taken_over(
    shelf: Shelf, tmp_path: Path, path: str
) -> None:
    """The size is the same, by which a file is otherwise known."""
    publish(shelf, tmp_path / "site")
    changed = tmp_path / "site" / path
    changed.write_bytes(changed.read_bytes().replace(b"torchon", b"TORCHON"))
    shelf.entries[3] = _edited(shelf.entries[3], "title", 4)
    publish(shelf, tmp_path / "site")
    shutil.rmtree(shelf.folder / "cache")
    publish(shelf, tmp_path / "clean")
    assert files_of(tmp_path / "site") == files_of(tmp_path / "clean")


def _said(comes_next: dict[str, list[NextPattern]]) -> ComesNext:
    def find(patterns: Sequence[Shelved]) -> list[list[NextPattern]]:
        return [comes_next.get(pattern.shelfmark, []) for pattern in patterns]

    return ComesNext(repr(sorted(comes_next.items())), lambda _: find)


_edits = st.lists(
    st.tuples(
        st.sampled_from(
            ["title", "level", "technique", "pairs", "rights", "correction", "related", "words",
             "private", "family", "shelfmark", "remove", "add", "next", "publish"]
        ),
        st.integers(0, 5),
        st.integers(1, 5),
    ),
    min_size=1,
    max_size=8,
)  # fmt: skip


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=_edits)
def test_building_on_the_old_site_equals_building_anew(
    edits: list[tuple[str, int, int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("edits")
    shelf = small_shelf(folder / "shelf")
    comes_next: dict[str, list[NextPattern]] = {}
    publish(shelf, folder / "site")
    for what, which, value in edits:
        place = which % len(shelf.entries)
        marks = {entry.shelfmark for entry in shelf.entries}
        if what == "publish":
            publish(shelf, folder / "site", comes_next=_said(comes_next))
        elif what == "next":
            comes_next[shelf.entries[place].shelfmark] = [
                NextPattern("T 1", ("gimp",)[value % 2 :])
            ]
        elif what == "remove" and len(marks) > 1:
            del shelf.entries[place]
        elif what == "add" and f"N {value}" not in marks:
            shelf.add(f"N {value}", title="New", techniques=[{"technique": "plait"}])
        elif what not in ("remove", "add"):
            edited = _edited(shelf.entries[place], what, value)
            if edited.shelfmark not in marks - {shelf.entries[place].shelfmark}:
                shelf.entries[place] = edited
    publish(shelf, folder / "site", comes_next=_said(comes_next))
    shelf.folder = folder / "nothing-is-remembered-here"
    publish(shelf, folder / "clean", comes_next=_said(comes_next))
    assert files_of(folder / "site") == files_of(folder / "clean")


def test_what_is_remembered_may_be_damaged_or_lost(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = files_of(tmp_path / "site")
    remembered = tmp_path / "shelf" / "cache" / "site.npz"
    data = bytearray(remembered.read_bytes())
    for damage in (data[:100], data[:-50], b"", bytes(len(data))):
        remembered.write_bytes(damage)
        assert publish(shelf, tmp_path / "site").written == 0
        assert files_of(tmp_path / "site") == before
    data[len(data) // 2] ^= 1
    remembered.write_bytes(data)
    publish(shelf, tmp_path / "site")
    assert files_of(tmp_path / "site") == before


def test_what_another_version_remembers_is_left_alone(shelf: Shelf, tmp_path: Path) -> None:
    remembered = tmp_path / "shelf" / "cache" / "site.npz"
    remembered.parent.mkdir()
    last = b"another version\nits whole\nits manifest\n"
    np.savez(remembered, last=np.frombuffer(last, np.uint8), head=np.zeros(7))
    assert publish(shelf, tmp_path / "site").written > 100
    assert publish(shelf, tmp_path / "site").written == 0
