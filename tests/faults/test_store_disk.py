"""Disks that are full, read-only or failing: one plain sentence, and nothing lost."""

import hashlib
import os
import random
import shutil
import signal
import sqlite3
import tempfile
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from archive.errors import CollectionDamaged, CollectionInUse, PrickingsError
from archive.records import Pattern, TechniqueUse
from archive.records.settings import CollectionSettings
from archive.store import create_collection, open_collection

forking = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")

RECORDS = [
    Pattern(shelfmark=f"P {n}", title="Fan " * 40, techniques=(TechniqueUse(technique="picot"),))
    for n in range(60)
]
NOBODY = 65534
SHEET = random.Random(3).randbytes(60_000)


@pytest.fixture
def folder() -> Iterator[Path]:
    """A collection in a place that every user may look into."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        folder = Path(place) / "guild"
        create_collection(folder, CollectionSettings(name="Guild"))
        yield folder


@pytest.fixture
def sheet(folder: Path) -> Path:
    path = folder.with_name("sheet.bin")
    path.write_bytes(SHEET)
    return path


def in_a_process(work: Callable[[], object]) -> str:
    """Do something in a process of its own: "done", or the name of the error and its words."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        try:
            work()
            told = "done"
        except PrickingsError as error:
            told = f"{type(error).__name__}: {error.problem}"
        except BaseException:
            told = traceback.format_exc()
        os.write(writing, told.encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        told = stream.read().decode()
    os.waitpid(child, 0)
    return told


def save(folder: Path, records: list[Pattern]) -> None:
    with open_collection(folder) as guild, guild.writing() as writer:
        writer.save(records, how="added")


def shelfmarks(folder: Path) -> list[str]:
    with open_collection(folder) as guild:
        return [entry.shelfmark for entry in guild.entries()]


@forking
@pytest.mark.parametrize("limit_bytes", [0, *range(1_000, 121_000, 6_000)])
def test_a_disk_that_is_full_costs_nothing_that_was_kept(
    folder: Path, sheet: Path, limit_bytes: int
) -> None:
    """The system's limit on the size of files stands for the full disk."""
    import resource

    def work() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit_bytes, limit_bytes))
        with open_collection(folder) as guild, guild.writing() as writer:
            writer.save(RECORDS[1:], how="imported")
            writer.attach("P 0", sheet)

    save(folder, RECORDS[:1])
    digest = hashlib.sha256(SHEET).hexdigest()
    told = in_a_process(work)
    if told == "done":
        assert limit_bytes > 100_000
    else:
        assert told.startswith("StorageError: “")
        assert "cannot be written: the disk" in told
        assert shelfmarks(folder) == ["P 0"]
        whole = folder / "files" / digest[:2] / f"{digest}.bin"
        assert [path for path in (folder / "files").rglob("*.*") if path != whole] == []
        assert not whole.exists() or whole.read_bytes() == SHEET
    with open_collection(folder) as guild, guild.writing() as writer:
        writer.save(RECORDS[1:], how="imported")
        attachment = writer.attach("P 0", sheet)
        assert guild.path_of(attachment).read_bytes() == SHEET
    assert shelfmarks(folder) == [record.shelfmark for record in RECORDS]


@forking
def test_no_collection_is_started_on_a_full_disk(folder: Path) -> None:
    import resource

    def work() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (9_000, 9_000))
        create_collection(folder.with_name("other"), CollectionSettings(name="Other"))

    assert in_a_process(work).startswith("StorageError: “")
    assert not folder.with_name("other").exists()


@forking
def test_a_collection_that_may_not_be_written_can_be_read(folder: Path, sheet: Path) -> None:
    def as_nobody(work: Callable[[], object]) -> str:
        def give_up_rights() -> None:
            if os.geteuid() == 0:
                os.setuid(NOBODY)
            work()

        return in_a_process(give_up_rights)

    def look() -> None:
        with open_collection(folder) as guild:
            assert [entry.pattern for entry in guild.entries()] == RECORDS
            assert guild.path_of(guild.get_entry("P 0").attachments[0]).read_bytes() == SHEET
            assert len(guild.history("P 1")) == 1

    save(folder, RECORDS)
    with open_collection(folder) as guild, guild.writing() as writer:
        writer.attach("P 0", sheet)
    (folder / "catalogue.lock").unlink()
    paths = [folder, *folder.rglob("*")]
    for path in paths:
        path.chmod(0o555 if path.is_dir() else 0o444)
    before = {path: path.read_bytes() for path in paths if path.is_file()}
    try:
        assert as_nobody(look) == "done"
        told = as_nobody(lambda: save(folder, [Pattern(shelfmark="P 99")]))
        assert told.startswith("StorageError: “")
        assert "permission is denied" in told
        new = folder / "new"
        told = as_nobody(lambda: create_collection(new, CollectionSettings(name="New")))
        assert told == f"StorageError: “{new}” cannot be written: permission is denied."
    finally:
        for path in paths:
            path.chmod(0o755)
    assert {path: path.read_bytes() for path in before} == before
    assert [folder, *folder.rglob("*")] == paths


