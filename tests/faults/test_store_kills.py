"""A writer is killed at any moment: what it acknowledged is there, and no file is torn.

The same judge looks at a careless writer, and must find what that one loses.
"""

import hashlib
import os
import random
import shutil
import signal
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from archive.errors import PrickingsError
from archive.records import Attachment, Pattern, TechniqueUse
from archive.records.settings import CollectionSettings
from archive.store import Collection, create_collection, open_collection

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")

KILLS = 200
BATCHES = 4
ROWS_IN_BATCH = 20
FILES_IN_BATCH = 2
FILE_BYTES = 200_000
BLOCKS_IN_CARELESS_FILE = 10
SLOW_STICK_S = 0.001

Acknowledge = Callable[[int], None]
Import = Callable[[Path, Path, Acknowledge], None]


def records_of(batch: int) -> list[Pattern]:
    """New records, and one that every batch changes."""
    news = [
        Pattern(
            shelfmark=f"P {batch * ROWS_IN_BATCH + row}",
            title=f"Edging {row} of batch {batch}",
            techniques=(TechniqueUse(technique="picot"), TechniqueUse(technique="gimp")),
        )
        for row in range(ROWS_IN_BATCH)
    ]
    return [*news, Pattern(shelfmark="Register", title=f"Batch {batch}")]


def sheets_of(batch: int, sheets: Path) -> list[tuple[str, Path]]:
    return [
        (f"P {batch * ROWS_IN_BATCH + number}", sheets / f"{batch}-{number}.bin")
        for number in range(FILES_IN_BATCH)
    ]


def import_carefully(folder: Path, sheets: Path, acknowledge: Acknowledge) -> None:
    with open_collection(folder) as guild:
        for batch in range(BATCHES):
            with guild.writing() as writer:
                writer.save(records_of(batch), how="imported")
                for shelfmark, sheet in sheets_of(batch, sheets):
                    writer.attach(shelfmark, sheet)
            acknowledge(batch)


def import_carelessly(folder: Path, sheets: Path, acknowledge: Acknowledge) -> None:
    """As above, but files grow in place, and the word is given before it is kept.

    It pauses where a slow stick would.
    """
    with open_collection(folder) as guild:
        for batch in range(BATCHES):
            with guild.writing() as writer:
                writer.save(records_of(batch), how="imported")
                for shelfmark, sheet in sheets_of(batch, sheets):
                    write_in_place(guild, sheet)
                    writer.attach(shelfmark, sheet)
                acknowledge(batch)
                time.sleep(SLOW_STICK_S)


def write_in_place(guild: Collection, sheet: Path) -> None:
    content = sheet.read_bytes()
    target = guild.path_of(attachment_of(sheet))
    target.parent.mkdir(exist_ok=True)
    block_bytes = FILE_BYTES // BLOCKS_IN_CARELESS_FILE
    with target.open("wb", buffering=0) as stream:
        for start in range(0, FILE_BYTES, block_bytes):
            stream.write(content[start : start + block_bytes])
            time.sleep(SLOW_STICK_S)


def attachment_of(sheet: Path) -> Attachment:
    content = sheet.read_bytes()
    return Attachment(
        sha256=hashlib.sha256(content).hexdigest(),
        file_name=sheet.name,
        media_type="application/octet-stream",
        size_bytes=len(content),
    )


@dataclass
class Killed:
    """What a killed import had acknowledged, and everything that is wrong afterwards."""

    acknowledged: int
    was_at_work: bool
    losses: list[str] = field(default_factory=list)


