"""One SQLite file: how it is opened, and what its refusals mean to a person.

BEGIN is ours: the driver would otherwise commit behind our back before a change of the
schema, and half of a failed migration would stay.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, StaticPool, event
from sqlalchemy.exc import DBAPIError
from sqlmodel import create_engine

from archive.errors import CollectionDamaged, CollectionInUse, StorageError
from archive.store.files import force_folder

PATIENCE_S = 5.0
"""How long to wait for another program to let go of the catalogue: a commit takes far less.

Common practice, no source.
"""

_PRAGMAS = (
    "PRAGMA foreign_keys=ON",
    "PRAGMA synchronous=EXTRA",
    # A large change stays in memory until it is committed, so that readers are not locked out.
    "PRAGMA cache_spill=OFF",
)

_NOT_AS_WRITTEN = "a part of it is not as it was written"
_DAMAGED = {
    sqlite3.SQLITE_CORRUPT: _NOT_AS_WRITTEN,
    sqlite3.SQLITE_NOTADB: "it is not a catalogue of prickings",
}
_REFUSED = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_READONLY: "writing is not allowed there",
    sqlite3.SQLITE_PERM: "permission is denied",
    sqlite3.SQLITE_CANTOPEN: "the system does not let it be opened",
    sqlite3.SQLITE_IOERR: "the disk reports a fault, or is full",
}
_SIGNS_OF_DAMAGE = ("Could not decode to UTF-8", "no such table", "no such column")
"""Told without a code of their own, once the revision has been found to be the right one."""

_UNREADABLE = {sqlite3.SQLITE_IOERR_READ, sqlite3.SQLITE_IOERR_SHORT_READ}


def open_engine(database: Path) -> Engine:
    """An engine on the file, with our settings on every connection."""
    url = URL.create("sqlite", database=str(database))
    connect_args = {"isolation_level": None, "timeout": PATIENCE_S}
    return _with_our_settings(create_engine(url, connect_args=connect_args))


def copy_in_memory(database: Path) -> Engine:
    """An engine on a copy of the file in memory; the file stays as it is."""
    copy = sqlite3.connect(":memory:", isolation_level=None)
    try:
        _copy(database, copy)
    except BaseException:
        copy.close()
        raise
    return _with_our_settings(
        create_engine("sqlite://", creator=lambda: copy, poolclass=StaticPool)
    )


def copy_to_file(database: Path, target: Path) -> None:
    """Copy a database that may be in use, whole or not at all."""
    unfinished = target.with_name(target.name + ".part")
    unfinished.unlink(missing_ok=True)
    with closing(sqlite3.connect(unfinished)) as copy:
        _copy(database, copy)
    unfinished.replace(target)
    force_folder(target.parent)


def _copy(database: Path, copy: sqlite3.Connection) -> None:
    with closing(sqlite3.connect(database)) as original:
        original.backup(copy)


def driver_connection(connection: Connection) -> sqlite3.Connection:
    """The connection beneath, for what must happen outside a transaction."""
    driver = connection.connection.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    return driver


def check_quickly(connection: Connection, database: Path) -> None:
    """Raise `CollectionDamaged` if SQLite finds the file's structure broken."""
    found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar_one()
    if found != "ok":
        raise CollectionDamaged(database, _NOT_AS_WRITTEN)


@contextmanager
def closed_on_error(engine: Engine) -> Iterator[None]:
    """Let go of the file if the block fails."""
    try:
        yield
    except BaseException:
        engine.dispose()
        raise


@contextmanager
def sqlite_errors(database: Path) -> Iterator[None]:
    """Turn SQLite's refusals into our errors; what only a bug can cause passes through."""
    try:
        yield
    except (DBAPIError, sqlite3.Error) as cause:
        original = cause.orig if isinstance(cause, DBAPIError) else cause
        told = _in_our_words(original, database)
        if told is None:
            raise
        raise told from cause
    except UnicodeDecodeError as cause:  # SQLite's own message quotes bytes of the file.
        raise CollectionDamaged(database, _NOT_AS_WRITTEN) from cause


def _in_our_words(
    cause: BaseException | None, database: Path
) -> CollectionInUse | CollectionDamaged | StorageError | None:
    code = getattr(cause, "sqlite_errorcode", 0)
    primary = code & 0xFF
    if code in _UNREADABLE:
        return CollectionDamaged(database, "the disk cannot read a part of it")
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return CollectionInUse(database.parent)
    if primary in _DAMAGED:
        return CollectionDamaged(database, _DAMAGED[primary])
    if primary in _REFUSED:
        return StorageError(database, _REFUSED[primary])
    if str(cause).startswith(_SIGNS_OF_DAMAGE):
        return CollectionDamaged(database, _NOT_AS_WRITTEN)
    return None


def _with_our_settings(engine: Engine) -> Engine:
    event.listen(engine, "connect", _set_pragmas)
    event.listen(engine, "begin", _begin)
    return engine


def _set_pragmas(driver: sqlite3.Connection, _record: object) -> None:
    for pragma in _PRAGMAS:
        driver.execute(pragma)


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))
