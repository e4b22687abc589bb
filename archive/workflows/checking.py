"""Checking records against what was measured on their sheets."""

from __future__ import annotations

from dataclasses import dataclass, field

from archive.progress import Progress, untold
from archive.records import Finding
from archive.records.comparing import Sheet, compare
from archive.store import Collection
from archive.workflows.measuring import find_current


@dataclass
class Checked:
    """How many records were looked at, how many of them have a sheet, and what was found."""

    records: int = 0
    with_sheet: int = 0
    findings: list[Finding] = field(default_factory=list)


def check_records(
    collection: Collection,
    shelfmark: str | None = None,
    *,
    progress: Progress = untold,
) -> Checked:
    """Compare the record with this shelfmark, or every record, with its measured sheets.

    Nothing is measured and nothing is changed.

    Raises:
        UnknownShelfmark: there is no such record.
    """
    one_or_all = [collection.get_entry(shelfmark)] if shelfmark else list(collection.entries())
    checked = Checked()
    for number, entry in enumerate(one_or_all, start=1):
        sheets = [
            Sheet(attachment, find_current(collection, attachment))
            for attachment in entry.attachments
            if attachment.role == "pricking"
        ]
        checked.records += 1
        checked.with_sheet += bool(sheets)
        checked.findings += compare(entry, sheets, collection.settings.checking)
        progress(number, len(one_or_all))
    return checked
