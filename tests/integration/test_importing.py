"""A list that is read while somebody else works with the collection."""

from __future__ import annotations

from pathlib import Path

import pytest

from archive.errors import CollectionInUse
from archive.records import Pattern
from archive.records.merging import merge_listed
from archive.records.settings import CollectionSettings
from archive.store import create_collection, open_collection
from archive.workflows import importing


@pytest.fixture
def guild(tmp_path: Path) -> Path:
    """The folder of an empty collection."""
    create_collection(tmp_path / "guild", CollectionSettings(name="Guild", holder="Guild"))
    return tmp_path / "guild"


def test_a_record_changed_while_the_list_is_read_is_not_overwritten(
    guild: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = tmp_path / "list.csv"
    written.write_text("Shelfmark,Title\nP 1,Fan\n", encoding="utf-8")

    def edited_meanwhile(*records: Pattern | None, **before: Pattern | None) -> object:
        with open_collection(guild) as other, other.writing() as writer:
            writer.save([Pattern(shelfmark="P 1", title="Ring")], how="edited")
        return merge_listed(*records, **before)

    with open_collection(guild) as collection:
        importing.import_list(collection, written)
        written.write_text("Shelfmark,Title\nP 1,Leaf\n", encoding="utf-8")
        with monkeypatch.context() as meanwhile:
            meanwhile.setattr(importing, "merge_listed", edited_meanwhile)
            with pytest.raises(CollectionInUse):
                importing.import_list(collection, written)
        assert collection.get_entry("P 1").title == "Ring"
        importing.import_list(collection, written)
        assert collection.get_entry("P 1").title == "Leaf"
        titles = [change.pattern.title for change in collection.history("P 1")]
    assert titles == ["Fan", "Ring", "Leaf"]


def test_a_record_changed_between_two_batches_is_not_overwritten(
    guild: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = tmp_path / "list.csv"
    written.write_text("Shelfmark,Title\nP 1,Fan\nP 2,Fan\n", encoding="utf-8")
    monkeypatch.setattr(importing, "BATCH_ROWS", 1)

    def edit_between(done: int, of: int) -> None:
        if done == 1 and of == 2:
            with open_collection(guild) as other, other.writing() as writer:
                writer.save([Pattern(shelfmark="P 2", title="Ring")], how="edited")

    with open_collection(guild) as collection:
        importing.import_list(collection, written)
        written.write_text("Shelfmark,Title\nP 1,Leaf\nP 2,Leaf\n", encoding="utf-8")
        with pytest.raises(CollectionInUse) as refusal:
            importing.import_list(collection, written, progress=edit_between)
        titles = [entry.title for entry in collection.entries()]
    assert titles == ["Leaf", "Ring"]
    assert refusal.value.advice.endswith("1 of 2 records are saved.")


def test_progress_tells_the_rows_read_and_then_the_records_saved(
    guild: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = tmp_path / "list.csv"
    written.write_text("Shelfmark,Title\nP 1,Fan\n,Leaf\nP 2,Ring\n", encoding="utf-8")
    monkeypatch.setattr(importing, "BATCH_ROWS", 1)
    told: list[tuple[int, int]] = []
    with open_collection(guild) as collection:
        importing.import_list(collection, written, progress=lambda *done: told.append(done))
    assert told == [(3, 3), (1, 2), (2, 2)]
