"""What a person should look at: bad data is reported, not thrown."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Finding(BaseModel):
    """One thing that needs a person.

    `row` is numbered as a spreadsheet shows it; `found` is what stands there, `advice` how to
    mend it. Fields that do not apply are None.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: str
    found: str
    advice: str
    shelfmark: str | None = None
    row: int | None = None
    column: str | None = None
