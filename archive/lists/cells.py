"""What a cell was read as, and the ways of writing that many cells share: numbers and dates.

A cell reader is a function from the words of a cell to a `Reading`. It never fails: what it
cannot understand is a remark, and the words are in the remark's `kept` unless the value keeps
them itself.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable
from functools import cache
from typing import Any, Generic, NamedTuple, TypeVar

from archive.lists.problems import Remark, remark
from archive.lists.words import alternatives, any_of, month_name, month_numbers, plain, words_for

T = TypeVar("T")


class Reading(NamedTuple, Generic[T]):
    """What a cell says: its value, None where nothing was understood, and remarks."""

    value: T | None
    remarks: tuple[Remark, ...] = ()


CellReader = Callable[[str], Reading[Any]]

NUMBER = r"\d+(?:[.,]\d+)?"
EXAMPLE_DATE = "12 May 2021"
_THOUSANDS = re.compile(r"[.,]\d{3}$")
_SPACES = re.compile(r"\s+")


def squeezed(text: str) -> str:
    r"""`text` in small letters, without accents, with single spaces; dashes and signs stay.

    >>> squeezed(" 18  Pairs\n+ 2 Konturfäden ")
    '18 pairs + 2 konturfaden'
    """
    decomposed = unicodedata.normalize("NFD", text.casefold())
    bare = "".join(mark for mark in decomposed if not unicodedata.combining(mark))
    return _SPACES.sub(" ", bare).strip()


def number(words: str) -> float | None:
    """The number with a decimal point or comma; None if it might be thousands instead.

    >>> number("2,5"), number("1,250")
    (2.5, None)
    """
    if _THOUSANDS.search(words):
        return None
    return float(words.replace(",", "."))


def left_over(words: str, *, of: str) -> Remark:
    """The remark for words beside the part of a cell that was understood; keeps all of it."""
    return remark("words-left-over", words, kept=of, words=of)


def read_yes_no(text: str) -> Reading[bool]:
    """Yes or no in the words of a list.

    >>> read_yes_no("Ja").value, read_yes_no("ohne Ecke").value
    (True, False)
    """
    words = plain(text)
    if words in words_for("yes"):
        return Reading(True)
    if words in words_for("no"):
        return Reading(False)
    return Reading(None, (remark("unclear-yes-no", text, kept=text),))


def read_date(text: str) -> Reading[dt.date]:
    """One day of the calendar, where it is certain which.

    12/05/2021 may be in May or in December: it is not guessed.

    >>> read_date("12. Mai 2021").value
    datetime.date(2021, 5, 12)
    >>> read_date("12/05/2021").value is None
    True
    """
    day = find_date(text)
    if day is None:
        return Reading(None, (remark("unclear-date", text, kept=text, example=EXAMPLE_DATE),))
    return Reading(day)


def find_date(text: str) -> dt.date | None:
    """The day that all of `text` names; None if it names none for certain."""
    words = plain(text).replace(",", "")
    for pattern in _date_patterns():
        match = pattern.fullmatch(words)
        if match is not None:
            parts = match.groupdict()
            if "first" in parts:
                return _numeric_date(int(parts["first"]), int(parts["second"]), int(parts["y"]))
            month = month_numbers().get(parts["m"]) or int(parts["m"])
            return _calendar_day(int(parts["y"]), month, int(parts["d"]))
    return None


def _numeric_date(first: int, second: int, year: int) -> dt.date | None:
    """Day and month in either order, where only one order is possible."""
    if first == second or first > 12:
        return _calendar_day(year, second, first)
    return _calendar_day(year, first, second) if second > 12 else None


def _calendar_day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


@cache
def _date_patterns() -> tuple[re.Pattern[str], ...]:
    """They match plain text, in which dashes and strokes have become spaces."""
    month = any_of(month_numbers())
    day = r"(?P<d>\d{1,2})(?:st|nd|rd|th|er)?"
    return (
        re.compile(r"(?P<y>\d{4}) (?P<m>\d{1,2}) (?P<d>\d{1,2})(?:[ t]\d\d:\d\d(?::\d\d)?)?"),
        re.compile(rf"{day} (?P<m>{month}) (?P<y>\d{{4}})"),
        re.compile(rf"(?P<m>{month}) {day} (?P<y>\d{{4}})"),
        re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})"),
        re.compile(r"(?P<first>\d{1,2}) (?P<second>\d{1,2}) (?P<y>\d{4})"),
    )


def in_words(day: dt.date) -> str:
    """The day as people write it.

    >>> in_words(dt.date(2024, 10, 12))
    '12 October 2024'
    """
    return f"{day.day} {month_name(day.month)} {day.year}"


def maybe_typed(day: dt.date) -> str:
    """The sentence on what may have been typed before a spreadsheet made this day of it."""
    return f"It may have been “{day.day}-{day.month}” or “{day.month}-{day.day}”. "


def date_in_spreadsheet(day: dt.date) -> Remark:
    """The remark for a cell that the spreadsheet holds as a date where none can be meant."""
    words = in_words(day)
    return remark("became-a-date", words, kept=words, maybe=maybe_typed(day))


def became_date(text: str) -> Remark | None:
    """The remark for words such as “12-Oct” or a full date, where a number should stand."""
    if not _spreadsheet_date().fullmatch(plain(text)) and find_date(text) is None:
        return None
    return remark("became-a-date", text, kept=text, maybe="")


@cache
def _spreadsheet_date() -> re.Pattern[str]:
    month = any_of(month_numbers())
    return re.compile(rf"\d{{1,4}} ?(?:{month})(?: \d{{2,4}})?|(?:{month}) ?\d{{1,4}}")


def unclear_number(text: str, example: str) -> Remark:
    """The remark for a cell that holds no plain number, such as the example."""
    return became_date(text) or remark("unclear-number", text, kept=text, example=example)


@cache
def about() -> str:
    """A pattern for the word that makes a number approximate, if there is one."""
    return rf"(?P<about>(?:{alternatives('about')})\.?\s*)?"
