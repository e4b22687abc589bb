"""Which column of a list holds what: finds the row of headings and names their fields.

Knows the fields a column can fill (`FIELDS`), not how their cells are read.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from archive.errors import InputError, UnknownField, UnreadableFile, did_you_mean, reading_errors
from archive.lists.table import Cell, column_letters
from archive.lists.words import any_of, meanings, millimetres_per_unit, plain
from archive.wording import nearest

NOTE = "note"
REASON = "reason"
SHELFMARK = "shelfmark"
LISTS = frozenset(
    {
        "other_titles",
        "families",
        "techniques",
        "techniques.taught",
        "techniques.practised",
        "techniques.optional",
        "threads",
        "threads.gimp",
        "related",
        "working_notes",
        "working_notes.start",
        "working_notes.easily_wrong",
        "working_notes.tip",
        "corrections",
        "internal.private_notes",
    }
)
"""Fields that several columns may fill."""

_ROWS_SEARCHED = 30
_LEAST_LIKENESS = 75
"""Per cent of letters in common from which a heading is suggested; tried on lists of our own."""
_BRACKETS = re.compile(r"[()\[\]:?#*]")
_NUMBERED = re.compile(r"(.+?) ?\d{1,2}")


def fields() -> frozenset[str]:
    """Every field that a column can fill, and `note` for cells that are only kept."""
    return frozenset(meanings("headings").values()) - {REASON} | {NOTE}


def usual_headings() -> list[str]:
    """A heading for every field that a column can fill, in the order a record tells them.

    >>> usual_headings()[:4]
    ['shelfmark', 'title', 'other titles', 'family']
    """
    first_of: dict[str, str] = {}
    for heading, field in meanings("headings").items():
        first_of.setdefault(field, heading)
    return [heading for field, heading in first_of.items() if field != REASON]


@dataclass(frozen=True)
class Column:
    """A column: its place counted from 0, its heading, its field, the unit of its numbers."""

    index: int
    heading: str
    field: str | None
    unit_mm: float | None = None


@dataclass(frozen=True)
class Headings:
    """The columns of a list; `row` is the row of the headings, 0 if there is none."""

    row: int
    columns: tuple[Column, ...]


def find_headings(
    rows: list[list[Cell]], path: Path, columns: Mapping[str, str] | None = None
) -> Headings:
    """The first row with the most headings that are known, or are named in `columns`.

    `columns` maps headings to fields. A list without headings can be read when it maps the
    letters of the columns instead.

    Raises:
        InputError: No row looks like headings, none of them is the shelfmark, or `columns`
            names a heading that is not there.
    """
    named = {_bare(heading): field for heading, field in (columns or {}).items()}
    best = max(
        range(1, min(len(rows), _ROWS_SEARCHED) + 1),
        key=lambda row: _headings_in(rows[row - 1], named),
        default=0,
    )
    if not best or not _looks_like_headings(rows[best - 1], named):
        if named and all(re.fullmatch("[a-z]{1,2}", letters) for letters in named):
            return Headings(0, _lettered_columns(rows, named))
        raise InputError(
            f"No row of “{path}” looks like the headings of a list.",
            "Put a row of headings above the list, or name the columns by their letters in a "
            'file for --columns, with lines like A = "shelfmark".',
        )
    found = Headings(best, _columns_of(rows[best - 1], named))
    _require_named(found, path, columns or {})
    if not any(column.field == SHELFMARK for column in found.columns):
        raise InputError(
            f"The list “{path}” has no column for the shelfmark.",
            "Head that column “Shelfmark”, or name it in a file for --columns, with a line like "
            f'"{_first_words(found)}" = "shelfmark".',
        )
    return found


def read_column_map(path: Path) -> dict[str, str]:
    """Heading -> field, from a TOML file with lines like `"Muster" = "title"`.

    A usual heading may stand for its field: `"Sort" = "Family"`.

    Raises:
        UnreadableFile: It cannot be read, or is no such file.
        UnknownField: It names a field that a list cannot fill.
    """
    advice = 'Write one line a column, like "Muster" = "title".'
    with reading_errors(path, advice):
        text = path.read_text(encoding="utf-8-sig")
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise UnreadableFile(path, f"it is not valid TOML ({fault})", advice) from fault
    named = content.get("columns", content)
    if not isinstance(named, dict) or not all(isinstance(field, str) for field in named.values()):
        raise UnreadableFile(path, "it does not map headings to fields", advice)
    meant = {heading: _recognised(field)[0] for heading, field in named.items()}
    for heading, its_field in meant.items():
        if its_field is None:
            word = named[heading]
            raise UnknownField(word, nearest(word, usual_headings()))
    return {heading: its_field for heading, its_field in meant.items() if its_field}


def suggested_field(heading: str) -> str:
    """The field whose headings are most like this one; `note` if none is like it.

    >>> suggested_field("Nr of the paires")
    'pairs'
    """
    from rapidfuzz import fuzz, process

    known = meanings("headings")
    found = process.extractOne(
        _bare(heading), list(known), scorer=fuzz.ratio, score_cutoff=_LEAST_LIKENESS
    )
    return known[found[0]] if found else NOTE


@lru_cache(maxsize=1024)
def _recognised(heading: str) -> tuple[str | None, float | None]:
    """The field that a heading names, and the unit it ends in."""
    bare = _bare(heading)
    known = meanings("headings")
    if heading.strip() in fields():
        return heading.strip(), None
    if bare in known:
        return known[bare], None
    if match := _unit_at_end().fullmatch(bare):
        field = known.get(match["words"])
        if field in ("size", "size.width_mm", "size.length_mm", "size.repeat_mm"):
            return field, millimetres_per_unit()[match["unit"]]
    if match := _NUMBERED.fullmatch(bare):
        return known.get(match[1]), None
    return None, None


def _unit_at_end() -> re.Pattern[str]:
    return re.compile(rf"(?P<words>.+?)[ ,]+(?:in )?(?P<unit>{any_of(millimetres_per_unit())})")


def _bare(heading: str) -> str:
    return " ".join(_BRACKETS.sub(" ", plain(heading)).split())


def _headings_in(row: list[Cell], named: Mapping[str, str]) -> int:
    """How many different fields the cells of a row name."""
    known = {
        named.get(_bare(cell)) or _recognised(cell)[0] for cell in row if isinstance(cell, str)
    }
    return len(known - {None})


def _looks_like_headings(row: list[Cell], named: Mapping[str, str]) -> bool:
    """Whether a row names two fields, or begins with the shelfmark, or names all it has."""
    filled = [cell for cell in row if cell]
    first = _columns_of(filled[:1], named)
    if first and first[0].field == SHELFMARK:
        return True
    return _headings_in(row, named) >= min(2, len(filled))


def _columns_of(row: list[Cell], named: Mapping[str, str]) -> tuple[Column, ...]:
    columns = []
    for index, cell in enumerate(row):
        heading = str(cell).strip()
        field, unit_mm = _recognised(heading)
        columns.append(Column(index, heading, named.get(_bare(heading)) or field, unit_mm))
    return tuple(columns)


def _lettered_columns(rows: list[list[Cell]], named: Mapping[str, str]) -> tuple[Column, ...]:
    letters = [column_letters(index) for index in range(max(map(len, rows)))]
    headed = [named.get(letter.lower(), NOTE) for letter in letters]
    return tuple(
        Column(index, f"column {letter}" if field == NOTE else field, field)
        for index, (letter, field) in enumerate(zip(letters, headed, strict=True))
    )


def _require_named(found: Headings, path: Path, columns: Mapping[str, str]) -> None:
    there = {_bare(column.heading) for column in found.columns}
    for heading in columns:
        if _bare(heading) not in there:
            near = nearest(heading, [column.heading for column in found.columns if column.heading])
            raise InputError(
                f"The list “{path}” has no column headed “{heading}”.",
                did_you_mean(near) if near else "Correct the file named with --columns.",
            )


def _first_words(found: Headings) -> str:
    unknown = [column.heading for column in found.columns if column.heading and not column.field]
    known = [column.heading for column in found.columns if column.heading]
    return (unknown or known)[0]
