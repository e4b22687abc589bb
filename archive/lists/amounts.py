"""Cells that hold sizes, wraps of thread and levels of difficulty.

Lengths come out in millimetres.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from archive.lists.cells import (
    NUMBER,
    CellReader,
    Reading,
    about,
    became_date,
    left_over,
    number,
    squeezed,
    unclear_number,
)
from archive.lists.problems import remark
from archive.lists.words import any_of, millimetres_per_unit
from archive.records import Difficulty, Size
from archive.records.pattern import MOST_WRAPS_PER_CM
from archive.vocabulary import levels


def read_size(text: str, *, unit_mm: float | None = None) -> Reading[Size]:
    """Width, and length where it is given; `unit_mm` is the unit of the heading, if it has one.

    >>> read_size("2,5 cm").value.width_mm
    25.0
    >>> read_size("1 x 1½ in").value
    Size(width_mm=25.4, length_mm=38.1, repeat_mm=None)
    """
    match = _size_pattern().fullmatch(squeezed(text))
    if match is None or became_date(text):
        return Reading(None, (became_date(text) or remark("unclear-size", text, kept=text),))
    units = millimetres_per_unit()
    last_unit = units[match["unit2"]] if match["unit2"] else None
    first_unit = units[match["unit1"]] if match["unit1"] else last_unit or unit_mm
    if first_unit is None:
        return Reading(None, (remark("size-without-unit", text, kept=text),))
    width_mm = _length_mm(match["whole1"], match["part1"] or match["only1"], first_unit)
    length_mm = _length_mm(
        match["whole2"], match["part2"] or match["only2"], last_unit or first_unit
    )
    if not width_mm or (match["second"] and not length_mm):
        return Reading(None, (remark("unclear-size", text, kept=text),))
    if match["round"] or match["round_after"]:
        length_mm = width_mm
    remarks = (left_over(match["about"].strip(), of=text),) if match["about"] else ()
    return Reading(Size(width_mm=width_mm, length_mm=length_mm), remarks)


def length_reader(unit_mm: float | None) -> CellReader:
    """A reader for a column with one length, in millimetres; `unit_mm` as in `read_size`."""

    def read_length(text: str) -> Reading[float]:
        size, remarks = read_size(text, unit_mm=unit_mm)
        if size is not None and size.length_mm is not None:
            return Reading(None, (remark("two-lengths", text, kept=text),))
        return Reading(size.width_mm if size else None, remarks)

    return read_length


def _length_mm(whole: str | None, part: str | None, unit_mm: float) -> float | None:
    """A number and a fraction such as ½ or 3/4, in millimetres to a thousandth."""
    if whole is None and part is None:
        return None
    amount = number(whole) if whole else 0.0
    if amount is None:
        return None
    if part and "/" in part:
        above, below = part.split("/")
        if int(below) == 0:
            return None
        amount += int(above) / int(below)
    elif part:
        amount += unicodedata.numeric(part)
    return round(amount * unit_mm, 3)


@cache
def _size_pattern() -> re.Pattern[str]:
    unit = any_of(millimetres_per_unit())
    fraction = "[½¼¾⅓⅔⅛⅜⅝⅞]"

    def length(which: int) -> str:
        return rf"""(?: (?P<whole{which}> {NUMBER} ) (?! \d | /) (?: [ -]? (?P<part{which}>
            {fraction} | \d/\d{{1,2}} ) )? | (?P<only{which}> {fraction} | \d/\d{{1,2}} ) ) \s*
            (?: (?P<unit{which}> {unit} ) \.? )?"""

    return re.compile(
        rf"""{about()} (?: (?P<round> ø | ⌀ | dia(?:meter|m)?\.? ) \s* )? {length(1)}
        (?: \s* (?: wide | across ) )? (?P<round_after> \s* (?: dia(?:meter|m)?\.? | ø ) )?
        (?P<second> \s* (?: x | × | \* | by ) \s* {length(2)} (?: \s* long )? )?
        """,
        re.VERBOSE,
    )


def read_wraps_per_cm(text: str) -> Reading[float]:
    """A plain number of wraps, with a decimal point or comma.

    >>> read_wraps_per_cm("27,5").value
    27.5
    """
    wraps = number(text.strip()) if re.fullmatch(NUMBER, text.strip()) else None
    if wraps is None or not 0 < wraps <= MOST_WRAPS_PER_CM:
        return Reading(None, (unclear_number(text, "30"),))
    return Reading(wraps)


def read_difficulty(text: str) -> Reading[Difficulty]:
    """The level, and the words as stated.

    >>> read_difficulty("***").value
    Difficulty(stated='***', level=3)
    """
    stated = text.strip()
    level = _level(stated)
    if level is not None:
        return Reading(Difficulty(stated=stated, level=level))
    date = became_date(text)
    if date is not None:
        return Reading(None, (date,))
    return Reading(Difficulty(stated=stated), (remark("unclear-difficulty", text),))


def _level(stated: str) -> int | None:
    if match := re.fullmatch(r"([*★✱✩]{1,5})[☆✩\s]*", stated):
        return len(match[1].replace("✩", "")) or None
    if match := re.fullmatch(
        r"(?:level|grade|stufe|niveau)?\s*([1-5])(?:\s*(?:/|of|von)\s*5)?", squeezed(stated)
    ):
        return int(match[1])
    named = levels().find(stated)
    return named.level if named else None
