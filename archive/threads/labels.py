"""Thread labels as people write them, taken apart without guessing.

“80/2 linen”, “NeL 80/2”, “12 tex x 2”, “No. 40 cotton”: what the label says is read, what it
leaves open stays open and is named as a doubt. The numbering system is only taken where it
stands there; 60/2 is a thread of 19.7, 33.3 or 55.1 tex, depending on it. Knows the words of
`schema/vocabulary/thread_systems.yaml`; knows nothing of patterns or records.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from typing import NamedTuple

from archive.threads.numbering import (
    NumberingSystem,
    fibres,
    get_system,
    linear_density_tex,
    plain,
    systems,
)
from archive.threads.tokens import Token, cut_up, words_beside

MOST_PLIES_BY_STROKE = 12
"""A higher number behind the stroke is taken for something else. Common practice, no source."""

HIGHEST_BARE_NUMBER = 999
"""A higher number without system and plies is a year or an article. Common practice, no source."""


class Doubt(StrEnum):
    """What a label leaves open; the value is a code, `advice` says how to mend it."""

    NO_NUMBER = "thread-without-number"
    NUMBERS_UNCLEAR = "thread-numbers-unclear"
    ORDER_UNCLEAR = "thread-order-unclear"
    NOT_A_COUNT = "thread-number-is-no-count"
    NO_SYSTEM = "thread-without-system"
    NO_PLIES = "thread-without-plies"
    SYSTEM_AND_FIBRE_DISAGREE = "thread-system-and-fibre-disagree"

    @property
    def advice(self) -> str:
        """One sentence for the person who can mend the label."""
        return _ADVICE[self]


_ADVICE = {
    Doubt.NO_NUMBER: "Add the thread's number, for example “80/2 NeL”.",
    Doubt.NUMBERS_UNCLEAR: "Keep one thread to a label, with one number, for example “80/2 NeL”.",
    Doubt.ORDER_UNCLEAR: (
        "Write the number of the single thread first, then the plies, for example “60/2 Nm”, "
        "or “12 tex x 2”."
    ),
    Doubt.NOT_A_COUNT: (
        "Add the plies and the numbering system if you know them; a maker's number alone does "
        "not say how thick the thread is."
    ),
    Doubt.NO_SYSTEM: (
        "Add the numbering system, for example “80/2 NeL” for linen or “80/2 Ne” for cotton."
    ),
    Doubt.NO_PLIES: "Add the plies, for example “Nm 60/2”, or “Nm 60/1” for a single thread.",
    Doubt.SYSTEM_AND_FIBRE_DISAGREE: (
        "Check the numbering system: this one is not the usual one for this fibre."
    ),
}


@dataclass(frozen=True)
class ThreadLabel:
    """What a label says, and what it leaves open.

    Attributes:
        label: The label as printed.
        system: Id of the numbering system, only where the label states it.
        count: Number of the single thread, where it is known to be one.
        plies: How many singles are twisted together.
        fibre: Id of the fibre.
        number: A number that is no count: a maker's or ticket number as in “cotton 50”.
        wraps_per_cm: Wraps per cm, where the label states them.
        candidates: Ids of systems that may be meant where none is known, likeliest first.
        rest: The words that were not understood, as they stand.
        doubt: What is left open, the first thing to mend; None if nothing is.
    """

    label: str
    system: str | None = None
    count: float | None = None
    plies: int | None = None
    fibre: str | None = None
    number: int | None = None
    wraps_per_cm: float | None = None
    candidates: tuple[str, ...] = ()
    rest: str = ""
    doubt: Doubt | None = None

    @property
    def linear_density_tex(self) -> float | None:
        """Linear density in tex of the whole thread; None where the label leaves it open.

        A weight without plies is that of the whole thread; a count without plies is open.
        """
        if self.system is None or self.count is None:
            return None
        if self.plies is None and get_system(self.system).kind == "indirect":
            return None
        return linear_density_tex(self.count, self.plies or 1, self.system)


@lru_cache(maxsize=16_384)
def read_label(text: str) -> ThreadLabel:
    """The label taken apart; never fails, what is not understood is in `rest` and `doubt`.

    >>> read_label("Nm 80/2").linear_density_tex
    25.0
    >>> read_label("80/2 linen").candidates
    ('NeL', 'Nm')
    """
    tokens = cut_up(text)
    of_kind: defaultdict[str, list[Token]] = defaultdict(list)
    for token in tokens:
        of_kind[token.kind].append(token)
    fibres_named = {_fibre_of_word()[plain(token.text)] for token in of_kind["F"]}
    fibre = fibres_named.pop() if len(fibres_named) == 1 else None
    wraps = _only_value(of_kind["C"])
    plies = _only_value(of_kind["P"])
    plies_in_words = None if plies is None else int(plies)
    group, doubt = _find_group([token for token in tokens if token.kind in "SRD/x-W"])
    if doubt is None:
        number = _read_group(group, plies_in_words, fibre)
    else:
        number = _Number(plies=plies_in_words, doubt=doubt)

    read: list[Token] = []
    if fibre is not None:
        read += of_kind["F"]
    if wraps is not None:
        read += of_kind["C"]
    if number.single is not None or number.no_count is not None:
        read += [*group, *of_kind["N"]]
    elif number.system is not None:
        read += [token for token in group if token.kind == "S"]
    if plies_in_words is not None and number.plies == plies_in_words:
        read += of_kind["P"]
    return ThreadLabel(
        label=text,
        system=number.system,
        count=number.single,
        plies=number.plies,
        fibre=fibre,
        number=number.no_count,
        wraps_per_cm=wraps,
        candidates=number.candidates,
        rest=words_beside(text, read),
        doubt=number.doubt,
    )


def _only_value(tokens: list[Token]) -> float | None:
    """The number of the only token; None where there is none, or more than one."""
    return tokens[0].value if len(tokens) == 1 else None


class _Number(NamedTuple):
    """What the figures of a label say; `single` is the count of the single thread."""

    system: str | None = None
    single: float | None = None
    plies: int | None = None
    no_count: int | None = None
    candidates: tuple[str, ...] = ()
    doubt: Doubt | None = None


_RANGE = r"S?D(?:[/x]D)*(?:-D(?:[/x]D)*)+S?"
_ONE_THREAD = r"R?SR?D(?:[/x]D)*|R?DS(?:[/x]D)*|R?D(?:[/x]D)*S?"
_GROUP = re.compile(f"(?P<range>{_RANGE})|{_ONE_THREAD}")


def _find_group(sequence: list[Token]) -> tuple[list[Token], Doubt | None]:
    """The tokens of the one thread number in the label, or why there is none.

    A number with a system counts for more than one with plies, that for more than a bare one.
    """
    matches = list(_GROUP.finditer("".join([token.kind for token in sequence])))
    if not matches:
        return [], Doubt.NO_NUMBER
    ranks = [("S" in match[0], len(match[0]) > 1) for match in matches]
    best = [match for match, rank in zip(matches, ranks, strict=True) if rank == max(ranks)]
    if len(best) > 1 or best[0]["range"]:
        return [], Doubt.NUMBERS_UNCLEAR
    return sequence[best[0].start() : best[0].end()], None


def _read_group(group: list[Token], plies_in_words: int | None, fibre: str | None) -> _Number:
    """Number, plies and system, as far as they are beyond doubt."""
    values = [token.value for token in group if token.kind == "D"]
    kinds = "".join([token.kind for token in group])
    stated = next((get_system(token.text) for token in group if token.kind == "S"), None)
    system = stated.id if stated else None
    unclear = _Number(system=system, doubt=Doubt.NUMBERS_UNCLEAR)
    if len(values) > 2 or not all(values) or not (stated or _all_whole(values)):
        return unclear
    count, *rest = values
    if rest and (plies_in_words is not None or not _all_whole(rest)):
        return unclear
    said = rest[0] if rest else plies_in_words
    plies = None if said is None else int(said)
    if not rest and stated is None:
        if count > HIGHEST_BARE_NUMBER:
            return unclear
        return _Number(no_count=int(count), plies=plies, doubt=Doubt.NOT_A_COUNT)
    if rest and _is_order_unclear(kinds, count, rest[0], stated):
        return _Number(system=system, doubt=Doubt.ORDER_UNCLEAR)
    if "R" in kinds and plies is not None:
        count /= plies

    if stated is None:
        return _Number(None, count, plies, None, _usual_systems(fibre), Doubt.NO_SYSTEM)
    if fibre and stated.fibres and fibre not in stated.fibres:
        candidates = tuple(dict.fromkeys((*_usual_systems(fibre), stated.id)))
        return _Number(None, count, plies, None, candidates, Doubt.SYSTEM_AND_FIBRE_DISAGREE)
    if plies is None and not _is_direct(stated):
        return _Number(system, count, doubt=Doubt.NO_PLIES)
    return _Number(system, count, plies)


def _is_order_unclear(
    kinds: str, count: float, plies: float, stated: NumberingSystem | None
) -> bool:
    """Whether the second number may be something else than plies of the first."""
    by_stroke = "/" in kinds
    unit_marks_the_single = "DSx" in kinds
    may_mean_filaments = by_stroke and _is_direct(stated) and "R" not in kinds
    return (
        (plies > count and not unit_marks_the_single)
        or (by_stroke and plies > MOST_PLIES_BY_STROKE)
        or may_mean_filaments
    )


@cache
def _usual_systems(fibre: str | None) -> tuple[str, ...]:
    """Ids of the systems that n/p may be meant in, those made for the fibre first."""
    return tuple(
        system.id
        for system in sorted(systems(), key=lambda system: not system.fibres)
        if system.kind == "indirect"
        and (fibre is None or not system.fibres or fibre in system.fibres)
    )


def _is_direct(system: NumberingSystem | None) -> bool:
    return system is not None and system.kind == "direct"


@cache
def _fibre_of_word() -> dict[str, str]:
    return {plain(word): fibre.id for fibre in fibres() for word in fibre.words}


def _all_whole(values: list[float]) -> bool:
    return all(value.is_integer() for value in values)
