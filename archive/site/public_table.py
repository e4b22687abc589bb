"""The public fields of the records as a table that any spreadsheet opens.

A list of columns that may go out. A cell that a spreadsheet would take for a formula is made
plain text by an apostrophe before it.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice

from archive.records import Entry
from archive.site import figures
from archive.site.links import level_name
from archive.vocabulary import families, kinds, rights, techniques

COLUMNS = (
    "Shelfmark", "Title", "Other titles", "Families", "Kind", "Techniques taught",
    "Techniques practised", "Techniques if you like", "Pairs", "Pairs are", "Gimps", "Threads",
    "Difficulty stated", "Level", "Level in words", "Width mm", "Length mm", "Repeat mm", "Corner",
    "Designer", "Printed in", "Period", "Working notes", "Corrections", "Right in the design",
    "Right in the pricking", "Ground angle measured deg", "Pinholes measured",
)  # fmt: skip
_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""Source: OWASP, CSV Injection."""


class _Handed:
    """Where a row is written to be handed back, as `writerow` does with what `write` returns."""

    def write(self, row: str) -> str:
        return row


_WRITER = csv.writer(_Handed(), lineterminator="")


def table_row(entry: Entry) -> bytes:
    """The row of a record, without the end of the line."""
    names = {
        role: "; ".join(
            techniques()[use.technique].name for use in entry.techniques if use.role == role
        )
        for role in ("taught", "practised", "optional")
    }
    found = entry.measured
    level = entry.difficulty.level
    cells: tuple[object, ...] = (
        entry.shelfmark,
        entry.title,
        "; ".join(entry.other_titles),
        "; ".join(families()[family].name for family in entry.families),
        kinds()[entry.kind].name if entry.kind else "",
        names["taught"],
        names["practised"],
        names["optional"],
        entry.pairs.best,
        entry.pairs.how,
        figures.gimps(entry.gimps),
        "; ".join(figures.thread(thread) for thread in entry.threads),
        entry.difficulty.stated,
        level,
        level_name(level) if level else "",
        entry.size.width_mm,
        entry.size.length_mm,
        entry.size.repeat_mm,
        {True: "yes", False: "no", None: ""}[entry.corner],
        entry.designer.name if entry.designer.status == "named" else entry.designer.status,
        figures.source(entry.source),
        entry.period,
        " / ".join(note.text for note in entry.working_notes),
        " / ".join(f"{one.fault} {one.remedy}".strip() for one in entry.corrections),
        *(
            rights()[right.statement].name if right else ""
            for right in (entry.rights.design, entry.rights.pricking)
        ),
        found and found.ground_angle_deg,
        found and found.pins,
    )
    return _row(cells)


def table_file(rows: Iterable[bytes]) -> Iterator[bytes]:
    """`records.csv`, with the mark at its start by which spreadsheets know UTF-8."""
    yield "\ufeff".encode() + _row(COLUMNS) + b"\r\n"
    for row in rows:
        yield row + b"\r\n"


def rows_of(file: Iterable[bytes]) -> Iterator[bytes]:
    """The rows that `table_file` was told."""
    return (row.removesuffix(b"\r\n") for row in islice(file, 1, None))


def _row(cells: Sequence[object]) -> bytes:
    row: str = _WRITER.writerow([_cell(cell) for cell in cells])
    return row.encode()


def _cell(value: object) -> object:
    """A value as one line; text that would be a formula is made inert."""
    if not isinstance(value, str):
        return value
    line = " ".join(value.split())
    return f"'{line}" if line.startswith(_STARTS_A_FORMULA) else line
