"""What can be wrong with a list, each under its code: what it is, and what would do.

A cell reader reports a `Remark`; the reading of the list adds where it stands and makes a
`Finding` of it. The doubts about thread labels keep the codes and the advice of
`archive.threads`. Knows nothing of tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from archive.errors import did_you_mean
from archive.threads import Doubt
from archive.vocabulary import Terms, families, kinds, rights, techniques


@dataclass(frozen=True)
class Problem:
    """One way in which a cell or a column can need a person.

    `told` says what is the matter; `advice` says what would do, with the facts of the case in
    braces.
    """

    code: str
    told: str
    advice: str


class Remark(NamedTuple):
    """What is the matter with a cell, and what would do.

    `kept` are the words that the record has no other place for; they become its note.
    """

    code: str
    found: str
    advice: str
    kept: str = ""


TYPE_IT_AGAIN = "Format the cell as text and type it again."
_LEVELS = "easy, middling or hard; a number from 1 to 5; 3/5; or up to five stars"

PROBLEMS = {
    problem.code: problem
    for problem in (
        Problem(
            "unknown-column",
            "The heading is not one that is recognised; the cells are kept as notes.",
            "Change the heading to a usual one, or name a file with --columns that holds a line "
            "like {line}.",
        ),
        Problem(
            "column-without-heading",
            "Cells stand in a column that has no heading; they are kept as notes.",
            "Write a heading above column {letter}.",
        ),
        Problem(
            "repeated-column",
            "Another column already says this; the cells of this one are kept as notes.",
            "Join the columns “{first}” and “{second}”, or rename one of them.",
        ),
        Problem(
            "other-sheets",
            "The workbook holds further sheets; only the first with anything on it was read.",
            "Save each further sheet as a file of its own and import that too.",
        ),
        Problem(
            "repeated-row",
            "The row says the same as an earlier one and was taken once.",
            "Delete one of the rows {first} and {second}.",
        ),
        Problem(
            "unknown-technique",
            "The vocabulary has no such technique.",
            "{nearest} “prickings vocabulary WORD” looks words up.",
        ),
        Problem("unknown-family", "The vocabulary has no such family of lace.", "{nearest}"),
        Problem("unknown-kind", "The vocabulary has no such kind of pattern.", "{nearest}"),
        Problem(
            "unknown-rights",
            "This is no statement of the list of rights.",
            "Write one of: {known}. That a sheet is old or traditional does not settle its rights.",
        ),
        Problem(
            "unclear-pairs",
            "No number of pairs can be read from this.",
            "Write it like “18 pairs”, “18 + 2 gimps”, “24 (+6 corner)”, “c. 30” or “18-20”.",
        ),
        Problem(
            "odd-bobbins",
            "An odd number of bobbins makes no whole pairs.",
            "Write the pairs and the gimps apart, like “18 pairs + 1 gimp”.",
        ),
        Problem(
            "unclear-gimps",
            "No number of gimps can be read from this.",
            "Write it like “2”, “1 pair” or “none”.",
        ),
        Problem(
            "became-a-date",
            "The spreadsheet turned what was typed into a date.",
            "{maybe}" + TYPE_IT_AGAIN,
        ),
        Problem(
            "unclear-size",
            "No size can be read from this.",
            "Write it like “25 mm”, “2.5 cm”, “1 in” or “25 x 40 mm”.",
        ),
        Problem(
            "two-lengths",
            "The cell holds two lengths, and this column takes one.",
            "Write one of them, or head the column “Size”, which takes width and length.",
        ),
        Problem(
            "size-without-unit",
            "The number has no unit.",
            "Write the unit behind it, or into the heading, like “Width (mm)”.",
        ),
        Problem(
            "unclear-number",
            "No single number can be read from this.",
            "Write a plain number, like “{example}”.",
        ),
        Problem(
            "unclear-difficulty",
            "This is no level of difficulty; it is kept as stated.",
            f"Write {_LEVELS}.",
        ),
        Problem("unclear-yes-no", "This is neither yes nor no.", "Write “yes” or “no”."),
        Problem(
            "unclear-date",
            "No single day can be read from this.",
            "Write the date like “{example}”.",
        ),
        Problem(
            "unclear-relation",
            "It is not clear how the patterns belong together.",
            "Write it like “companion insertion P-12”, “corner for P-12” or “redraft of P-12”.",
        ),
        Problem(
            "words-left-over",
            "A part of the cell was understood; the other words are kept as a note.",
            "Look at the note “{words}”, and move it to the column where it belongs.",
        ),
        Problem(
            "cells-disagree",
            "Another cell of the row says something else; that one was taken.",
            "Make the cells agree, or empty the wrong one.",
        ),
        Problem(
            "too-long",
            "The cell is longer than this field allows; it is kept as a note.",
            "Shorten it to {most} characters, and put the rest under notes.",
        ),
        Problem(
            "out-of-range",
            "The cell says more than a record can hold; it is kept as a note.",
            "Correct it: it {limit}.",
        ),
        Problem(
            "ditto-mark",
            "A mark for “the same as above” means nothing once the rows are sorted.",
            "Write the words out.",
        ),
        Problem(
            "no-value",
            "The cell holds a formula or an error instead of a value; it is kept as a note.",
            "Type the value itself; if it is meant as text, put an apostrophe before it.",
        ),
        *(
            Problem(doubt.value, "The thread's label leaves something open.", doubt.advice)
            for doubt in Doubt
        ),
    )
}
"""Every code a finding about a list can have."""


def remark(code: str, found: str, *, kept: str = "", **facts: str) -> Remark:
    """A remark that says what is the matter and what would do, with the facts of the case."""
    problem = PROBLEMS[code]
    return Remark(code, found, f"{problem.told} {problem.advice.format(**facts)}", kept)


def unknown_technique(word: str) -> Remark:
    """The technique `word` is not known; names the nearest ones, if any is near."""
    return _unknown("unknown-technique", word, techniques(), otherwise="Spell it out.")


def unknown_family(word: str) -> Remark:
    """The family `word` is not known; names the nearest ones, or all."""
    return _unknown("unknown-family", word, families(), otherwise=_one_of(families()))


def unknown_kind(word: str) -> Remark:
    """The kind `word` is not known; names the nearest ones, or all."""
    return _unknown("unknown-kind", word, kinds(), otherwise=_one_of(kinds()))


def _unknown(code: str, word: str, terms: Terms[Any], *, otherwise: str) -> Remark:
    near = did_you_mean(terms.nearest(word), else_see=otherwise)
    return remark(code, word, kept=word, nearest=near)


def _one_of(terms: Terms[Any]) -> str:
    return f"Write one of: {', '.join(term.name for term in terms)}."


def unknown_rights(words: str) -> Remark:
    """The statement is not on the closed list; names the usual ones."""
    usual = ("cc0", "cc_by", "pdm", "inc", "cne", "und")
    return remark(
        "unknown-rights", words, kept=words, known="; ".join(rights()[term].name for term in usual)
    )
