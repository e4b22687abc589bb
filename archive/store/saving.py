"""Records become rows: many at once, and nothing is written for a record that is as it was."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from pydantic import TypeAdapter
from sqlalchemy import Connection, Table, insert
from sqlalchemy.dialects import sqlite
from sqlmodel import SQLModel

from archive.records import Pattern
from archive.records.change import How
from archive.store.database import driver_connection
from archive.store.tables import ChangeRow, PatternRow, TechniqueRow

_RECORD = TypeAdapter(Pattern)


@dataclass(frozen=True)
class SaveCounts:
    """How many records were new, became different, and were as they are."""

    added: int
    changed: int
    unchanged: int


class _State(NamedTuple):
    """A record as it is in the catalogue, or is about to be; `changes` is the newest's number."""

    id: int
    record: str
    changes: int


def record_text(pattern: Pattern) -> str:
    """The record as JSON, without what is as every new record has it.

    Equal records have equal texts.

    >>> record_text(Pattern(shelfmark="P 1"))
    '{"shelfmark":"P 1"}'
    """
    return _RECORD.dump_json(pattern, exclude_defaults=True, warnings="error").decode()


def save_patterns(
    connection: Connection, wanted: Sequence[Pattern], *, how: How, at: str
) -> SaveCounts:
    """Add new records and change those whose shelfmark is there; `at` is the time in UTC."""
    states = _states(connection, [pattern.shelfmark for pattern in wanted])
    next_id = 1 + connection.exec_driver_sql("SELECT ifnull(max(id), 0) FROM patterns").scalar_one()
    news: list[tuple[Pattern, _State]] = []
    for pattern in wanted:
        text = record_text(pattern)
        was = states.get(pattern.shelfmark)
        if was is None:
            now = _State(next_id, text, 1)
            next_id += 1
        elif was.record != text:
            now = _State(was.id, text, was.changes + 1)
        else:
            continue
        states[pattern.shelfmark] = now
        news.append((pattern, now))
    _write(driver_connection(connection), news, how=how, at=at)
    added = sum(now.changes == 1 for _, now in news)
    return SaveCounts(added, len(news) - added, len(wanted) - len(news))


def _states(connection: Connection, shelfmarks: list[str]) -> dict[str, _State]:
    """Those records that are there already, by shelfmark; one query for any number."""
    rows = connection.exec_driver_sql(
        "SELECT shelfmark, id, record,"
        " (SELECT max(number) FROM changes WHERE pattern_id = patterns.id)"
        " FROM patterns WHERE shelfmark IN (SELECT value FROM json_each(?))",
        (json.dumps(shelfmarks),),
    )
    return {shelfmark: _State(*state) for shelfmark, *state in rows}


def _write(
    driver: sqlite3.Connection, news: list[tuple[Pattern, _State]], *, how: How, at: str
) -> None:
    """Write what is new or changed.

    The driver takes the rows one by one as they are made. Made all at once they cost as much
    again, for Python's collector of garbage then goes through every record.
    """
    driver.executemany(
        _INSERT_PATTERN,
        (
            (now.id, pattern.shelfmark, pattern.title, now.record)
            for pattern, now in news
            if now.changes == 1
        ),
    )
    changed = [(pattern, now) for pattern, now in news if now.changes > 1]
    driver.executemany(
        "UPDATE patterns SET title = ?, record = ? WHERE id = ?",
        ((pattern.title, now.record, now.id) for pattern, now in changed),
    )
    driver.executemany(
        "DELETE FROM technique_uses WHERE pattern_id = ?", ((now.id,) for _, now in changed)
    )
    driver.executemany(
        _INSERT_CHANGE, ((now.id, now.changes, at, how, now.record) for _, now in news)
    )
    latest = {now.id: pattern for pattern, now in news}
    driver.executemany(
        _INSERT_TECHNIQUE,
        (
            (pattern_id, position, use.technique, use.role)
            for pattern_id, pattern in latest.items()
            for position, use in enumerate(pattern.techniques)
        ),
    )


def _insert(model: type[SQLModel]) -> str:
    """The statement that inserts a whole row, given in the order of the table's columns."""
    table = SQLModel.metadata.tables[str(model.__tablename__)]
    assert isinstance(table, Table)
    return str(insert(table).compile(dialect=sqlite.dialect()))


_INSERT_PATTERN = _insert(PatternRow)
_INSERT_TECHNIQUE = _insert(TechniqueRow)
_INSERT_CHANGE = _insert(ChangeRow)
