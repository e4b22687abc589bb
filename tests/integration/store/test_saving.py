"""What is saved is there, with its history, or nothing of it is."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.errors import CollectionInUse, NotFound
from archive.records import PairEstimate, Pairs, Pattern, TechniqueUse
from archive.store import Collection, SaveCounts, database, open_collection
from tests.integration.store.shorthand import named, save
from tests.strategies import patterns


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(records=st.lists(patterns(), max_size=4, unique_by=lambda pattern: pattern.shelfmark))
def test_a_record_is_read_back_as_it_was_saved(guild: Collection, records: list[Pattern]) -> None:
    save(guild, *records)
    for record in records:
        assert guild.get_entry(record.shelfmark).pattern == record
        assert guild.history(record.shelfmark)[-1].pattern == record
    assert save(guild, *records) == SaveCounts(0, 0, len(records))


def test_counts_tell_new_changed_and_unchanged(guild: Collection) -> None:
    assert save(guild, named("P 1"), named("P 2"), named("P 3")) == SaveCounts(3, 0, 0)
    assert save(guild, named("P 1"), named("P 2", "Fan"), named("P 4")) == SaveCounts(1, 1, 1)
    assert save(guild) == SaveCounts(0, 0, 0)


def test_saving_what_is_there_writes_nothing(folder: Path, guild: Collection) -> None:
    save(guild, named("P 1", "Fan"))
    before, state = (folder / "catalogue.db").read_bytes(), guild.state()
    save(guild, named("P 1", "Fan"))
    assert (folder / "catalogue.db").read_bytes() == before
    assert guild.state() == state


def test_the_state_is_another_after_every_committed_change(guild: Collection) -> None:
    states = [guild.state()]
    for title in ("Fan", "Ring", "Fan"):
        save(guild, named("P 1", title))
        states.append(guild.state())
    assert len(set(states)) == 4


def test_what_hangs_on_an_entry_does_not_get_into_the_record(
    guild: Collection, tmp_path: Path
) -> None:
    save(guild, named("P 1"))
    (tmp_path / "sheet.svg").write_text("<svg/>", encoding="utf-8")
    with guild.writing() as writer:
        writer.attach("P 1", tmp_path / "sheet.svg")
    assert save(guild, guild.get_entry("P 1")) == SaveCounts(0, 0, 1)


def test_a_record_that_was_made_without_being_checked_is_refused(guild: Collection) -> None:
    unchecked = named("P 1").model_copy(update={"corner": "perhaps"})
    with pytest.raises(Exception, match="Expected `bool`"):
        save(guild, unchecked)
    assert guild.shelfmarks() == []


def test_the_techniques_stand_beside_the_record_as_they_are_now(
    folder: Path, guild: Collection
) -> None:
    picot, gimp = TechniqueUse(technique="picot", role="taught"), TechniqueUse(technique="gimp")
    save(guild, Pattern(shelfmark="P 1", techniques=(picot, gimp, picot)))
    save(guild, Pattern(shelfmark="P 1", techniques=(gimp,)), named("P 2"))
    catalogue = sqlite3.connect(folder / "catalogue.db")
    found = catalogue.execute("SELECT position, technique, role FROM technique_uses").fetchall()
    catalogue.close()
    assert found == [(0, "gimp", "practised")]


def test_a_block_that_fails_leaves_everything_as_it_was(guild: Collection) -> None:
    save(guild, named("P 1", "Fan"))
    state = guild.state()

    def fail() -> None:
        with guild.writing() as writer:
            writer.save([named("P 1", "Ring"), named("P 2")], how="edited")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert guild.shelfmarks() == ["P 1"]
    assert guild.get_entry("P 1").title == "Fan"
    assert len(guild.history("P 1")) == 1
    assert guild.state() == state


def test_a_second_writer_is_refused_until_the_first_is_done(
    folder: Path, guild: Collection
) -> None:
    with open_collection(folder) as other:
        with guild.writing() as writer:
            writer.save([named("P 1")], how="added")
            with pytest.raises(CollectionInUse), other.writing():
                pass
            with pytest.raises(CollectionInUse), guild.writing():
                pass
        save(other, named("P 2"))
    assert guild.shelfmarks() == ["P 1", "P 2"]


def test_a_program_that_keeps_no_lock_file_is_told_of_before_anything_is_done(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Any program for SQLite files may be writing."""
    monkeypatch.setattr(database, "PATIENCE_S", 0.0)
    begun = []
    with (
        closing(sqlite3.connect(folder / "catalogue.db", isolation_level=None)) as another,
        open_collection(folder) as guild,
    ):
        another.execute("BEGIN IMMEDIATE")
        with pytest.raises(CollectionInUse), guild.writing():
            begun.append("the block")
        another.execute("ROLLBACK")
        assert begun == []
        assert save(guild, named("P 1")).added == 1


def test_every_change_is_kept_with_its_number_and_how(guild: Collection) -> None:
    save(guild, named("P 1", "Fan"))
    with guild.writing() as writer:
        writer.save([named("P 1", "Ring")], how="edited")
    history = guild.history("P 1")
    assert [(one.number, one.how, one.pattern.title) for one in history] == [
        (1, "added", "Fan"),
        (2, "edited", "Ring"),
    ]
    assert history[0].at.utcoffset() is not None
    assert history[0].at <= history[1].at


def test_a_shelfmark_twice_in_one_batch_is_a_change_of_the_first(guild: Collection) -> None:
    picot = Pattern(shelfmark="P 1", techniques=(TechniqueUse(technique="picot"),))
    assert save(guild, named("P 1"), picot, picot) == SaveCounts(1, 1, 1)
    assert guild.get_entry("P 1").pattern == picot
    assert [change.pattern for change in guild.history("P 1")] == [named("P 1"), picot]


def test_a_record_is_put_back_and_that_can_be_undone_too(guild: Collection) -> None:
    for title in ("Fan", "Ring"):
        save(guild, named("P 1", title))
    with guild.writing() as writer:
        assert writer.put_back("p1", 1).title == "Fan"
    assert guild.get_entry("P 1").title == "Fan"
    assert [change.how for change in guild.history("P 1")] == ["added", "added", "put back"]
    with guild.writing() as writer:
        writer.put_back("P 1", 2)
    assert guild.get_entry("P 1").title == "Ring"


def test_putting_a_record_back_keeps_what_was_measured_since(guild: Collection) -> None:
    estimate = PairEstimate(value=15, low=14, high=16, reasons=("9 columns",))
    save(guild, named("P 1", "Fan"))
    save(guild, Pattern(shelfmark="P 1", title="Ring", pairs=Pairs(estimated=estimate)))
    with guild.writing() as writer:
        writer.put_back("P 1", 1)
    back = guild.get_entry("P 1").pattern
    assert (back.title, back.pairs.estimated) == ("Fan", estimate)


def test_a_change_that_never_was_cannot_be_put_back(guild: Collection) -> None:
    save(guild, named("P 1"))
    with pytest.raises(NotFound, match="no change 7") as refusal, guild.writing() as writer:
        writer.put_back("P 1", 7)
    assert "from 1 to 1" in refusal.value.advice
    assert len(guild.history("P 1")) == 1


def test_the_last_import_is_remembered_past_later_edits(guild: Collection) -> None:
    for how, title in (("imported", "One"), ("imported", "Two"), ("edited", "Three")):
        with guild.writing() as writer:
            writer.save([named("P 1", title)], how=how)  # type: ignore[arg-type]
    save(guild, named("P 2"))
    assert guild.last_imported() == {"P 1": named("P 1", "Two")}
