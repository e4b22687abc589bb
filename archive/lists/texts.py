"""Cells in sentences: who drew it and where it is printed, rights, relations, notes, corrections.

Such cells are taken apart only where they say themselves how: by a number, a label or a date.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Literal, NamedTuple, cast

from archive.lists.cells import EXAMPLE_DATE, CellReader, Reading, find_date
from archive.lists.problems import remark, unknown_rights
from archive.lists.words import any_of, meanings, plain, words_for
from archive.records import Correction, Designer, Relation, Right, WorkingNote
from archive.records.pattern import LONGEST_SHELFMARK
from archive.vocabulary import rights

About = Literal["start", "order", "easily wrong", "tip"]
COMPANION = "companion"

_PARTS = re.compile(r"\s*[;\n]\s*")
_LINES = re.compile(r"\s*\n\s*")
_STEP = re.compile(r"(?:^|(?<=[.;:!)]\s))(\d{1,2})[.)]\s+(?=\S)")
_LABEL = re.compile(r"([^\W\d][^:;]{0,30}?)\s*:\s*")
_BRACKETS = re.compile(r"(.*?)\s*[\[(]([^()\[\]]*)[\])]\s*")
_DATE_FIRST = re.compile(r"([^:]{4,24}?)\s*:\s*(.+)", re.DOTALL)
_DATE_LAST = re.compile(r"(.+?)\s*\(([^()]{4,24})\)\.?", re.DOTALL)
_LIKE_A_DATE = re.compile(
    r"(?:[^\W\d]+\.?\s+)?(?:1[5-9]|20)\d\d(?:[-/.]\d{1,2})?|\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}"
)
_NEXT_CORRECTION = re.compile(r"\s*\n\s*|\s*;\s*(?=[^:;\n]{4,24}:)")
_PAGE = re.compile(
    r"[,;(]?\s*\b(?:pp?|pages?|pgs?|S|Seiten?|blz|bl)\b\.?\s*(\d+(?:\s*[-–]\s*\d+)?)\)?",
    re.IGNORECASE,
)
_ISSUE = re.compile(
    r"[,;(]?\s*(?:\b(?:no|nr|issue|number|Heft|numéro)\b\.?|n°|№|\#)\s*(\d+(?:/\d+)?)\)?",
    re.IGNORECASE,
)
_EDITION = re.compile(
    r"[,;(]?\s*\b(\d+(?:st|nd|rd|th|\.|e|ème)?\s*(?:ed(?:ition|n)?\b\.?|Auflage\b|Aufl\b\.?|éd\b\.?|druk\b))\)?",
    re.IGNORECASE,
)
_SEPARATORS = " ,;:-–—"


def read_designer(text: str) -> Reading[Designer]:
    """Who drew it. A name with a question mark is no name but a hint.

    >>> read_designer("trad. (Bucks)").value
    Designer(status='traditional', name='', evidence='Bucks')
    >>> read_designer("R. Q.?").value
    Designer(status='unknown', name='', evidence='R. Q.?')
    """
    words = text.strip()
    name, evidence = words, ""
    if (match := _BRACKETS.fullmatch(words)) and match[1]:
        name, evidence = match[1], match[2]
    said = meanings("designers").get(plain(name))
    if said == "traditional":
        return Reading(Designer(status="traditional", evidence=evidence))
    if said == "unknown":
        return Reading(Designer(evidence=evidence))
    if name.endswith("?"):
        return Reading(Designer(evidence=words))
    return Reading(Designer(status="named", name=name, evidence=evidence))


def read_source(text: str) -> Reading[dict[str, str]]:
    """Title, edition, issue and page of what it was printed in.

    >>> read_source("Lace for Long Evenings, 2nd ed., p. 34").value
    {'edition': '2nd ed.', 'page': '34', 'title': 'Lace for Long Evenings'}
    """
    rest = text.strip()
    found = {}
    for name, pattern in (("edition", _EDITION), ("page", _PAGE), ("issue", _ISSUE)):
        match = pattern.search(rest)
        if match:
            found[name] = match[1].strip()
            rest = rest[: match.start()] + rest[match.end() :]
    title = rest.strip(_SEPARATORS)
    return Reading(found | {"title": title} if title else found)


def read_right(text: str) -> Reading[Right]:
    """A statement of the list of rights, with its holder, basis and letter where it names them.

    >>> read_right("CC BY; holder: the guild").value.holder
    'the guild'
    >>> read_right("© 1998 R. Q.").value
    Right(statement='inc', holder='R. Q.', basis='© 1998 R. Q.', permission_letter='')
    """
    words = text.strip()
    if (match := _copyright_sign().match(words)) and rights().find(words) is None:
        holder = _YEARS_AT_END.sub("", words[match.end() :]).strip(_SPACES_AND_COMMAS)
        return Reading(Right(statement="inc", holder=holder, basis=words))
    first, *others = [part for part in _PARTS.split(words) if part]
    if match := _BRACKETS.fullmatch(first):
        first, others = match[1], [match[2], *others]
    statement = rights().find(first)
    if statement is None and "," in first:
        first, more = re.split(r"\s*,\s*", first, maxsplit=1)
        statement, others = rights().find(first), [more, *others]
    if statement is None:
        return Reading(None, (unknown_rights(text),))
    details: dict[str, list[str]] = {"holder": [], "basis": [], "permission_letter": []}
    for words in others:
        name, value = _right_detail(words)
        details[name].append(value)
    return Reading(
        Right(statement=statement.id, **{name: "; ".join(said) for name, said in details.items()})
    )


def _right_detail(words: str) -> tuple[str, str]:
    for name, section in _RIGHT_DETAILS.items():
        match = re.match(rf"(?:{any_of(words_for(section))})\b\.?\s*:?\s+", words, re.IGNORECASE)
        if match:
            return name, words[match.end() :]
    match = _copyright_sign().match(words)
    return ("holder", words[match.end() :].strip(_SPACES_AND_COMMAS)) if match else ("basis", words)


_RIGHT_DETAILS = {
    "holder": "holder_words",
    "permission_letter": "letter_words",
    "basis": "basis_words",
}
_SPACES_AND_COMMAS = " ,"
_YEARS_AT_END = re.compile(r"[\s,]+\d{4}(?:\s*[-–]\s*\d{4})?\.?$")


@cache
def _copyright_sign() -> re.Pattern[str]:
    return re.compile(
        r"(?:©|\(c\)|copyright)\s*(?:(?:©|\(c\))\s*)?(?:\d{4}(?:\s*[-–]\s*\d{4})?)?", re.IGNORECASE
    )


class NamedRelation(NamedTuple):
    """A relation as a list names it: `kind` may be `COMPANION`, still to be settled."""

    kind: str
    shelfmark: str


def read_relations(text: str) -> Reading[tuple[NamedRelation, ...]]:
    """How the pattern stands to others.

    >>> read_relations("corner for P-12; redraft of X 3").value[1]
    NamedRelation(kind='redraft of', shelfmark='X 3')
    """
    found = []
    remarks = []
    for part in _PARTS.split(text.strip()):
        match = _relation().match(part)
        kind = meanings("relations")[plain(match["words"])] if match else "see also"
        marks = part[match.end() :] if match else part
        for mark in re.split(r"\s*,\s*|\s+(?:and|und|et|en|&)\s+", marks):
            shelfmark = mark.strip(" .")
            if _like_a_shelfmark(shelfmark):
                found.append(NamedRelation(kind, shelfmark))
            elif shelfmark and plain(part) not in words_for("none"):
                remarks.append(remark("unclear-relation", part, kept=part))
    return Reading(tuple(found), tuple(dict.fromkeys(remarks)))


def _like_a_shelfmark(words: str) -> bool:
    has_number = any(sign.isdigit() for sign in words)
    return has_number and len(words) <= LONGEST_SHELFMARK and words.isprintable()


@cache
def _relation() -> re.Pattern[str]:
    words = any_of(meanings("relations")).replace(r"\ ", r"[\s-]+")
    return re.compile(rf"(?P<words>{words})(?!\w)\.?\s*:?\s+(?=\S)", re.IGNORECASE)


def settle_relation(
    named: NamedRelation, kinds_by_shelfmark: Mapping[str, str | None]
) -> Relation | None:
    """The relation; a bare companion by the kind of the other pattern, None if that is open."""
    kind = named.kind
    if kind == COMPANION:
        other = kinds_by_shelfmark.get(named.shelfmark)
        if other == "insertion":
            kind = "companion insertion"
        elif other in ("edging", "corner_edging"):
            kind = "companion edging"
        else:
            return None
    return Relation.model_validate({"kind": kind, "shelfmark": named.shelfmark})


def working_notes_reader(about: About) -> CellReader:
    """A reader for notes to the maker that are about `about` unless a label says otherwise."""

    def read_working_notes(text: str) -> Reading[tuple[WorkingNote, ...]]:
        notes = []
        for step in _steps(text):
            its_about, words = about, step
            match = _LABEL.match(step)
            labelled = meanings("notes").get(plain(match[1])) if match else None
            if match and labelled:
                its_about, words = cast(About, labelled), step[match.end() :]
            if words:
                notes.append(WorkingNote(about=its_about, text=words))
        return Reading(tuple(notes))

    return read_working_notes


def _steps(text: str) -> Iterator[str]:
    """Lines, and within a line what is numbered on; a number that counts no steps stays."""
    steps_so_far = 0
    for line in _LINES.split(text.strip()):
        cuts: list[re.Match[str]] = []
        for match in _STEP.finditer(line):
            if int(match[1]) == steps_so_far + len(cuts) + 1:
                cuts.append(match)
        if not cuts or (len(cuts) == 1 and cuts[0].start() > 0):
            yield line
            continue
        steps_so_far += len(cuts)
        starts = [cut.start() for cut in cuts]
        if line[: starts[0]].strip():
            yield line[: starts[0]].strip()
        for cut, end in zip(cuts, [*starts[1:], len(line)], strict=True):
            yield line[cut.end() : end].strip(" ;")


def read_corrections(text: str) -> Reading[tuple[Correction, ...]]:
    """What is wrong on the sheet, with the day it was found and the remedy behind an arrow.

    >>> read_corrections("12 May 2021: a hole is missing -> prick it").value[0].remedy
    'prick it'
    """
    corrections = []
    remarks = []
    for words in _NEXT_CORRECTION.split(text.strip()):
        if not words or plain(words) in words_for("none"):
            continue
        date, said, unclear_date = _dated(words)
        fault, *remedy = _remedy().split(said, maxsplit=1)
        corrections.append(Correction(fault=fault, remedy="".join(remedy), date=date))
        if unclear_date:
            remarks.append(remark("unclear-date", unclear_date, example=EXAMPLE_DATE))
    return Reading(tuple(corrections), tuple(remarks))


def _dated(words: str) -> tuple[dt.date | None, str, str]:
    """The day named before or behind the words, the words, and a date that names no day."""
    for pattern, when, what in ((_DATE_FIRST, 1, 2), (_DATE_LAST, 2, 1)):
        match = pattern.fullmatch(words)
        if match is None:
            continue
        date = find_date(match[when])
        if date is not None:
            return date, match[what], ""
        if _LIKE_A_DATE.fullmatch(match[when]):
            return None, words, match[when]
    return None, words, ""


@cache
def _remedy() -> re.Pattern[str]:
    labels = any_of(words_for("remedy_words"))
    return re.compile(rf"\s*(?:->|→|=>)\s*|[.;,]\s*(?:{labels})\s*:\s*", re.IGNORECASE)


def read_condition(text: str) -> Reading[dict[str, object]]:
    """The state, and the day it was checked where the cell ends in it.

    >>> read_condition("good, checked 12 May 2021").value
    {'state': 'good', 'checked': datetime.date(2021, 5, 12)}
    """
    words = text.strip()
    match = _checked().fullmatch(words)
    date = find_date(match["date"]) if match else None
    if match is None or date is None:
        return Reading({"state": words})
    found: dict[str, object] = {"checked": date}
    return Reading(
        {"state": match["state"].strip(_SEPARATORS), **found} if match["state"] else found
    )


@cache
def _checked() -> re.Pattern[str]:
    return re.compile(
        rf"(?P<state>.*?)[\s,;(]*\b(?:{any_of(words_for('checked_words'))})\s*:?\s*(?:on\s|am\s|le\s)?"
        r"(?P<date>[^()]{6,24}?)\)?\.?",
        re.IGNORECASE | re.DOTALL,
    )