@forking
def test_a_writer_in_another_process_is_refused_and_a_killed_one_locks_nobody_out(
    folder: Path,
) -> None:
    ready, ready_end = os.pipe()
    child = os.fork()
    if not child:
        with open_collection(folder) as guild, guild.writing() as writer:
            writer.save([Pattern(shelfmark="P 1")], how="added")
            os.write(ready_end, b".")
            signal.pause()
    os.read(ready, 1)
    try:
        with pytest.raises(CollectionInUse):
            save(folder, [Pattern(shelfmark="P 2")])
        assert shelfmarks(folder) == []
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(ready)
        os.close(ready_end)
    save(folder, [Pattern(shelfmark="P 2")])
    assert shelfmarks(folder) == ["P 2"]


def test_a_database_that_another_program_locks_is_in_use(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archive.store.database.PATIENCE_S", 0.1)
    other = sqlite3.connect(folder / "catalogue.db", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    try:
        with pytest.raises(CollectionInUse):
            shelfmarks(folder)
    finally:
        other.close()
    assert shelfmarks(folder) == []


def test_a_change_that_was_cut_off_is_undone_by_the_next_reader(folder: Path) -> None:
    """A journal beside the catalogue is what a power cut in the middle of a change leaves."""
    save(folder, RECORDS)
    cut_off = folder.with_name("cut off")
    other = sqlite3.connect(folder / "catalogue.db", isolation_level=None)
    other.execute("PRAGMA cache_size=1")
    other.execute("BEGIN")
    other.execute("UPDATE patterns SET title = 'lost' || record, record = 'lost' || record")
    shutil.copytree(folder, cut_off)
    other.close()
    assert (cut_off / "catalogue.db-journal").stat().st_size > 0
    with open_collection(cut_off) as guild:
        assert [entry.pattern for entry in guild.entries()] == RECORDS


def test_a_catalogue_that_was_cut_short_is_damaged_and_is_not_written(folder: Path) -> None:
    save(folder, RECORDS)
    catalogue = folder / "catalogue.db"
    whole = catalogue.read_bytes()
    catalogue.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(CollectionDamaged):
        shelfmarks(folder)
    with pytest.raises(CollectionDamaged):
        save(folder, [Pattern(shelfmark="P 99")])
    assert catalogue.read_bytes() == whole[: len(whole) // 2]


def test_a_catalogue_with_a_broken_page_is_not_written(folder: Path) -> None:
    """Even where the page is one that the writer would not have come across."""
    save(folder, RECORDS)
    catalogue = folder / "catalogue.db"
    broken = bytearray(catalogue.read_bytes())
    broken[-4096:-4088] = b"\xff" * 8
    catalogue.write_bytes(broken)
    with open_collection(folder) as guild:
        assert guild.get_entry("P 1").pattern == RECORDS[1]
        with pytest.raises(CollectionDamaged), guild.writing():
            pass
    assert catalogue.read_bytes() == broken


def test_wherever_a_catalogue_is_damaged_it_ends_in_a_sentence(folder: Path) -> None:
    save(folder, RECORDS)
    catalogue = folder / "catalogue.db"
    whole = catalogue.read_bytes()
    chance = random.Random(11)
    refused = 0
    for _ in range(80):
        damaged = bytearray(whole)
        for _ in range(chance.choice([1, 8, 64])):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        catalogue.write_bytes(damaged)
        try:
            with open_collection(folder) as guild:
                for entry in guild.entries():
                    guild.history(entry.shelfmark)
                with guild.writing() as writer:
                    writer.save(RECORDS[:5], how="edited")
        except PrickingsError:
            refused += 1
    assert refused > 30
