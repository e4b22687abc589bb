"""Cells that hold amounts: pairs, gimps, sizes and levels of difficulty.

Lengths come out in millimetres. What is approximate or a range says so in the record.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from typing import NamedTuple

from archive.lists.cells import (
    NUMBER,
    CellReader,
    Reading,
    became_date,
    left_over,
    number,
    squeezed,
)
from archive.lists.problems import Remark, remark
from archive.lists.words import alternatives, any_of, millimetres_per_unit, plain, words_for
from archive.records import Difficulty, Gimps, PairCount, Size
from archive.vocabulary import levels

MOST_PAIRS = 5000
MOST_WRAPS_PER_CM = 500
"""As in the records; more is a slip of the pen."""

_NOTHING_LEFT = " ,;.:+&()"


class PairsCell(NamedTuple):
    """What a cell about pairs says: the pairs, and the gimps where it names them."""

    pairs: PairCount
    gimps: Gimps | None = None


class GimpsCell(NamedTuple):
    """What a cell about gimps says; `used` where it says no more than that there is one."""

    gimps: Gimps | None
    used: bool = False


def read_pairs(text: str) -> Reading[PairsCell]:
    """Pairs as people write them, with gimps and the corner.

    A range such as 18-20 counts as about 20, because so many must be wound; the words stay.

    >>> read_pairs("18 + 2 gimps").value.gimps.singles
    2
    >>> read_pairs("24 (+6 corner)").value.pairs.corner_extra
    6
    """
    return _read_pairs(text, in_bobbins=False)


def read_bobbins(text: str) -> Reading[PairsCell]:
    """As `read_pairs`, for a column whose bare numbers count bobbins.

    >>> read_bobbins("36").value.pairs
    PairCount(start=None, most=18, corner_extra=None, about=False, words='36 bobbins')
    """
    return _read_pairs(text, in_bobbins=True)


def _read_pairs(text: str, *, in_bobbins: bool) -> Reading[PairsCell]:
    words = squeezed(text)
    match = _pairs_pattern().match(words)
    unclear = became_date(text) or remark("unclear-pairs", text, kept=text)
    if match is None or became_date(text):
        return Reading(None, (unclear,))
    gimps, rest, doubts = _gimps_in(words[match.end() :], text)
    corner_extra, rest = _corner_in(rest)
    if any(mark.isdigit() for mark in rest):
        return Reading(None, (unclear,))
    if rest.strip(_NOTHING_LEFT):
        doubts = (*doubts, left_over(rest.strip(_NOTHING_LEFT), of=text))
    start = match["start"] or match["start_first"]
    named = {"start": start, "low": match["low"], "most": match["most"]}
    amounts = {name: int(amount) for name, amount in named.items() if amount}
    said = text.strip() if match["about"] or match["query"] or len(amounts) > 1 else ""
    if match["bobbins"] or (in_bobbins and not match["pairs"]):
        if any(amount % 2 for amount in amounts.values()):
            return Reading(None, (remark("odd-bobbins", text, kept=text),))
        amounts = {name: amount // 2 for name, amount in amounts.items()}
        said = text.strip() + ("" if match["bobbins"] else " bobbins")
    if list(amounts.values()) != sorted(amounts.values()) or amounts["most"] > MOST_PAIRS:
        return Reading(None, (unclear,))
    pairs = PairCount(
        start=amounts.get("start"),
        most=amounts["most"],
        corner_extra=corner_extra,
        about=bool(match["about"] or match["query"] or match["low"]),
        words=said,
    )
    return Reading(PairsCell(pairs, gimps), doubts)


def read_pair_number(text: str) -> Reading[int]:
    """A plain number of pairs.

    >>> read_pair_number("6").value
    6
    """
    words = text.strip()
    if words.isdecimal() and len(words) <= len(str(MOST_PAIRS)) and int(words) <= MOST_PAIRS:
        return Reading(int(words))
    return Reading(None, (_unclear_number(text, "6"),))


def read_wraps_per_cm(text: str) -> Reading[float]:
    """A plain number of wraps, with a decimal point or comma.

    >>> read_wraps_per_cm("27,5").value
    27.5
    """
    wraps = number(text.strip()) if re.fullmatch(NUMBER, text.strip()) else None
    if wraps is None or not 0 < wraps <= MOST_WRAPS_PER_CM:
        return Reading(None, (_unclear_number(text, "30"),))
    return Reading(wraps)


def _unclear_number(text: str, example: str) -> Remark:
    return became_date(text) or remark("unclear-number", text, kept=text, example=example)


def read_gimps(text: str) -> Reading[GimpsCell]:
    """Gimps, as single threads or pairs.

    >>> read_gimps("1 pair + 1 single").value.gimps
    Gimps(singles=1, pairs=1)
    """
    words = squeezed(text)
    if plain(text) in words_for("none") or plain(text) in words_for("no"):
        return Reading(GimpsCell(Gimps()))
    if not words.isdecimal() and plain(text) in words_for("yes"):
        return Reading(GimpsCell(None, used=True))
    singles = pairs = 0
    rest = words
    while (match := _some_gimps().match(rest)) is not None:
        if match["pairs"]:
            pairs += int(match["amount"])
        else:
            singles += int(match["amount"])
        rest = rest[match.end() :]
    if rest == words or became_date(text):
        unclear = became_date(text) or remark("unclear-gimps", text, kept=text)
        return Reading(None, (unclear,))
    left = rest.strip(_NOTHING_LEFT)
    return Reading(
        GimpsCell(Gimps(singles=singles, pairs=pairs)),
        (left_over(left, of=text),) if left else (),
    )


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


def _gimps_in(rest: str, text: str) -> tuple[Gimps | None, str, tuple[Remark, ...]]:
    """The gimps named in the rest of a cell about pairs, and what is left without them."""
    match = _gimps_beside_pairs().search(rest)
    if match is None:
        return None, rest, ()
    left = f"{rest[: match.start()]} {rest[match.end() :]}"
    if match["without"]:
        return Gimps(), left, ()
    amount = match["amount"]
    if amount is None:
        return None, left, (remark("unclear-gimps", match[0].strip(_NOTHING_LEFT), kept=text),)
    count = int(amount) if amount.isdecimal() else 1
    if match["pairs"] or match["pairs_after"]:
        return Gimps(pairs=count), left, ()
    return Gimps(singles=count), left, ()


def _corner_in(rest: str) -> tuple[int | None, str]:
    """The pairs more for a corner, and what is left without them."""
    match = _corner_beside_pairs().search(rest)
    if match is None:
        return None, rest
    return int(match["amount"]), f"{rest[: match.start()]} {rest[match.end() :]}"


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
def _about() -> str:
    return rf"(?P<about>(?:{alternatives('about')})\.?\s*)?"


@cache
def _pairs_pattern() -> re.Pattern[str]:
    pairs, bobbins = alternatives("pair_words"), alternatives("bobbin_words")
    return re.compile(
        rf"""{_about()}
        (?: (?: start (?: s | ing )? \s (?: with \s )? )?
            (?P<start> \d{{1,4}} ) \s* (?: (?:{pairs}) \s )?
            (?: at \s the \s start | to \s start (?: \s with )? | start
              | rising \s to | growing \s to | -> | → )
            [,;]? \s* (?: then \s )? (?: at \s most \s | most \s | max\.? \s | up \s to \s )?
          | start \s (?P<start_first> \d{{1,4}} ) [,;] \s* (?: at \s )? (?: most | max\.? ) \s
          | (?P<low> \d{{1,4}} ) \s* (?: - | – | — | to \s | bis \s | a \s | tot \s ) \s* )?
        (?P<most> \d{{1,4}} ) (?: \s? (?P<query> \? ) )?
        (?: \s* (?P<pairs> {pairs} ) (?!\w) \.? | \s* (?P<bobbins> {bobbins} ) (?!\w) )?
        (?: \s (?: at \s most | max (?:imum)? \.? | in \s all ) )?
        (?! [\d/x×] | [.,]\d )
        """,
        re.VERBOSE,
    )


@cache
def _some_gimps() -> re.Pattern[str]:
    return re.compile(
        rf"""[\s+,;&]* (?:and\s)? (?P<amount> \d{{1,2}} ) (?!\d) \s*
        (?: (?P<pairs> (?:{alternatives("pair_words")}) (?!\w) ) | singles? (?!\w) )? \.?
        (?: \s* (?:of\s)? (?:{alternatives("gimp_words")}) (?!\w) )?
        """,
        re.VERBOSE,
    )


@cache
def _gimps_beside_pairs() -> re.Pattern[str]:
    pair = r"(?:pairs?|prs?)"
    return re.compile(
        rf"""(?: [+,;(&] | \b(?:and|plus|with|und|et|en)\b )? \s*
        (?: (?P<without> {alternatives("without")} ) \s
          | (?P<amount> \d{{1,2}} | an? | one | ein | un | een ) \s* )?
        (?P<pairs> {pair} \s (?: of \s )? )? (?: single \s )?
        (?<!\w) (?: {alternatives("gimp_words")} ) (?!\w) (?P<pairs_after> \s {pair} (?!\w) )? \)?
        """,
        re.VERBOSE,
    )


@cache
def _corner_beside_pairs() -> re.Pattern[str]:
    return re.compile(
        rf"""[+(,;]* \s* (?: plus \s )? \+? \s* (?P<amount> \d{{1,3}} ) \s*
        (?: (?:{alternatives("pair_words")}) (?!\w) \s* )? (?: (?:extra|more) \s* )?
        (?: {alternatives("corner_words")} ) (?!\w) \s* \)?
        """,
        re.VERBOSE,
    )


@cache
def _size_pattern() -> re.Pattern[str]:
    unit = any_of(millimetres_per_unit())
    fraction = "[½¼¾⅓⅔⅛⅜⅝⅞]"

    def length(which: int) -> str:
        return rf"""(?: (?P<whole{which}> {NUMBER} ) (?! \d | /) (?: [ -]? (?P<part{which}>
            {fraction} | \d/\d{{1,2}} ) )? | (?P<only{which}> {fraction} | \d/\d{{1,2}} ) ) \s*
            (?: (?P<unit{which}> {unit} ) \.? )?"""

    return re.compile(
        rf"""{_about()} (?: (?P<round> ø | ⌀ | dia(?:meter|m)?\.? ) \s* )? {length(1)}
        (?: \s* (?: wide | across ) )? (?P<round_after> \s* (?: dia(?:meter|m)?\.? | ø ) )?
        (?P<second> \s* (?: x | × | \* | by ) \s* {length(2)} (?: \s* long )? )?
        """,
        re.VERBOSE,
    )
