"""One entry in the history of a record."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from archive.records.base import Record
from archive.records.pattern import Pattern

How = Literal["added", "imported", "edited", "put back", "measured"]
"""By what a record came to be as it is."""


class Change(Record):
    """What a record became by one change; the record before is the entry before.

    Changes of a record are numbered from 1. `at` is in UTC.
    """

    number: int
    at: dt.datetime
    how: How
    pattern: Pattern
