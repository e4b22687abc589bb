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

    `new` are the technique ids not yet known, `leads_on` those of them that `opened_by` names.
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


def opened_by(
    learnt: Sequence[str], *, also_known: Iterable[str] = (), most_new: int = MOST_NEW
) -> tuple[str, ...]:
    """The techniques that can be begun after those just learnt.

    Each belongs to a family of what was learnt, is not known yet, and is within reach: with
    all it needs, at most `most_new` techniques are new. What builds directly on something just
    learnt comes first, the simplest before the others; then the rest, what builds on the most
    before the others.
    """
    return _in_order(learnt, _known_with([*learnt, *also_known]), most_new)


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

    def teaching(self, technique: str) -> Entry | None:
        """The easiest pattern that teaches a technique; None where no pattern does."""
        return next(
            (
                entry
                for entry in self._entries
                for use in entry.techniques
                if use.technique == technique and use.role == "taught"
            ),
            None,
        )

    def after(
        self,
        learnt: Sequence[str],
        *,
        also_known: Iterable[str] = (),
        most_new: int = MOST_NEW,
        most: int | None = None,
    ) -> list[Step]:
        """The patterns to try after `learnt`, at most `most` of them, the best first.

        Each brings at least one and at most `most_new` new techniques; what a new technique
        needs beforehand counts as new too, whether the record names it or not. Patterns come
        in the order of `opened_by`, then those with fewer new techniques first.
        """
        known = _known_with([*learnt, *also_known])
        opened = _in_order(learnt, known, most_new)
        new = self._used & ~_as_words([known])
        count = np.bitwise_count(new).sum(axis=1, dtype=np.int64)
        within = np.flatnonzero((count >= 1) & (count <= most_new))
        turn = np.full(len(within), len(opened))
        for place in reversed(range(len(opened))):
            bit = _as_words([_bits([opened[place]])])
            turn[np.asarray((new[within] & bit).any(axis=1))] = place
        order = np.lexsort((within, count[within], turn))
        return [
            Step(self._entries[row], _ids(bits), _ids(bits & _bits(opened)))
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
    return {
        term.id: _bits(before for before in (*term.prerequisites, term.broader) if before)
        for term in techniques()
    }


@cache
def _with_foundations(technique: str) -> int:
    """The bits of a technique and of everything below it."""
    bits = _bits([technique])
    for before in _ids(_needs()[technique]):
        bits |= _with_foundations(before)
    return bits


@cache
def _known_to_everyone() -> int:
    return _bits(term.id for term in techniques() if not term.prerequisites)


def _known_with(learnt: Iterable[str]) -> int:
    bits = _known_to_everyone()
    for technique in learnt:
        bits |= _with_foundations(technique)
    return bits


def _in_order(learnt: Sequence[str], known: int, most_new: int) -> tuple[str, ...]:
    just = _bits(learnt)
    their_families = {family for technique in learnt for family in techniques()[technique].families}
    direct, others = [], []
    for term in techniques():
        further = (_with_foundations(term.id) & ~known).bit_count()
        of_their_lace = "all" in their_families | {*term.families} or not (
            their_families.isdisjoint(term.families)
        )
        if known & _bits([term.id]) or not of_their_lace or further > most_new:
            continue
        if _needs()[term.id] & just:
            direct.append((further, term.id))
        elif not _bits(term.prerequisites) & ~known:
            others.append((-_with_foundations(term.id).bit_count(), term.id))
    place = _place()
    return tuple(
        technique
        for tier in (direct, others)
        for _, technique in sorted(tier, key=lambda ranked: (ranked[0], place[ranked[1]]))
    )


def _bits(technique_ids: Iterable[str]) -> int:
    bits = 0
    for technique in technique_ids:
        bits |= 1 << _place()[technique]
    return bits


def _ids(bits: int) -> tuple[str, ...]:
    return tuple(technique for technique, place in _place().items() if bits >> place & 1)


def _as_words(sets: Sequence[int]) -> NDArray[np.uint64]:
    """(n, 2) of 64 bits each, of n sets of up to 128 techniques."""
    words = [(bits & _WORD, bits >> 64) for bits in sets]
    return np.array(words, dtype=np.uint64).reshape(-1, 2)


def _as_number(words: NDArray[np.uint64]) -> int:
    return int(words[0]) | int(words[1]) << 64
