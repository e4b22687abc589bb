"""Records are found, in order, and all of one moment."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import event

from archive.errors import CollectionDamaged, UnknownShelfmark
from archive.records import Entry
from archive.store import Collection, open_collection
from tests.integration.store.shorthand import named, save


def test_shelfmarks_are_in_the_order_of_their_numbers(guild: Collection) -> None:
    in_order = ["7", "P 2", "P 2a", "P-2-1", "P 10", "p 11", "Q 1", "Ä 1"]
    save(guild, *(named(mark) for mark in reversed(in_order)))
    expected = ["7", "Ä 1", "P 2", "P-2-1", "P 2a", "P 10", "p 11", "Q 1"]
    assert guild.shelfmarks() == expected
    assert [entry.shelfmark for entry in guild.entries()] == expected


def test_a_shelfmark_is_known_by_another_spelling(guild: Collection) -> None:
    save(guild, named("P 12"), named("Box-3/7"))
    for spelling in ("p 12", "P12", "p-12", " P  12 ", "P–12"):
        assert guild.get_entry(spelling).shelfmark == "P 12"
    assert guild.get_entry("box 3 7").shelfmark == "Box-3/7"
    assert guild.history("p12")[0].pattern.shelfmark == "P 12"


@pytest.mark.parametrize("other", ["P 1-2", "P 1 2", "P 120", "P 012", "Q 12", "P 12a", ""])
def test_another_number_is_another_record(guild: Collection, other: str) -> None:
    save(guild, named("P 12"))
    with pytest.raises(UnknownShelfmark):
        guild.get_entry(other)


def test_of_two_that_are_spelt_alike_none_is_guessed(guild: Collection) -> None:
    save(guild, named("P 12"), named("P-12"), named("P 13"))
    assert guild.get_entry("P-12").shelfmark == "P-12"
    with pytest.raises(UnknownShelfmark) as refusal:
        guild.get_entry("p12")
    assert refusal.value.nearest == ("P 12", "P-12")


def test_the_nearest_shelfmarks_are_named(guild: Collection) -> None:
    save(guild, named("Edging 12"), named("Mat 3"))
    with pytest.raises(UnknownShelfmark) as refusal:
        guild.get_entry("Edgign 12")
    assert refusal.value.advice == "Did you mean “Edging 12”?"


def test_inside_a_block_questions_are_answered_as_it_left_things(
    folder: Path, guild: Collection
) -> None:
    with open_collection(folder) as other:
        with guild.writing() as writer:
            writer.save([named("P 1")], how="added")
            assert guild.shelfmarks() == ["P 1"]
            assert other.shelfmarks() == []
        assert other.shelfmarks() == ["P 1"]


def test_entries_are_of_one_moment_and_keep_no_writer_waiting(guild: Collection) -> None:
    save(guild, named("P 1"), named("P 2"))
    seen = []
    for entry in guild.entries():
        seen.append(entry.title)
        save(guild, named("P 1", "Fan"), named("P 2", "Fan"))
    assert seen == ["", ""]


def test_a_large_change_does_not_lock_readers_out(folder: Path, guild: Collection) -> None:
    long_note = "It is easily forgotten. " * 200
    with open_collection(folder) as other, guild.writing() as writer:
        writer.save([named(f"P {n}", long_note[:400]) for n in range(8000)], how="added")
        assert other.shelfmarks() == []


def test_all_entries_take_as_many_queries_as_one(guild: Collection, tmp_path: Path) -> None:
    (tmp_path / "sheet.svg").write_text("<svg/>", encoding="utf-8")
    counts = []
    asked: list[str] = []
    event.listen(guild._engine, "before_cursor_execute", lambda *said: asked.append(said[2]))
    for number in (1, 30):
        save(guild, *(named(f"P {n}") for n in range(number)))
        with guild.writing() as writer:
            for n in range(number):
                writer.attach(f"P {n}", tmp_path / "sheet.svg")
        asked.clear()
        assert all(entry.attachments for entry in guild.entries())
        counts.append(len(asked))
    assert counts[0] == counts[1]


@pytest.mark.parametrize("damage", ['{"titel":1}', b"\x00\xff", 7])
def test_a_row_that_is_not_what_was_written_is_named(
    folder: Path, guild: Collection, damage: object
) -> None:
    save(guild, named("P 1"), named("P 2"))
    catalogue = sqlite3.connect(folder / "catalogue.db")
    with catalogue:
        catalogue.execute("UPDATE patterns SET record = ? WHERE id = 2", (damage,))
    catalogue.close()
    assert isinstance(guild.get_entry("P 1"), Entry)
    with pytest.raises(CollectionDamaged, match="the record “P 2” is not as it was written"):
        guild.get_entry("P 2")
    with pytest.raises(CollectionDamaged, match="the record “P 2” is not as it was written"):
        list(guild.entries())
