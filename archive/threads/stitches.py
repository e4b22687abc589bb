"""What a stitch does to its four threads.

A stitch is a word of moves in order of working: C, cross, the second thread over the third;
T, twist, the second over the first and the fourth over the third; p, the pin. Threads are
numbered by where they lie, from the left, as the Encyclopédie of 1754 does, never by name.
Knows nothing of the vocabulary of techniques.
"""

from __future__ import annotations

import re
from enum import StrEnum

from archive.errors import InputError

ThreadOrder = tuple[int, int, int, int]
"""The thread now lying first, second, third, fourth, named by where it lay before."""

AS_BEFORE: ThreadOrder = (1, 2, 3, 4)

_MOST_MOVES = 10_000
_TOKEN = re.compile(r"\s*(?:(half|double)|([CTp])|(\()|(\))|\^\s*([0-9]{1,2})(?![0-9]))", re.I)


class HalfStitch(StrEnum):
    """In which order a writer works the half stitch; the double stitch is two of it.

    `CROSS_TWIST`: Dillmont's “half passing”, the Encyclopédie's “demi-point”.
    `TWIST_CROSS`: “Halbschlag” in Die Klöppelspitzen, one round of the Encyclopédie's “dresse”.
    """

    CROSS_TWIST = "CT"
    TWIST_CROSS = "TC"


def read_stitch(text: str, *, half: HalfStitch = HalfStitch.CROSS_TWIST) -> str:
    """The moves of a stitch, each written out.

    Brackets and powers are understood, and “half” and “double” as the writer means them.

    Args:
        text: For example "CTTT p", "(CT)^4", "double p double T".
        half: The writer's order of the half stitch.

    Returns:
        Letters C, T and p without spaces; "" for an empty text.

    Raises:
        InputError: If the text has anything else in it, or would be too long written out.

    >>> read_stitch("(CT)^2 p T")
    'CTCTpT'
    """
    open_groups: list[list[str]] = [[]]
    position = 0
    stripped = text.rstrip()
    while position < len(stripped):
        token = _TOKEN.match(stripped, position)
        if token is None:
            raise _not_understood(text)
        name, move, opening, closing, power = token.groups()
        if name:
            open_groups[-1].append(half * (2 if name.lower() == "double" else 1))
        elif move:
            open_groups[-1].append("p" if move in "pP" else move.upper())
        elif opening:
            open_groups.append([])
        elif closing:
            if len(open_groups) == 1:
                raise _not_understood(text)
            group = "".join(open_groups.pop())
            open_groups[-1].append(group)
        else:
            if not open_groups[-1]:
                raise _not_understood(text)
            open_groups[-1][-1] *= int(power)
            if sum(map(len, open_groups[-1])) > _MOST_MOVES:
                raise InputError(
                    f"The stitch “{text}” has more than {_MOST_MOVES} moves.",
                    "Write only one repeat of it.",
                )
        position = token.end()
    if len(open_groups) != 1:
        raise _not_understood(text)
    return "".join(open_groups[0])


def thread_order(stitch: str, *, half: HalfStitch = HalfStitch.CROSS_TWIST) -> ThreadOrder:
    """Which thread lies where after the stitch.

    Raises:
        InputError: As `read_stitch`.

    >>> thread_order("CTC")
    (3, 4, 1, 2)
    """
    order = AS_BEFORE
    for move in read_stitch(stitch, half=half):
        first, second, third, fourth = order
        if move == "C":
            order = (first, third, second, fourth)
        elif move == "T":
            order = (second, first, fourth, third)
    return order


def pairs_stay_together(stitch: str, *, half: HalfStitch = HalfStitch.CROSS_TWIST) -> bool:
    """Whether the two threads of each pair still lie side by side as a pair.

    Raises:
        InputError: As `read_stitch`.

    >>> pairs_stay_together("CTC"), pairs_stay_together("CT")
    (True, False)
    """
    order = thread_order(stitch, half=half)
    return set(order[:2]) in ({1, 2}, {3, 4})


def times_until_as_before(stitch: str, *, half: HalfStitch = HalfStitch.CROSS_TWIST) -> int:
    """How often the stitch is worked until every thread lies again where it began.

    Raises:
        InputError: As `read_stitch`.

    >>> times_until_as_before("CT")
    4
    """
    once = thread_order(stitch, half=half)
    order, times = once, 1
    while order != AS_BEFORE:
        order = (order[once[0] - 1], order[once[1] - 1], order[once[2] - 1], order[once[3] - 1])
        times += 1
    return times


def _not_understood(text: str) -> InputError:
    return InputError(
        f"“{text}” is not a stitch that can be read.",
        "Write C for cross, T for twist and p for the pin, for example “CTTT p” or “(CT)^4”.",
    )
