"""Every catalogue reaches the newest shape whole, or stays exactly what it was."""

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlmodel import SQLModel

from archive.errors import CollectionDamaged
from archive.records import Pattern, TechniqueUse
from archive.records.settings import CollectionSettings
from archive.store import create_collection, migrating, open_collection
from archive.store.database import open_engine

RECORDS = [
    Pattern(shelfmark=f"P {n}", techniques=(TechniqueUse(technique="picot"),)) for n in range(20)
]
REBUILD_PATTERNS = """
    with op.batch_alter_table("patterns", recreate="always") as table:
        table.add_column(sa.Column("colour", sa.String(), nullable=False, server_default="red"))
"""


@pytest.fixture
def folder(folder: Path) -> Path:
    """A collection of the newest revision with records, their techniques and history."""
    with open_collection(folder) as guild, guild.writing() as writer:
        writer.save(RECORDS, how="added")
    return folder


@pytest.fixture
def next_revision(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Let the program know one revision more than it does, with the given steps."""
    newest = migrating.revisions()[-1]
    following = f"{int(newest) + 1:04}"

    def add(steps: str) -> None:
        shutil.copytree(migrating.MIGRATIONS, tmp_path / "migrations")
        (tmp_path / "migrations" / "versions" / f"{following}_next.py").write_text(
            "import sqlalchemy as sa\nfrom alembic import op\n"
            f"revision = '{following}'\ndown_revision = '{newest}'\n"
            f"def upgrade():\n{steps}\n",
            encoding="utf-8",
        )
        monkeypatch.setattr(migrating, "MIGRATIONS", tmp_path / "migrations")

    return add


def shape_of(database: Path) -> dict[str, object]:
    """Columns, keys and indexes of every table, as SQLite tells them."""
    catalogue = sqlite3.connect(database)
    tables = catalogue.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    shape: dict[str, object] = {}
    for (table,) in tables:
        indexes = catalogue.execute(f"PRAGMA index_list({table})").fetchall()
        shape[table] = (
            catalogue.execute(f"PRAGMA table_xinfo({table})").fetchall(),
            catalogue.execute(f"PRAGMA foreign_key_list({table})").fetchall(),
            sorted(
                (row[2:], catalogue.execute(f"PRAGMA index_xinfo({row[1]})").fetchall())
                for row in indexes
            ),
        )
    catalogue.close()
    return shape


def columns_of(database: Path, table: str) -> list[str]:
    catalogue = sqlite3.connect(database)
    columns = [row[1] for row in catalogue.execute(f"PRAGMA table_info({table})")]
    catalogue.close()
    return columns


def rows_in(database: Path) -> dict[str, int]:
    """How many rows each table holds."""
    catalogue = sqlite3.connect(database)
    tables = catalogue.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
    rows = {
        table: catalogue.execute(f"SELECT count(*) FROM {table}").fetchone()[0]
        for (table,) in tables
    }
    catalogue.close()
    return rows


def files_in(folder: Path) -> dict[str, bytes]:
    return {
        path.name: path.read_bytes() for path in folder.iterdir() if path.suffix != ".lock"
        and path.is_file()
    }  # fmt: skip


def test_the_migrations_make_the_shape_that_the_tables_describe(tmp_path: Path) -> None:
    migrating.create_database(tmp_path / "migrated.db")
    engine = open_engine(tmp_path / "described.db")
    SQLModel.metadata.create_all(engine)
    engine.dispose()
    migrated = shape_of(tmp_path / "migrated.db")
    del migrated["alembic_version"]
    assert migrated == shape_of(tmp_path / "described.db")


def test_the_revisions_follow_each_other_by_number() -> None:
    config = Config()
    config.set_main_option("script_location", str(migrating.MIGRATIONS))
    chain = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert migrating.revisions() == chain[::-1]


def test_looking_at_an_older_catalogue_shows_all_and_leaves_it_as_it_is(
    folder: Path, next_revision: Callable[[str], None]
) -> None:
    before = files_in(folder)
    next_revision(REBUILD_PATTERNS)
    with open_collection(folder) as guild:
        assert [entry.pattern for entry in guild.entries()] == RECORDS
    assert files_in(folder) == before


def test_the_first_writer_brings_an_older_catalogue_up_to_date_and_keeps_a_copy(
    folder: Path, next_revision: Callable[[str], None]
) -> None:
    old_shape, old = shape_of(folder / "catalogue.db"), migrating.revisions()[-1]
    next_revision(REBUILD_PATTERNS)
    with open_collection(folder) as guild, open_collection(folder) as other:
        for number, one in enumerate((guild, other)):
            with one.writing() as writer:
                counts = writer.save([Pattern(shelfmark=f"Q {number}")], how="added")
                assert counts.added == 1
        for one in (guild, other):
            assert one.shelfmarks() == [record.shelfmark for record in RECORDS] + ["Q 0", "Q 1"]
    assert "colour" in columns_of(folder / "catalogue.db", "patterns")
    assert shape_of(folder / f"catalogue-{old}.db") == old_shape


def test_rows_that_refer_to_a_rebuilt_table_stay(
    folder: Path, next_revision: Callable[[str], None]
) -> None:
    next_revision(REBUILD_PATTERNS)
    with open_collection(folder) as guild:
        with guild.writing():
            pass
        assert [entry.pattern for entry in guild.entries()] == RECORDS
        assert all(len(guild.history(record.shelfmark)) == 1 for record in RECORDS)


@pytest.mark.parametrize(
    ("steps", "reason"),
    [
        ("    op.execute('DELETE FROM changes WHERE pattern_id > 15')", "every row of changes"),
        (
            "    op.execute('UPDATE technique_uses SET pattern_id = 99 WHERE pattern_id = 3')",
            "every row of technique_uses",
        ),
    ],
)
def test_a_migration_that_would_lose_rows_is_refused_and_undone(
    folder: Path, next_revision: Callable[[str], None], steps: str, reason: str
) -> None:
    before = files_in(folder)
    next_revision(f"    op.add_column('changes', sa.Column('by', sa.String()))\n{steps}")
    with pytest.raises(CollectionDamaged, match=reason), open_collection(folder):
        pass
    assert files_in(folder) == before


def test_a_migration_that_fails_halfway_leaves_nothing_half_done(
    folder: Path, next_revision: Callable[[str], None]
) -> None:
    shape, content = shape_of(folder / "catalogue.db"), (folder / "catalogue.db").read_bytes()
    next_revision(
        "    op.add_column('changes', sa.Column('by', sa.String()))\n"
        "    op.execute(\"UPDATE patterns SET title = 'lost'\")\n"
        "    if op.get_bind().engine.url.database:\n"
        "        raise RuntimeError('fails on the file itself')"
    )
    with open_collection(folder) as guild:
        with pytest.raises(RuntimeError, match="on the file itself"), guild.writing():
            pass
        assert [entry.pattern for entry in guild.entries()] == RECORDS
    assert shape_of(folder / "catalogue.db") == shape
    assert (folder / "catalogue.db").read_bytes() == content


@pytest.mark.parametrize("revision", migrating.revisions()[:-1])
def test_every_older_catalogue_keeps_its_rows_and_gets_the_newest_shape(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, revision: str
) -> None:
    older = tmp_path / "older"
    shutil.copytree(migrating.MIGRATIONS, older)
    for script in (older / "versions").glob("0*.py"):
        if script.name[:4] > revision:
            script.unlink()
    with monkeypatch.context() as patch:
        patch.setattr(migrating, "MIGRATIONS", older)
        create_collection(tmp_path / "guild", CollectionSettings(name="Guild"))
        with open_collection(tmp_path / "guild") as guild, guild.writing() as writer:
            writer.save(RECORDS, how="added")
    catalogue = tmp_path / "guild" / "catalogue.db"
    before = rows_in(catalogue)
    with open_collection(tmp_path / "guild") as guild:
        with guild.writing():
            pass
        assert [entry.pattern for entry in guild.entries()] == RECORDS
    after = rows_in(catalogue)
    assert {table: after[table] for table in before} == before
    migrating.create_database(tmp_path / "fresh.db")
    assert shape_of(catalogue) == shape_of(tmp_path / "fresh.db")


def test_a_fresh_collection_is_of_the_newest_revision(folder: Path) -> None:
    catalogue = sqlite3.connect(folder / "catalogue.db")
    found = catalogue.execute("SELECT version_num FROM alembic_version").fetchall()
    journal = catalogue.execute("PRAGMA journal_mode").fetchone()
    catalogue.close()
    assert found == [(migrating.revisions()[-1],)]
    assert journal == ("delete",)
