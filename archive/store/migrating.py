"""From the shape a catalogue has to the shape this version needs: all of the way, or not at all.

Revisions are numbered and follow each other: `schema/migrations/versions/0001_….py` and on.
A new one is written by hand, together with the same change in `tables.py`. It also rewrites
the records where a default or a field of theirs changes, since a record is kept without what
is as by default.
"""

from __future__ import annotations

import uuid
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, inspect

from archive.errors import CollectionDamaged
from archive.resources import SCHEMA
from archive.store.database import driver_connection, open_engine
from archive.store.tables import CollectionRow

MIGRATIONS = SCHEMA / "migrations"
_BOOKKEEPING = "alembic_version"


def revisions() -> list[str]:
    """The numbers of all revisions this version knows, the oldest first."""
    return sorted(script.name.partition("_")[0] for script in MIGRATIONS.glob("versions/0*.py"))


def revision_of(engine: Engine, database: Path) -> str:
    """The revision that a catalogue is of; raises `CollectionDamaged` where it has none."""
    with engine.connect() as connection:
        if inspect(connection).has_table(_BOOKKEEPING):
            found = connection.exec_driver_sql(f"SELECT version_num FROM {_BOOKKEEPING}").first()
            if found is not None:
                return str(found[0])
    raise CollectionDamaged(database, "it is not a catalogue of prickings")


def create_database(database: Path) -> None:
    """Make an empty catalogue, one file at rest."""
    engine = open_engine(database)
    try:
        with engine.connect() as connection:
            driver_connection(connection).execute("PRAGMA journal_mode=DELETE")
        migrate(engine, database)
        with engine.begin() as connection:
            connection.execute(insert(CollectionRow).values(id=1, state=uuid.uuid4().hex))
    finally:
        engine.dispose()


def migrate(engine: Engine, database: Path) -> None:
    """Bring a catalogue, which may be empty, to the newest revision in one transaction.

    SQLite changes a table by making a new one and dropping the old, and with foreign keys on
    that would delete every row that refers to it. So they are off meanwhile, which must be
    said before the transaction; afterwards no row may refer to nothing and none may be gone.

    Raises:
        CollectionDamaged: rows would have been lost. Nothing is changed.
    """
    # Slow to import, and needed only here.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with engine.connect().execution_options(begin="BEGIN IMMEDIATE") as connection:
        driver = driver_connection(connection)
        driver.execute("PRAGMA foreign_keys=OFF")
        try:
            with connection.begin():
                rows_before = _count_rows(connection)
                config.attributes["connection"] = connection
                command.upgrade(config, "head")
                _check_nothing_lost(connection, rows_before, database)
        finally:
            driver.execute("PRAGMA foreign_keys=ON")


def _count_rows(connection: Connection) -> dict[str, int]:
    return {
        table: connection.exec_driver_sql(f'SELECT count(*) FROM "{table}"').scalar_one()
        for table in inspect(connection).get_table_names()
        if table != _BOOKKEEPING
    }


def _check_nothing_lost(
    connection: Connection, rows_before: dict[str, int], database: Path
) -> None:
    rows_after = _count_rows(connection)
    lost = [name for name, rows in rows_before.items() if rows_after.get(name, rows) != rows]
    astray = connection.exec_driver_sql("PRAGMA foreign_key_check").scalars().unique().all()
    if lost or astray:
        tables = ", ".join(sorted({*lost, *astray}))
        raise CollectionDamaged(
            database, f"bringing it to this version would not keep every row of {tables}"
        )
