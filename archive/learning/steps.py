"""From what a lacemaker knows to the patterns that add only a little to it.

Works on the vocabulary's prerequisites and on records alone; reads and writes nothing.
Common practice, no source: a lesson adds one or two techniques and leans on those before it.

Sets of techniques are whole numbers with one bit for each technique, in vocabulary order:
a union is `|`, what is new is `used & ~known`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from archive.records import Entry
from archive.vocabulary import techniques

MOST_NEW = 2

_WORD = (1 << 64) - 1


@dataclass(frozen=True)
class Step:
    """A pattern that can be tried next, and what would be new in it.

    `new` are the technique ids not yet known, `leads_on` those of them that build directly
    on what was just learnt.
    """

    entry: Entry
    new: tuple[str, ...]
    leads_on: tuple[str, ...]


def foundations(known: Iterable[str]) -> frozenset[str]:
    """Everything a person who knows these techniques knows: they and all they build on.

    Whoever knows a narrower technique knows the broader one; what needs nothing before it
    (a pin, a footside, a pillow) counts as known to everyone.
    """
    return frozenset(_ids(_known_with(known)))


def opened_by(learnt: Iterable[str], *, most_new: int = MOST_NEW) -> tuple[str, ...]:
    """The techniques that build directly on one just learnt and are within reach.

    Within reach means that, with all they need, at most `most_new` techniques are new.
    In vocabulary order.
    """
    just = list(learnt)
    return _ids(_opened(just, _known_with(just), most_new))


class Stairs:
    """The patterns of a collection, ready to be asked what follows after any techniques.

    The easier patterns come first, then those with fewer pairs, then by shelfmark; an unknown
    level or number of pairs comes last. Techniques marked optional are not counted.
    """

    def __init__(self, entries: Iterable[Entry]) -> None:
        self._entries = sorted(entries, key=_easiest_first)
        self._used = _as_words(
            [
                _known_with(use.technique for use in entry.techniques if use.role != "optional")
                for entry in self._entries
            ]
        )

    def after(
        self, learnt: Sequence[str], *, most_new: int = MOST_NEW, most: int | None = None
    ) -> list[Step]:
        """The patterns to try after `learnt`, at most `most` of them, the best first.

        Each brings at least one and at most `most_new` new techniques; what a new technique
        needs beforehand counts as new too, whether the record names it or not. Patterns whose
        new techniques build directly on what was learnt come first, then those with fewer
        new ones.
        """
        known = _known_with(learnt)
        opened = _opened(learnt, known, most_new)
        new = self._used & ~_as_words([known])
        count = np.bitwise_count(new).sum(axis=1, dtype=np.int64)
        leads_on = np.asarray((new & _as_words([opened])).any(axis=1))
        within = np.flatnonzero((count >= 1) & (count <= most_new))
        order = np.lexsort((within, count[within], ~leads_on[within]))
        return [
            Step(self._entries[row], _ids(bits), _ids(bits & opened))
            for row in within[order][:most]
            for bits in [_as_number(new[row])]
        ]


def _easiest_first(entry: Entry) -> tuple[float, float, str]:
    level, pairs = entry.difficulty.level, entry.pairs.best
    return (
        float("inf") if level is None else level,
        float("inf") if pairs is None else pairs,
        entry.shelfmark,
    )


@cache
def _place() -> dict[str, int]:
    return {term.id: place for place, term in enumerate(techniques())}


@cache
def _needs() -> dict[str, int]:
    """For each technique, the bits of what it builds on directly."""
    place = _place()
    return {
        term.id: sum(
            {1 << place[before] for before in (*term.prerequisites, term.broader) if before}
        )
        for term in techniques()
    }


@cache
def _with_foundations(technique: str) -> int:
    """The bits of a technique and of everything below it."""
    bits = 1 << _place()[technique]
    for before in _ids(_needs()[technique]):
        bits |= _with_foundations(before)
    return bits


@cache
def _known_to_everyone() -> int:
    return sum(1 << _place()[term.id] for term in techniques() if not term.prerequisites)


def _known_with(learnt: Iterable[str]) -> int:
    bits = _known_to_everyone()
    for technique in learnt:
        bits |= _with_foundations(technique)
    return bits


def _opened(learnt: Iterable[str], known: int, most_new: int) -> int:
    just = sum(1 << _place()[technique] for technique in set(learnt))
    return sum(
        1 << place
        for technique, place in _place().items()
        if not known >> place & 1
        and _needs()[technique] & just
        and (_with_foundations(technique) & ~known).bit_count() <= most_new
    )


def _ids(bits: int) -> tuple[str, ...]:
    return tuple(technique for technique, place in _place().items() if bits >> place & 1)


def _as_words(sets: Sequence[int]) -> NDArray[np.uint64]:
    """(n, 2) of 64 bits each, of n sets of up to 128 techniques."""
    words = [(bits & _WORD, bits >> 64) for bits in sets]
    return np.array(words, dtype=np.uint64).reshape(-1, 2)


def _as_number(words: NDArray[np.uint64]) -> int:
    return int(words[0]) | int(words[1]) << 64
