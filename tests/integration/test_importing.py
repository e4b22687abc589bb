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


def test_a_record_changed_while_the_list_is_read_is_not_overwritten(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    guild = tmp_path / "guild"
    create_collection(guild, CollectionSettings(name="Guild", holder="Guild"))
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
