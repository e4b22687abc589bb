"""Starting a collection and opening one, whatever lies in the folder."""

import sqlite3
from pathlib import Path

import pytest

from archive.errors import (
    CollectionDamaged,
    CollectionTooNew,
    NoCollection,
    StorageError,
    UnreadableFile,
    UsageError,
)
from archive.records.settings import CollectionSettings
from archive.store import Collection, collection, create_collection, open_collection
from tests.integration.store.shorthand import named, save


def test_a_new_collection_is_empty_and_knows_its_settings(tmp_path: Path) -> None:
    told = CollectionSettings(name="The “Nine” \\ Guild", holder="Us", language="de-CH")
    create_collection(tmp_path / "deep" / "guild", told)
    with open_collection(tmp_path / "deep" / "guild") as guild:
        assert guild.settings == told
        assert guild.shelfmarks() == []
        assert list(guild.entries()) == []


def test_an_empty_folder_that_is_there_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    create_collection(Path(), CollectionSettings(name="Here"))
    with open_collection(Path()) as guild:
        assert guild.settings.name == "Here"


def test_a_collection_is_never_started_over_another(folder: Path) -> None:
    before = (folder / "catalogue.db").read_bytes()
    with pytest.raises(UsageError, match="There is a collection"):
        create_collection(folder, CollectionSettings(name="Other"))
    assert (folder / "catalogue.db").read_bytes() == before


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("kept", encoding="utf-8")
    with pytest.raises(UsageError, match="not empty"):
        create_collection(tmp_path, CollectionSettings(name="Guild"))
    assert list(tmp_path.iterdir()) == [tmp_path / "letter.txt"]


def test_a_file_in_the_way_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    for target in (tmp_path / "file", tmp_path / "file" / "guild"):
        with pytest.raises(StorageError):
            create_collection(target, CollectionSettings(name="Guild"))
    assert list(tmp_path.iterdir()) == [tmp_path / "file"]


def test_a_start_that_fails_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(database: Path) -> None:
        database.write_bytes(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(collection, "create_database", fail)
    with pytest.raises(StorageError, match="the disk is full"):
        create_collection(tmp_path / "guild", CollectionSettings(name="Guild"))
    assert not list(tmp_path.iterdir())


def refused(folder: Path, error: type[Exception], match: str) -> None:
    with pytest.raises(error, match=match), open_collection(folder):
        pass


def test_a_folder_without_a_catalogue_is_no_collection(tmp_path: Path) -> None:
    refused(tmp_path, NoCollection, "There is no collection")
    refused(tmp_path / "nowhere", NoCollection, "There is no collection")


@pytest.mark.parametrize("content", [b"", b"not a database, but long enough " * 300])
def test_a_file_that_is_no_catalogue_is_damaged(folder: Path, content: bytes) -> None:
    (folder / "catalogue.db").write_bytes(content)
    refused(folder, CollectionDamaged, "it is not a catalogue of prickings")


def test_the_database_of_another_program_is_no_catalogue(folder: Path) -> None:
    (folder / "catalogue.db").unlink()
    other = sqlite3.connect(folder / "catalogue.db")
    other.execute("CREATE TABLE recipes (name)")
    other.close()
    refused(folder, CollectionDamaged, "it is not a catalogue of prickings")


def test_a_catalogue_of_a_newer_version_is_left_alone(folder: Path) -> None:
    newer = sqlite3.connect(folder / "catalogue.db")
    with newer:
        newer.execute("UPDATE alembic_version SET version_num = '9001'")
    newer.close()
    before = (folder / "catalogue.db").read_bytes()
    refused(folder, CollectionTooNew, "newer version of prickings .*9001")
    assert (folder / "catalogue.db").read_bytes() == before


def test_settings_that_are_missing_or_wrong_are_told_with_the_line(folder: Path) -> None:
    settings_file = folder / "collection.toml"
    text = settings_file.read_text(encoding="utf-8")
    settings_file.write_text(text.replace('"en"', '"englisch!"'), encoding="utf-8")
    refused(folder, UnreadableFile, "line 8, language: “englisch!” is not a language")
    settings_file.write_bytes(text.replace("Guild", "Kl\xf6ppelgilde").encode("cp1252"))
    refused(folder, UnreadableFile, "it is not text in UTF-8")
    settings_file.unlink()
    refused(folder, UnreadableFile, "there is no such file")


def test_settings_saved_with_a_byte_order_mark_are_read(folder: Path) -> None:
    settings_file = folder / "collection.toml"
    settings_file.write_bytes(b"\xef\xbb\xbf" + settings_file.read_bytes())
    with open_collection(folder) as guild:
        assert guild.settings.name == "Guild"


def test_looking_changes_no_byte(folder: Path, guild: Collection) -> None:
    save(guild, named("P 1"))
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with open_collection(folder) as other:
        other.get_entry("P 1")
        list(other.entries())
        other.history("P 1")
        assert {path for path in folder.rglob("*") if path.is_file()} == set(before)
    assert {path: path.read_bytes() for path in before} == before


def test_a_catalogue_is_opened_so_that_it_survives_power_cuts(guild: Collection) -> None:
    """`EXTRA` also forces the folder to the disk when the journal is gone. Source: sqlite.org."""
    with guild.writing() as writer:
        asked = {
            name: writer._connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    assert asked == {"journal_mode": "delete", "synchronous": 3, "foreign_keys": 1}
