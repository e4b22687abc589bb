"""One entry in the history of a record."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import BaseModel, ConfigDict

from archive.records.pattern import Pattern

How = Literal["added", "imported", "edited", "put back", "measured"]
"""By what a record came to be as it is."""


class Change(BaseModel):
    """What a record became by one change; the record before is the entry before.

    Changes of a record are numbered from 1. `at` is in UTC.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int
    at: dt.datetime
    how: How
    pattern: Pattern
