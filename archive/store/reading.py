"""Rows become records again.

Each question is read to its end before anything of it is handed on: an open query would
keep a writer waiting for as long as its records are used.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError
from sqlalchemy import Connection
from sqlmodel import col, select

from archive.errors import CollectionDamaged, NotFound
from archive.records import Attachment, Change, Entry, Measured, Pattern, Written
from archive.records.byhand import NOTHING_SAID, ByHand
from archive.records.measurement import Measurement
from archive.store.shelfmarks import get_same
from archive.store.tables import (
    AttachmentRow,
    ByHandRow,
    ChangeRow,
    CollectionRow,
    MeasurementRow,
    PatternRow,
)
from archive.wording import SortKey, natural_key

M = TypeVar("M", bound=BaseModel)


class Reader:
    """Asks a connection; `database` is named where a row is not what was written."""

    def __init__(self, connection: Connection, database: Path) -> None:
        self._connection = connection
        self._database = database

    def state(self) -> str:
        """The token that the last committed change set."""
        return self._connection.execute(select(CollectionRow.state)).scalar_one()

    def shelfmarks(self) -> list[str]:
        """All shelfmarks, P 2 before P 10."""
        return sorted(self._connection.scalars(select(PatternRow.shelfmark)), key=self._order)

    def _order(self, shelfmark: str) -> SortKey:
        if not isinstance(shelfmark, str):  # Types are what a damaged file makes of them.
            raise CollectionDamaged(self._database, "a record in it has lost its shelfmark")
        return natural_key(shelfmark)

    def get_id(self, shelfmark: str) -> int:
        """The number of the record that `shelfmark` means; raises `UnknownShelfmark`."""
        number = self._id_of(shelfmark) or self._id_of(get_same(shelfmark, self.shelfmarks()))
        if number is None:  # The index does not know what the table holds.
            raise CollectionDamaged(self._database, f"it does not find “{shelfmark}” again")
        return number

    def _id_of(self, shelfmark: str) -> int | None:
        return self._connection.scalar(
            select(PatternRow.id).where(PatternRow.shelfmark == shelfmark)
        )

    def get_entry(self, shelfmark: str) -> Entry:
        """The record that `shelfmark` means; raises `UnknownShelfmark`."""
        number = self.get_id(shelfmark)
        row = self._connection.execute(
            select(PatternRow.shelfmark, PatternRow.record).where(PatternRow.id == number)
        ).one()
        attachments = self.attachments(number)[number]
        return self._written(*row, attachments, self._summaries(attachments)).read()

    def written(self) -> Iterator[Written]:
        """Every record in the order of `shelfmarks`, by three queries for any number of them."""
        rows = self._connection.execute(
            select(PatternRow.id, PatternRow.shelfmark, PatternRow.record)
        ).all()
        attachments = self.attachments()
        summaries = self._summaries()
        in_order = sorted(rows, key=lambda row: self._order(row.shelfmark))
        return (
            self._written(shelfmark, record, attachments.get(number, []), summaries)
            for number, shelfmark, record in in_order
        )

    def attachments(self, number: int | None = None) -> defaultdict[int, list[Attachment]]:
        """The attachments of every record, or of the one with this number, in sequence."""
        rows = select(AttachmentRow).order_by(col(AttachmentRow.sequence), col(AttachmentRow.id))
        if number is not None:
            rows = rows.where(AttachmentRow.pattern_id == number)
        found = defaultdict(list)
        for row in self._connection.execute(rows).mappings():
            columns = {name: row[name] for name in Attachment.model_fields}
            attachment = self._parse(Attachment, columns, f"the attachment {row['sha256']}")
            found[row["pattern_id"]].append(attachment)
        return found

    def _summaries(self, attachments: list[Attachment] | None = None) -> dict[str, Measured]:
        rows = select(MeasurementRow.sha256, MeasurementRow.summary)
        if attachments is not None:
            digests = [attachment.sha256 for attachment in attachments]
            rows = rows.where(col(MeasurementRow.sha256).in_(digests))
        return {
            sha256: self._parse(Measured, summary, f"the measurement of {sha256}")
            for sha256, summary in self._connection.execute(rows)
        }

    def _written(
        self,
        shelfmark: str,
        record: str,
        attachments: list[Attachment],
        summaries: dict[str, Measured],
    ) -> Written:
        if not isinstance(record, str):  # Types are what a damaged file makes of them.
            raise CollectionDamaged(
                self._database, f"the record “{shelfmark}” is not as it was written"
            )
        measured = [
            summaries[attachment.sha256]
            for attachment in attachments
            if attachment.role == "pricking" and attachment.sha256 in summaries
        ]
        return Written(
            shelfmark,
            record,
            tuple(attachments),
            measured[0] if measured else None,
            self._database,
        )

    def history(self, shelfmark: str) -> list[Change]:
        """The changes of a record, the first first; raises `UnknownShelfmark`."""
        rows = self._connection.execute(
            select(ChangeRow.number, ChangeRow.at, ChangeRow.how, ChangeRow.record)
            .where(ChangeRow.pattern_id == self.get_id(shelfmark))
            .order_by(col(ChangeRow.number))
        )
        what = f"the history of “{shelfmark}”"
        changes = []
        for row in rows:
            pattern = self._parse(Pattern, row.record, what)
            columns = {"number": row.number, "at": row.at, "how": row.how, "pattern": pattern}
            changes.append(self._parse(Change, columns, what))
        return changes

    def get_state_after(self, shelfmark: str, number: int) -> Pattern:
        """The record as change `number` left it.

        Raises:
            UnknownShelfmark: there is no such record.
            NotFound: it has no change of this number.
        """
        changes = self.history(shelfmark)
        for change in changes:
            if change.number == number:
                return change.pattern
        raise NotFound(
            f"The record “{shelfmark}” has no change {number}.",
            f"Its changes are numbered from 1 to {len(changes)}; “prickings history” lists them.",
        )

    def last_imported(self) -> dict[str, Pattern]:
        """The records as the last import left each, by shelfmark."""
        # SQLite takes the other columns from the row in which the maximum stands.
        rows = self._connection.exec_driver_sql(
            "SELECT shelfmark, changes.record, max(number) FROM changes"
            " JOIN patterns ON patterns.id = pattern_id WHERE how = 'imported' GROUP BY pattern_id"
        ).all()
        return {
            shelfmark: self._parse(Pattern, record, f"the record “{shelfmark}”")
            for shelfmark, record, _ in rows
        }

    def measurement(self, sha256: str, *, settings_fingerprint: str | None) -> Measurement | None:
        """The kept measurement of a file, if there is one, and one made with these settings."""
        kept = self._connection.execute(
            select(MeasurementRow.settings_fingerprint, MeasurementRow.result).where(
                MeasurementRow.sha256 == sha256
            )
        ).first()
        if kept is None or settings_fingerprint not in (None, kept.settings_fingerprint):
            return None
        return self._parse(Measurement, kept.result, f"the measurement of {sha256}")

    def by_hand(self, sha256: str) -> ByHand:
        """What a person says of a file; nothing is said of most."""
        said = self._connection.scalar(select(ByHandRow.said).where(ByHandRow.sha256 == sha256))
        if said is None:
            return NOTHING_SAID
        return self._parse(ByHand, said, f"what was said by hand of {sha256}")

    def _parse(self, model: type[M], written: str | Mapping[str, object], what: str) -> M:
        """A record of JSON or of columns; raises `CollectionDamaged` if it is not valid."""
        try:
            if isinstance(written, str):
                return model.model_validate_json(written)
            return model.model_validate(written)
        except ValidationError as cause:
            raise CollectionDamaged(self._database, f"{what} is not as it was written") from cause
