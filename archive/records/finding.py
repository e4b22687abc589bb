"""What a person should look at: bad data is reported, not thrown."""

from __future__ import annotations

from archive.records.base import Record


class Finding(Record):
    """One thing that needs a person.

    `row` is numbered as a spreadsheet shows it; `found` is what stands there, `advice` how to
    mend it. Fields that do not apply are None.
    """

    code: str
    found: str
    advice: str
    shelfmark: str | None = None
    row: int | None = None
    column: str | None = None