def kill_during(
    work: Import, folder: Path, sheets: Path, *, after_batches: int, and_s: float
) -> Killed:
    """Run `work` in a process of its own; kill it when so many batches and seconds are past."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        try:
            work(folder, sheets, lambda _batch: os.write(writing, b".") and None)
        finally:
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as stream:
        acknowledged = stream.read(after_batches)
        time.sleep(and_s)
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        acknowledged += stream.read()
    return Killed(len(acknowledged), os.WIFSIGNALED(status))


def judge(folder: Path, sheets: Path, acknowledged: int) -> list[str]:
    """Everything that a killed writer has lost or torn; empty if it is sound."""
    losses = []
    for path in sorted((folder / "files").glob("*/*")):
        if hashlib.sha256(path.read_bytes()).hexdigest() != path.stem:
            losses.append("a torn file")
    try:
        with open_collection(folder) as guild:
            there = {entry.shelfmark: entry for entry in guild.entries()}
    except PrickingsError as error:
        return [*losses, error.problem]
    catalogue = sqlite3.connect(folder / "catalogue.db")
    if catalogue.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
        losses.append("a broken catalogue")
    if catalogue.execute("PRAGMA foreign_key_check").fetchall():
        losses.append("a row that refers to nothing")
    catalogue.close()
    register = there.pop("Register", None)
    kept = int(register.title.removeprefix("Batch ")) + 1 if register else 0
    if kept < acknowledged:
        losses.append("an acknowledged batch")
    whole = [record for batch in range(kept) for record in records_of(batch)[:-1]]
    if [entry.pattern for entry in there.values()] != whole:
        losses.append("a part of a batch")
    named = [
        (entry.shelfmark, attachment)
        for entry in there.values()
        for attachment in entry.attachments
    ]
    attached = [pair for batch in range(kept) for pair in sheets_of(batch, sheets)]
    if named != [(shelfmark, attachment_of(sheet)) for shelfmark, sheet in attached]:
        losses.append("an attachment")
    if any(not (folder / "files" / one.stored_name).exists() for _, one in named):
        losses.append("a file that the catalogue names")
    return losses


def retry(folder: Path, sheets: Path) -> list[str]:
    """Import again by the careful writer; what is still missing then."""
    acknowledged: list[int] = []
    try:
        import_carefully(folder, sheets, acknowledged.append)
    except PrickingsError as error:
        return [f"the retry: {error.problem}"]
    return judge(folder, sheets, BATCHES)


@pytest.fixture(scope="module")
def memory_disk() -> Iterator[Path]:
    """A folder in memory where the system has such a place.

    What a killed process has written stays with the system, so no disk needs to be waited for.
    """
    place = "/dev/shm" if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory(dir=place) as folder:
        yield Path(folder)


@pytest.fixture(scope="module")
def sheets(memory_disk: Path) -> Path:
    folder = memory_disk / "sheets"
    folder.mkdir()
    noise = random.Random(7)
    for batch in range(BATCHES):
        for _, sheet in sheets_of(batch, folder):
            sheet.write_bytes(noise.randbytes(FILE_BYTES))
    return folder


@pytest.fixture(scope="module")
def empty(memory_disk: Path) -> Path:
    folder = memory_disk / "empty"
    create_collection(folder, CollectionSettings(name="Guild"))
    return folder


def kill_often(work: Import, empty: Path, sheets: Path, *, kills: int) -> list[Killed]:
    """Kill `work` again and again, and judge every time.

    Half of the kills fall at the moment a batch is acknowledged, the others while the next
    one is written.
    """
    folder = empty.with_name("guild")
    moments = random.Random(1)
    batch_s, found = 0.0, []
    for _ in range(kills):
        shutil.copytree(empty, folder)
        after_batches = moments.randrange(BATCHES)
        and_s = max(0.0, moments.uniform(-batch_s, batch_s))
        killed = kill_during(work, folder, sheets, after_batches=after_batches, and_s=and_s)
        killed.losses += judge(folder, sheets, killed.acknowledged)
        began = time.perf_counter()
        killed.losses += retry(folder, sheets)
        batch_s = (time.perf_counter() - began) / BATCHES
        found.append(killed)
        shutil.rmtree(folder)
    return found


def test_a_killed_writer_loses_nothing_it_acknowledged(empty: Path, sheets: Path) -> None:
    killed = kill_often(import_carefully, empty, sheets, kills=KILLS)
    assert [loss for one in killed for loss in one.losses] == []
    assert sum(one.was_at_work for one in killed) > KILLS / 2


def test_the_judge_finds_what_a_careless_writer_loses(empty: Path, sheets: Path) -> None:
    killed = kill_often(import_carelessly, empty, sheets, kills=40)
    losses = {loss for one in killed for loss in one.losses}
    assert losses >= {"a torn file", "an acknowledged batch"}
    assert any(loss.startswith("the retry") for loss in losses)
