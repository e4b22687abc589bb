"""A record as the catalogue holds it, not read yet."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from archive.errors import CollectionDamaged
from archive.records.attachment import Attachment
from archive.records.entry import Entry, Measured


class Written(NamedTuple):
    """A record as JSON, with what hangs on it; much smaller than the `Entry` it tells.

    `catalogue` is named where the record turns out not to be what was written.
    """

    shelfmark: str
    record: str
    attachments: tuple[Attachment, ...]
    measured: Measured | None
    catalogue: Path

    def read(self) -> Entry:
        """The record itself; raises `CollectionDamaged` if it is not valid."""
        try:
            entry = Entry.model_validate_json(self.record)
        except ValidationError as cause:
            reason = f"the record “{self.shelfmark}” is not as it was written"
            raise CollectionDamaged(self.catalogue, reason) from cause
        if not self.attachments:
            return entry
        return entry.model_copy(update={"attachments": self.attachments, "measured": self.measured})
