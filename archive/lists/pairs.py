"""Cells that hold pairs, bobbins and gimps, which people write into one another's columns.

What is approximate or a range says so in the record.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from archive.lists.cells import Reading, about, became_date, left_over, squeezed, unclear_number
from archive.lists.problems import Remark, remark
from archive.lists.words import alternatives, plain, words_for
from archive.records import Gimps, PairCount
from archive.records.pattern import MOST_PAIRS

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
    date = became_date(text)
    unclear: Reading[PairsCell] = Reading(None, (date or remark("unclear-pairs", text, kept=text),))
    words = squeezed(text)
    match = _pairs_pattern().match(words)
    if match is None or date:
        return unclear
    gimps, rest, doubts = _gimps_in(words[match.end() :], text)
    corner_extra, rest = _corner_in(rest)
    left = rest.strip(_NOTHING_LEFT)
    if any(mark.isdigit() for mark in left):
        return unclear
    if left:
        doubts = (*doubts, left_over(left, of=text))
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
        return unclear
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
    return Reading(None, (unclear_number(text, "6"),))


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


@cache
def _pairs_pattern() -> re.Pattern[str]:
    pairs, bobbins = alternatives("pair_words"), alternatives("bobbin_words")
    return re.compile(
        rf"""{about()}
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
