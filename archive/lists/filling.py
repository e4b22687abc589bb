"""How the cells of each field are read, and where the value goes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from archive.lists.amounts import length_reader, read_difficulty, read_size, read_wraps_per_cm
from archive.lists.cells import CellReader, Reading, read_date, read_yes_no
from archive.lists.drafting import (
    Put,
    put_gimps,
    put_joined,
    put_more,
    put_one,
    put_pairs,
    put_part,
    put_parts,
    put_rights,
    put_uses,
)
from archive.lists.headings import Column
from archive.lists.lacework import read_families, read_kind, techniques_reader, threads_reader
from archive.lists.pairs import read_bobbins, read_gimps, read_pair_number, read_pairs
from archive.lists.problems import remark
from archive.lists.texts import (
    read_condition,
    read_corrections,
    read_designer,
    read_relations,
    read_right,
    read_source,
    working_notes_reader,
)
from archive.records.faults import tell_fault
from archive.records.pattern import LONGEST_LINE as LINE
from archive.records.pattern import LONGEST_TEXT as TEXT
from archive.records.rights import LONGEST_BASIS, LONGEST_LETTER


@dataclass(frozen=True)
class Filling:
    """How a field is filled.

    Attributes:
        reader: Reads a cell of usual length.
        put: Puts its value into the draft.
        most: Most characters of a cell.
        takes_days: Whether a day that the spreadsheet holds as a date is meant as one.
    """

    reader: CellReader
    put: Put
    most: int = TEXT
    takes_days: bool = False

    def read(self, words: str) -> Reading[Any]:
        """What the words say; never fails."""
        if len(words) > self.most:
            return Reading(None, (remark("too-long", words, kept=words, most=str(self.most)),))
        try:
            return self.reader(words)
        except ValidationError as fault:
            limit = tell_fault(fault.errors()[0])
            return Reading(None, (remark("out-of-range", words, kept=words, limit=limit),))


def filling_for(column: Column) -> Filling:
    """How the column's field is filled; KeyError if `column` has no field of a record."""
    if column.unit_mm is not None:
        return _filling_of_length(column.field or "", column.unit_mm)
    return _FILLINGS[column.field or ""]


def _words(text: str) -> Reading[str]:
    return Reading(text.strip())


def _titles(text: str) -> Reading[tuple[str, ...]]:
    return Reading(tuple(title.strip() for title in text.split(";") if title.strip()))


def _filling_of_length(field: str, unit_mm: float | None) -> Filling:
    if field != "size":
        name = field.removeprefix("size.")
        return Filling(length_reader(unit_mm), put_part("size", name), LINE)

    def read_sizes(text: str) -> Reading[dict[str, float]]:
        size, remarks = read_size(text, unit_mm=unit_mm)
        return Reading(size.model_dump(exclude_none=True) if size else None, remarks)

    return Filling(read_sizes, put_parts("size"), LINE)


_FILLINGS: dict[str, Filling] = {
    "shelfmark": Filling(_words, put_one("shelfmark")),
    "title": Filling(_words, put_one("title"), LINE),
    "other_titles": Filling(_titles, put_more("other_titles"), LINE),
    "families": Filling(read_families, put_more("families")),
    "kind": Filling(read_kind, put_one("kind")),
    "techniques": Filling(techniques_reader("practised"), put_uses),
    "techniques.taught": Filling(techniques_reader("taught"), put_uses),
    "techniques.practised": Filling(techniques_reader("practised"), put_uses),
    "techniques.optional": Filling(techniques_reader("optional"), put_uses),
    "pairs": Filling(read_pairs, put_pairs("stated"), LINE),
    "pairs.counted": Filling(read_pairs, put_pairs("counted"), LINE),
    "pairs.corner_extra": Filling(read_pair_number, put_one("corner_extra"), LINE),
    "bobbins": Filling(read_bobbins, put_pairs("stated"), LINE),
    "gimps": Filling(read_gimps, put_gimps, LINE),
    "threads": Filling(threads_reader(None), put_more("threads"), LINE),
    "threads.gimp": Filling(threads_reader("gimp"), put_more("threads"), LINE),
    "wraps_per_cm": Filling(read_wraps_per_cm, put_one("wraps_per_cm"), LINE),
    "difficulty": Filling(read_difficulty, put_one("difficulty"), LINE),
    "size": _filling_of_length("size", None),
    "size.width_mm": _filling_of_length("size.width_mm", None),
    "size.length_mm": _filling_of_length("size.length_mm", None),
    "size.repeat_mm": _filling_of_length("size.repeat_mm", None),
    "corner": Filling(read_yes_no, put_one("corner"), LINE),
    "designer": Filling(read_designer, put_one("designer"), LINE),
    "source": Filling(read_source, put_parts("source"), LINE),
    "source.edition": Filling(_words, put_part("source", "edition"), LINE),
    "source.page": Filling(_words, put_part("source", "page"), LINE),
    "source.issue": Filling(_words, put_part("source", "issue"), LINE),
    "period": Filling(_words, put_one("period"), LINE, takes_days=True),
    "material": Filling(_words, put_one("material"), LINE),
    "related": Filling(read_relations, put_more("related")),
    "working_notes": Filling(working_notes_reader("order"), put_more("working_notes")),
    "working_notes.start": Filling(working_notes_reader("start"), put_more("working_notes")),
    "working_notes.easily_wrong": Filling(
        working_notes_reader("easily wrong"), put_more("working_notes")
    ),
    "working_notes.tip": Filling(working_notes_reader("tip"), put_more("working_notes")),
    "corrections": Filling(read_corrections, put_more("corrections")),
    "rights": Filling(read_right, put_rights, LINE),
    "rights.design": Filling(read_right, put_part("rights", "design"), LINE),
    "rights.working_up": Filling(read_right, put_part("rights", "working_up"), LINE),
    "rights.pricking": Filling(read_right, put_part("rights", "pricking"), LINE),
    "rights.photograph": Filling(read_right, put_part("rights", "photograph"), LINE),
    "rights.holder": Filling(_words, put_part("right_details", "holder"), LINE),
    "rights.basis": Filling(_words, put_part("right_details", "basis"), LONGEST_BASIS),
    "rights.permission_letter": Filling(
        _words, put_part("right_details", "permission_letter"), LONGEST_LETTER
    ),
    "condition": Filling(read_condition, put_parts("condition"), LINE),
    "condition.checked": Filling(
        read_date, put_part("condition", "checked"), LINE, takes_days=True
    ),
    "internal.provenance": Filling(_words, put_part("internal", "provenance")),
    "internal.donor": Filling(_words, put_part("internal", "donor"), LINE),
    "internal.location": Filling(_words, put_part("internal", "location"), LINE),
    "internal.valuation": Filling(_words, put_part("internal", "valuation"), LINE),
    "internal.private_notes": Filling(_words, put_joined("internal", "private_notes")),
}
