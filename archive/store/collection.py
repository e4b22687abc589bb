"""A collection: one folder with its settings, its catalogue and its files.

Looking never changes the folder. A catalogue that an older version wrote is looked at through
a copy in memory that was brought up to date; the file itself is brought up to date when
somebody first writes, after a copy of it was put beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout
from sqlalchemy import Connection, Engine

from archive.errors import (
    CollectionInUse,
    CollectionTooNew,
    NoCollection,
    UnreadableFile,
    UsageError,
    reading_errors,
    storage_errors,
)
from archive.records import Attachment, Change, Entry, Pattern, Written
from archive.records.byhand import ByHand
from archive.records.measurement import Measurement
from archive.records.settings import CollectionSettings, read_settings, write_settings
from archive.store.database import (
    check_quickly,
    closed_on_error,
    copy_in_memory,
    copy_to_file,
    open_engine,
    sqlite_errors,
)
from archive.store.files import force_folder, write_text
from archive.store.migrating import create_database, migrate, revision_of, revisions
from archive.store.reading import Reader
from archive.store.writer import Writer

_CATALOGUE = "catalogue.db"
_UNFINISHED = "catalogue.db.part"
_SETTINGS = "collection.toml"
_FILES = "files"
_LOCK = "catalogue.lock"


def create_collection(folder: Path, settings: CollectionSettings) -> None:
    """Start an empty collection in a folder that is empty or not there yet.

    The catalogue gets its name last, so that nothing unfinished is taken for a collection.

    Raises:
        UsageError: the folder holds a collection or something else.
        StorageError: there is no room or no permission. Nothing is left behind.
    """
    with storage_errors(folder):
        _refuse_used(folder)
        is_new = not folder.exists()
        folder.mkdir(parents=True, exist_ok=True)
        try:
            write_text(folder / _SETTINGS, write_settings(settings))
            (folder / _FILES).mkdir()
            with sqlite_errors(folder / _CATALOGUE):
                create_database(folder / _UNFINISHED)
            (folder / _UNFINISHED).rename(folder / _CATALOGUE)
            force_folder(folder)
        except BaseException:
            _remove_started(folder, is_new=is_new)
            raise


def _refuse_used(folder: Path) -> None:
    if (folder / _CATALOGUE).exists():
        raise UsageError(
            f"There is a collection in “{folder}” already.",
            "Choose another folder, or name this one with --collection to work with it.",
        )
    if folder.is_dir() and any(folder.iterdir()):
        raise UsageError(
            f"The folder “{folder}” is not empty.",
            "Choose a folder that is empty or not there yet; nothing has been changed.",
        )


def _remove_started(folder: Path, *, is_new: bool) -> None:
    for name in (_SETTINGS, _UNFINISHED, f"{_UNFINISHED}-journal"):
        (folder / name).unlink(missing_ok=True)
    if (folder / _FILES).is_dir():
        (folder / _FILES).rmdir()
    if is_new:
        folder.rmdir()


def holds_collection(folder: Path) -> bool:
    """Whether a collection lies in a folder.

    Raises:
        UnreadableFile: nobody may look there.
    """
    try:
        return (folder / _CATALOGUE).is_file()
    except PermissionError as cause:
        raise UnreadableFile(
            folder, "permission is denied", "Copy the folder to where you may read it."
        ) from cause


@contextmanager
def open_collection(folder: Path) -> Iterator[Collection]:
    """The collection in a folder, open for reading until the block ends.

    Raises:
        NoCollection: there is none.
        UnreadableFile: the folder or its settings cannot be read.
        CollectionDamaged: its catalogue cannot be read.
        CollectionTooNew: a newer version of prickings wrote it.
    """
    if not holds_collection(folder):
        raise NoCollection(folder)
    collection = Collection(folder, _settings_in(folder / _SETTINGS))
    try:
        yield collection
    finally:
        collection.close()


def _settings_in(path: Path) -> CollectionSettings:
    with reading_errors(path, "Take it from your last backup, or save it anew as UTF-8."):
        # Editors on Windows may put a byte order mark before the text.
        text = path.read_text(encoding="utf-8-sig")
    return read_settings(text, path)


class Collection:
    """An open collection. Made by `open_collection`.

    Inside a `writing()` block every question is answered as the block has left things so far.

    Attributes:
        folder: Where it lies.
        settings: What its `collection.toml` says.
    """

    def __init__(self, folder: Path, settings: CollectionSettings) -> None:
        self.folder = folder
        self.settings = settings
        self._database = folder / _CATALOGUE
        self._writing: Connection | None = None
        self._sound = False
        with sqlite_errors(self._database):
            self._engine, self._outdated = self._open()

    def close(self) -> None:
        """Let go of the catalogue."""
        self._engine.dispose()

    def path_of(self, attachment: Attachment) -> Path:
        """Where the original of an attachment is stored."""
        return self.folder / _FILES / attachment.stored_name

    def state(self) -> str:
        """A token that is another one after every change that was committed."""
        with self._reading() as reader:
            return reader.state()

    def shelfmarks(self) -> list[str]:
        """All shelfmarks, P 2 before P 10."""
        with self._reading() as reader:
            return reader.shelfmarks()

    def get_entry(self, shelfmark: str) -> Entry:
        """The record with this shelfmark, or with the only one that is spelt alike.

        Raises:
            UnknownShelfmark: there is none, or several are spelt alike; names the nearest.
        """
        with self._reading() as reader:
            return reader.get_entry(shelfmark)

    def entries(self) -> Iterator[Entry]:
        """Every record with what hangs on it, in the order of `shelfmarks`.

        All are of one moment, whatever is written while they are used.
        """
        return (written.read() for written in self.written())

    def written(self) -> Iterator[Written]:
        """The same records, each not read yet."""
        with self._reading() as reader:
            return reader.written()

    def history(self, shelfmark: str) -> list[Change]:
        """The changes of a record, the first first; raises `UnknownShelfmark`."""
        with self._reading() as reader:
            return reader.history(shelfmark)

    def last_imported(self) -> dict[str, Pattern]:
        """The records as the last import left each, by shelfmark."""
        with self._reading() as reader:
            return reader.last_imported()

    def get_measurement(
        self, sha256: str, *, settings_fingerprint: str | None = None
    ) -> Measurement | None:
        """The kept measurement of a file; None if there is none, or none with these settings."""
        with self._reading() as reader:
            return reader.measurement(sha256, settings_fingerprint=settings_fingerprint)

    def get_by_hand(self, sha256: str) -> ByHand:
        """What a person says of a file; empty where nobody has said anything."""
        with self._reading() as reader:
            return reader.by_hand(sha256)

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """The only writer, in one transaction: kept at the end of the block, or undone whole.

        Raises:
            CollectionInUse: somebody else is writing.
            CollectionDamaged: the catalogue is not sound, so that writing could spoil more.
            StorageError: there is no room or no permission.
        """
        with self._locked():
            with sqlite_errors(self._database):
                self._bring_up_to_date()
                connection = self._engine.connect().execution_options(begin="BEGIN IMMEDIATE")
            with closing(connection):  # Undoes what was not committed.
                with sqlite_errors(self._database):
                    transaction = connection.begin()
                    self._check_once(connection)
                writer = Writer(connection, self._database, self.folder / _FILES)
                self._writing = connection
                try:
                    yield writer
                finally:
                    self._writing = None
                with sqlite_errors(self._database):
                    writer.finish()
                    transaction.commit()

    @contextmanager
    def _reading(self) -> Iterator[Reader]:
        with sqlite_errors(self._database):
            if self._writing is not None:
                yield Reader(self._writing, self._database)
            else:
                with self._engine.connect() as connection:
                    yield Reader(connection, self._database)

    @contextmanager
    def _locked(self) -> Iterator[None]:
        lock = FileLock(self.folder / _LOCK, timeout=0)
        with storage_errors(lock.lock_file):
            try:
                lock.acquire()
            except Timeout as cause:
                raise CollectionInUse(self.folder) from cause
        try:
            yield
        finally:
            lock.release()

    def _open(self) -> tuple[Engine, bool]:
        """An engine to read with, and whether the file itself is of an older version."""
        engine = open_engine(self._database)
        *older, newest = revisions()
        with closed_on_error(engine):
            found = revision_of(engine, self._database)
            if found == newest:
                return engine, False
            if found not in older:
                raise CollectionTooNew(self.folder, f"catalogue {found}")
        engine.dispose()
        engine = copy_in_memory(self._database)
        with closed_on_error(engine):
            migrate(engine, self._database)
        return engine, True

    def _bring_up_to_date(self) -> None:
        """Migrate the file itself, unless somebody has since; the lock is held."""
        if not self._outdated:
            return
        engine = open_engine(self._database)
        with closed_on_error(engine):
            found = revision_of(engine, self._database)
            if found != revisions()[-1]:
                with storage_errors(self._database):
                    copy_to_file(self._database, self.folder / f"catalogue-{found}.db")
                migrate(engine, self._database)
        self._engine.dispose()
        self._engine, self._outdated = engine, False

    def _check_once(self, connection: Connection) -> None:
        # Only before writing: it reads the whole file, which takes long from a stick.
        if not self._sound:
            check_quickly(connection, self._database)
            self._sound = True
