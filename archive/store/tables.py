"""The shape of `catalogue.db`. Rows are only ever made from valid records.

A record is one JSON document. Beside it stand what the store itself asks for (the shelfmark)
and what a person with any SQLite program would look for (title, techniques). The shape of a
catalogue on the disk is made by `schema/migrations`; these tables must agree with it, and a
test holds them to it.
"""

from __future__ import annotations

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel


class PatternRow(SQLModel, table=True):
    """One record as it is now."""

    __tablename__ = "patterns"

    id: int | None = Field(None, primary_key=True)
    shelfmark: str = Field(unique=True)
    title: str
    record: str


class TechniqueRow(SQLModel, table=True):
    """One technique of a record, in the record's order."""

    __tablename__ = "technique_uses"

    pattern_id: int = Field(foreign_key="patterns.id", primary_key=True)
    position: int = Field(primary_key=True)
    technique: str
    role: str


class ChangeRow(SQLModel, table=True):
    """What a record became by one change; `at` is ISO 8601 in UTC."""

    __tablename__ = "changes"

    pattern_id: int = Field(foreign_key="patterns.id", primary_key=True)
    number: int = Field(primary_key=True)
    at: str
    how: str
    record: str


class AttachmentRow(SQLModel, table=True):
    """One file attached to a record; a file is attached to the same record once."""

    __tablename__ = "attachments"
    __table_args__ = (UniqueConstraint("pattern_id", "sha256"),)

    id: int | None = Field(None, primary_key=True)
    pattern_id: int = Field(foreign_key="patterns.id")
    sha256: str
    file_name: str
    media_type: str
    size_bytes: int
    role: str
    sequence: int
    px_per_mm: float | None
    scale_known_by: str
    caption: str
    alternative_text: str


class MeasurementRow(SQLModel, table=True):
    """The newest measurement of a file, whole and in its main figures."""

    __tablename__ = "measurements"

    sha256: str = Field(primary_key=True)
    analyser: str
    settings_fingerprint: str
    result: str
    summary: str


class ByHandRow(SQLModel, table=True):
    """What a person says of a file, over what the analyser finds on it."""

    __tablename__ = "said_by_hand"

    sha256: str = Field(primary_key=True)
    said: str


class CollectionRow(SQLModel, table=True):
    """The one row about the catalogue itself; `state` is new after every change."""

    __tablename__ = "collection"

    id: int = Field(1, primary_key=True)
    state: str
