"""What can be done to a collection while it is locked for one writer, in one transaction."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, delete, select, update
from sqlalchemy.dialects.sqlite import insert
from sqlmodel import SQLModel, col

from archive.errors import InvalidRecord
from archive.records import Attachment, AttachmentRole, Pattern
from archive.records.byhand import NOTHING_SAID, ByHand
from archive.records.change import How
from archive.records.entry import summarise
from archive.records.faults import tell_fault
from archive.records.measurement import Measurement
from archive.store.database import driver_connection, sqlite_errors
from archive.store.files import keep_file, read_content
from archive.store.reading import Reader
from archive.store.saving import SaveCounts, save_patterns
from archive.store.tables import AttachmentRow, ByHandRow, CollectionRow, MeasurementRow


class Writer:
    """Writes; all of it is kept when the `writing()` block ends, or nothing if it fails.

    A stored file stays even then: it harms nobody, and trying again finds it there.

    Attributes:
        state: What `Collection.state` gives afterwards, if anything was changed.
    """

    def __init__(self, connection: Connection, database: Path, files: Path) -> None:
        self._connection = connection
        self._database = database
        self._reader = Reader(connection, database)
        self._files = files
        self._at = dt.datetime.now(dt.UTC).isoformat()
        self.state = uuid.uuid4().hex
        self._rows_before = driver_connection(connection).total_changes

    def save(self, patterns: Iterable[Pattern], *, how: How) -> SaveCounts:
        """Add new records and change those whose shelfmark is there, each with its history.

        Nothing is written for a record that is as it was.
        """
        wanted = list(patterns)
        with sqlite_errors(self._database):
            return save_patterns(self._connection, wanted, how=how, at=self._at)

    def put_back(self, shelfmark: str, number: int) -> Pattern:
        """Give a record the state that change `number` left; this is a change of its own.

        The estimate of the pairs stays: it is the sheet's as it is measured now.

        Raises:
            UnknownShelfmark: there is no such record.
            NotFound: it has no change of this number.
        """
        with sqlite_errors(self._database):
            state = self._reader.get_state_after(shelfmark, number)
            estimate = self._reader.get_entry(shelfmark).pattern.pairs.estimated
        pairs = state.pairs.model_copy(update={"estimated": estimate})
        pattern = state.model_copy(update={"pairs": pairs})
        self.save([pattern], how="put back")
        return pattern

    def attach(
        self,
        shelfmark: str,
        source: Path,
        *,
        role: AttachmentRole | None = None,
        px_per_mm: float | None = None,
        caption: str = "",
        alternative_text: str = "",
    ) -> Attachment:
        """Store a copy of a file and hang it on a record.

        A file that hangs on the record already is not stored again: what is said of it now takes
        the place of what was said before, and what is not said stays as it was. A new file without
        a role is a pricking. `px_per_mm` is the scale as a person gives it.

        Raises:
            UnknownShelfmark: there is no such record.
            UnreadableFile: the file is missing, empty or may not be read.
            InvalidRecord: a fact about the file breaks a rule.
            CollectionDamaged: the file was stored before and is not what it was.
            StorageError: there is no room or no permission.
        """
        content = read_content(source)
        with sqlite_errors(self._database):
            number = self._reader.get_id(shelfmark)
            there = self._reader.attachments(number)[number]
        before = next((one for one in there if one.sha256 == content.sha256), None)
        facts: dict[str, object] = before.model_dump() if before else {
            **asdict(content),
            "file_name": source.name,
            "sequence": 1 + max((one.sequence for one in there), default=0),
        }  # fmt: skip
        said = {"role": role, "caption": caption, "alternative_text": alternative_text}
        facts |= {name: words for name, words in said.items() if words}
        if px_per_mm is not None:
            facts |= {"px_per_mm": px_per_mm, "scale_known_by": "given"}
        try:
            attachment = Attachment.model_validate(facts)
        except ValidationError as refusal:
            faults = [(str(fault["loc"][0]), tell_fault(fault)) for fault in refusal.errors()]
            raise InvalidRecord(shelfmark, faults) from refusal
        keep_file(source, content, self._files / attachment.stored_name, files=self._files)
        key = {"pattern_id": number, "sha256": content.sha256}
        self._put(AttachmentRow, key, attachment.model_dump())
        return attachment

    def keep_measurement(
        self, sha256: str, measurement: Measurement, settings_fingerprint: str = ""
    ) -> None:
        """Keep the measurement of a file in place of an earlier one.

        The fingerprint stands for the settings it was made with, so that they can be compared.
        """
        values = {
            "analyser": measurement.analyser,
            "settings_fingerprint": settings_fingerprint,
            "result": measurement.model_dump_json(),
            "summary": summarise(measurement, sha256).model_dump_json(exclude_defaults=True),
        }
        self._put(MeasurementRow, {"sha256": sha256}, values)

    def keep_by_hand(self, sha256: str, by_hand: ByHand) -> None:
        """Keep what a person says of a file in place of what was said before.

        Where nothing is said any more, nothing is kept.
        """
        if by_hand != NOTHING_SAID:
            said = by_hand.model_dump_json(exclude_defaults=True)
            self._put(ByHandRow, {"sha256": sha256}, {"said": said})
            return
        with sqlite_errors(self._database):
            self._connection.execute(delete(ByHandRow).where(col(ByHandRow.sha256) == sha256))

    def _put(self, model: type[SQLModel], key: dict[str, Any], values: dict[str, Any]) -> None:
        """Insert a row, or change the one with this key; a row that is as it was is left alone."""
        row = key | values
        table = SQLModel.metadata.tables[str(model.__tablename__)]
        columns = [table.c[name] for name in row]
        there = select(*columns).where(*(table.c[name] == value for name, value in key.items()))
        put = insert(table).values(row).on_conflict_do_update(index_elements=[*key], set_=values)
        with sqlite_errors(self._database):
            if row not in self._connection.execute(there).mappings().all():
                self._connection.execute(put)

    def finish(self) -> None:
        """Give the collection a new state if anything was changed."""
        if driver_connection(self._connection).total_changes != self._rows_before:
            self._connection.execute(update(CollectionRow).values(state=self.state))
