"""Reads a guild's list into records: what is understood, what needs a person, what is refused.

Nothing is lost: words that cannot be understood go into the record's notes and are reported.
Knows nothing of the catalogue; the same list always gives the same records.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from pydantic import ValidationError

from archive.lists.cells import in_words, maybe_typed
from archive.lists.drafting import Draft, complete
from archive.lists.headings import Headings, find_headings
from archive.lists.lacework import read_kind
from archive.lists.layout import lay_out
from archive.lists.opening import read_table
from archive.lists.problems import TYPE_IT_AGAIN, Remark, remark
from archive.lists.refusing import Refused
from archive.lists.table import Cell, Table, column_letters
from archive.lists.texts import COMPANION, NamedRelation, settle_relation
from archive.lists.words import signs_for, words_for
from archive.progress import Progress, untold
from archive.records import Finding, Pattern, Relation, UnparsedNote
from archive.records.faults import tell_fault
from archive.records.pattern import LONGEST_TEXT

_ROWS_A_STEP = 500
_LONGEST_FOUND = 200


@dataclass
class ListReading:
    """What a list says.

    Attributes:
        patterns: (row, record), in the order of the list.
        findings: What a person should look at, in the order of the rows.
        refused: Rows that are no records.
        columns: Heading -> field, as recognised.
        suggestion: Heading that was not recognised -> the field it is most like.
        read: Rows below the headings with anything in them.
    """

    patterns: list[tuple[int, Pattern]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)
    columns: dict[str, str] = field(default_factory=dict)
    suggestion: dict[str, str] = field(default_factory=dict)
    read: int = 0


def read_list(
    path: Path, *, columns: Mapping[str, str] | None = None, progress: Progress = untold
) -> ListReading:
    """Read the list at `path`; `columns` maps headings to fields where they are not recognised.

    `progress` is called with the rows done and all rows.

    Raises:
        UnreadableFile: The file is no list that can be read.
        InputError: It has no headings, or no column for the shelfmark.
    """
    table = read_table(path)
    reader = _Reader(table, find_headings(table.rows, path, columns))
    return reader.read(progress)


class _Reader:
    """The work of reading one table. Rows are numbered from 1, columns from 0."""

    def __init__(self, table: Table, headings: Headings) -> None:
        self._table = table
        self._first_row = headings.row + 1
        self._heading_cells = table.rows[headings.row - 1] if headings.row else []
        self._rows = table.rows[headings.row :]
        self._layout = lay_out(table, headings)
        self._plan = [(column.index, column.known, column) for column in self._layout.filled]
        self._signs = signs_for("unknown")
        self._result = ListReading(columns=self._layout.columns, suggestion=self._layout.suggestion)
        self._known: dict[str, tuple[int, Pattern]] = {}
        self._without_value: dict[int, list[tuple[int, str]]] = defaultdict(list)
        for (row, column), found in sorted(table.without_value.items()):
            self._without_value[row + 1].append((column, found))

        for (row, column), first in table.merged.items():
            if first >= headings.row:
                self._join(table.rows[row], column, table.rows[first])

    @staticmethod
    def _join(cells: list[Cell], column: int, above: list[Cell]) -> None:
        """Write out what a cell says that is joined with one above."""
        if column < len(above):
            cells.extend([""] * (column + 1 - len(cells)))
            cells[column] = above[column]

    def read(self, progress: Progress) -> ListReading:
        """Read all rows."""
        if self._table.other_sheets:
            self._report(remark("other-sheets", "; ".join(self._table.other_sheets)))
        for heading, about in self._layout.remarks:
            self._report(about, row=self._first_row - 1 or None, heading=heading)
        for row, cells in enumerate(self._rows, self._first_row):
            if cells != self._heading_cells:
                self._read_row(row, cells)
            done = row - self._first_row + 1
            if done % _ROWS_A_STEP == 0 or done == len(self._rows):
                progress(done, len(self._rows))
        self._result.read += len(self._result.patterns) + len(self._result.refused)
        return self._result

    def _read_row(self, row: int, cells: list[Cell]) -> None:
        mark = self._cell(cells, self._layout.shelfmark.index)
        if isinstance(mark, dt.date):
            unmarked = [*cells]
            unmarked[self._layout.shelfmark.index] = ""
            self._refuse(row, unmarked, _became_a_date(mark))
            return
        shelfmark = mark.strip().casefold()
        if not shelfmark or shelfmark in self._signs:
            if _has_words(cells) or row in self._without_value:
                self._refuse(row, cells, "The row has no shelfmark.")
            return
        if shelfmark.rstrip(" :") in words_for("totals") and _has_numbers_only(cells, mark):
            self._refuse(row, cells, "The row looks like a total, not like a pattern.")
            return
        draft: Draft = {}
        remarks = self._fill(draft, cells)
        try:
            if "related" in draft:
                remarks += self._settle_relations(draft)
            complete(draft)
            if remarks or self._layout.kept or self._without_value:
                notes = tuple(self._notes(row, cells, remarks))
                draft["unparsed"] = (*draft.get("unparsed", ()), *notes)
            pattern = Pattern.model_validate(draft)
        except ValidationError as fault:
            self._refuse(row, cells, _told(fault))
        else:
            self._keep(row, cells, pattern, remarks)

    def _fill(self, draft: Draft, cells: list[Cell]) -> list[tuple[str, Remark]]:
        """Put what each cell says into the draft; returns what is the matter with the cells."""
        matters: list[tuple[str, Remark]] = []
        width = len(cells)
        for index, known, column in self._plan:
            if index >= width:
                break
            cell = cells[index]
            if not cell:
                continue
            value, remarks = known.get(cell) or column.read(cell)
            if value is not None and not column.put(draft, value):
                about = remark("cells-disagree", str(cell), kept=str(cell))
                matters.append((column.heading, about))
            for about in remarks:
                matters.append((column.heading, about))
        return matters

    def _settle_relations(self, draft: Draft) -> Iterator[tuple[str, Remark]]:
        """Turn what the list calls a companion into the relation it is."""
        named: tuple[NamedRelation, ...] = draft["related"]
        settled = []
        for relation in named:
            kinds = self._kinds if relation.kind == COMPANION else {}
            its = settle_relation(relation, kinds)
            if its is None:
                words = f"{relation.kind} {relation.shelfmark}"
                its = Relation(kind="see also", shelfmark=relation.shelfmark)
                yield (
                    self._layout.heading_of("related"),
                    remark("unclear-relation", words, kept=words),
                )
            settled.append(its)
        draft["related"] = tuple(settled)

    @cached_property
    def _kinds(self) -> dict[str, str | None]:
        """Shelfmark -> kind of pattern, of all rows; only asked for where companions are named."""
        kinds = [column.index for column in self._layout.filled if column.field == "kind"]
        return {
            str(self._cell(cells, self._layout.shelfmark.index)).strip(): read_kind(str(kind)).value
            for cells in self._rows
            for index in kinds
            if (kind := self._cell(cells, index))
        }

    def _notes(
        self, row: int, cells: list[Cell], remarks: list[tuple[str, Remark]]
    ) -> Iterator[UnparsedNote]:
        """The words that the record has no other place for; adds remarks on missing values."""
        for index, found in self._without_value.get(row, ()):
            heading = dict(self._layout.headings).get(index, f"column {column_letters(index)}")
            remarks.append((heading, remark("no-value", found, kept=found)))
        for heading, about in remarks:
            if about.kept:
                yield from _note(heading, about.kept)
        for column in self._layout.kept:
            words = self._cell(cells, column.index)
            if words:
                yield from _note(column.heading, str(words))

    def _keep(
        self, row: int, cells: list[Cell], pattern: Pattern, remarks: list[tuple[str, Remark]]
    ) -> None:
        earlier = self._known.get(pattern.shelfmark)
        if earlier is None:
            self._known[pattern.shelfmark] = (row, pattern)
            self._result.patterns.append((row, pattern))
            for heading, about in remarks:
                self._report(about, row=row, heading=heading, shelfmark=pattern.shelfmark)
        elif earlier[1] == pattern:
            about = remark(
                "repeated-row", pattern.shelfmark, first=str(earlier[0]), second=str(row)
            )
            self._report(about, row=row, shelfmark=pattern.shelfmark)
            self._result.read += 1
        else:
            self._refuse(
                row, cells, f"Row {earlier[0]} has the same shelfmark and says something else."
            )

    def _refuse(self, row: int, cells: list[Cell], reason: str) -> None:
        missing = dict(self._without_value.get(row, ()))
        self._result.refused.append(
            Refused(
                row=row,
                shelfmark=str(self._cell(cells, self._layout.shelfmark.index)).strip(),
                reason=reason,
                cells=tuple(
                    (heading, str(self._cell(cells, index) or missing.get(index, "")))
                    for index, heading in self._layout.headings
                ),
            )
        )

    def _report(
        self,
        about: Remark,
        *,
        row: int | None = None,
        heading: str | None = None,
        shelfmark: str | None = None,
    ) -> None:
        found = about.found
        if len(found) > _LONGEST_FOUND:
            found = f"{found[:_LONGEST_FOUND]}…"
        self._result.findings.append(
            Finding(
                code=about.code,
                found=found,
                advice=about.advice,
                shelfmark=shelfmark,
                row=row,
                column=heading,
            )
        )

    @staticmethod
    def _cell(cells: list[Cell], index: int) -> Cell:
        return cells[index] if index < len(cells) else ""


def _became_a_date(day: dt.date) -> str:
    return (
        f"The spreadsheet turned the shelfmark into the date {in_words(day)}. "
        f"{maybe_typed(day)}{TYPE_IT_AGAIN}"
    )


def _has_words(cells: list[Cell]) -> bool:
    return any(isinstance(cell, dt.date) or cell.strip() for cell in cells)


def _has_numbers_only(cells: list[Cell], mark: str) -> bool:
    others = (str(cell).strip() for cell in cells if cell != mark)
    return all(re.fullmatch(r"[\d.,]*", words) for words in others)


def _note(heading: str, words: str) -> Iterator[UnparsedNote]:
    """The words as notes, in as many as they need."""
    for start in range(0, len(words), LONGEST_TEXT):
        yield UnparsedNote(field=heading[:100], words=words[start : start + LONGEST_TEXT])


def _told(fault: ValidationError) -> str:
    faults = (
        f"{'.'.join(str(part) for part in error['loc'])} {tell_fault(error)}"
        for error in fault.errors()
    )
    return f"The row is no valid record ({'; '.join(faults)})."
