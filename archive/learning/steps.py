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
from itertools import chain
from typing import Generic, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from archive.vocabulary import techniques

MOST_NEW = 2

_WORD = (1 << 64) - 1


class _Use(Protocol):
    """A technique that a pattern uses: “taught”, “practised” or “optional”."""

    @property
    def technique(self) -> str: ...
    @property
    def role(self) -> str: ...


class _Lesson(Protocol):
    """What is asked of a pattern: a whole record can tell it, and so can a part of one."""

    @property
    def shelfmark(self) -> str: ...
    @property
    def techniques(self) -> Sequence[_Use]: ...
    @property
    def level(self) -> int | None: ...
    @property
    def best_pairs(self) -> int | None: ...


L = TypeVar("L", bound=_Lesson)


@dataclass(frozen=True)
class Step(Generic[L]):
    """A pattern that can be tried next, and what would be new in it.

    `new` are the technique ids not yet known, `leads_on` those of them that `opened_by` names.
    """

    entry: L
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


class Stairs(Generic[L]):
    """The patterns of a collection, ready to be asked what follows after any techniques.

    The easier patterns come first, then those with fewer pairs, then by shelfmark; an unknown
    level or number of pairs comes last. Techniques marked optional are not counted.
    """

    def __init__(self, entries: Iterable[L]) -> None:
        self._entries = sorted(entries, key=_easiest_first)
        self._used = [
            _known_with(use.technique for use in entry.techniques if use.role != "optional")
            for entry in self._entries
        ]
        self._words = _as_words(self._used)
        self._everything = np.arange(len(self._entries))
        self._using: dict[str, NDArray[np.int64]] = {}
        """Rows that use a technique or build on it, as far as they were asked for."""

    def teaching(self, technique: str) -> L | None:
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
    ) -> list[Step[L]]:
        """The patterns to try after `learnt`, at most `most` of them, the best first.

        Each brings at least one and at most `most_new` new techniques; what a new technique
        needs beforehand counts as new too, whether the record names it or not. Patterns come
        in the order of `opened_by`, then those with fewer new techniques first.
        """
        known = _known_with([*learnt, *also_known])
        opened = _in_order(learnt, known, most_new)
        found: dict[int, None] = {}
        # One technique after the other, since the first few mostly tell enough patterns.
        for rows in chain(map(self._rows_using, opened), [self._everything]):
            if most is not None and len(found) >= most:
                break
            enough = most and most + len(found)
            found |= dict.fromkeys(self._within_reach(rows, known, most_new)[:enough].tolist())
        leading_on = _bits(opened)
        return [
            Step(self._entries[row], _ids(new), _ids(new & leading_on))
            for row in list(found)[:most]
            for new in [self._used[row] & ~known]
        ]

    def _rows_using(self, technique: str) -> NDArray[np.int64]:
        if technique not in self._using:
            bit = _as_words([_bits([technique])])
            self._using[technique] = np.flatnonzero((self._words & bit).any(axis=1))
        return self._using[technique]

    def _within_reach(
        self, rows: NDArray[np.int64], known: int, most_new: int
    ) -> NDArray[np.int64]:
        """Those of the rows that bring something new but not too much, the least new first."""
        new = self._words[rows] & ~_as_words([known])
        count = np.bitwise_count(new[:, 0]) + np.bitwise_count(new[:, 1])
        within = (count >= 1) & (count <= most_new)
        rows, count = rows[within], count[within]
        return rows[np.argsort(count, kind="stable")]


def _easiest_first(entry: _Lesson) -> tuple[float, float, str]:
    level, pairs = entry.level, entry.best_pairs
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


@dataclass(frozen=True)
class _Rung:
    """What is asked of a technique again and again: sets as bits, and its families."""

    id: str
    own: int
    with_foundations: int
    needs: int
    prerequisites: int
    families: frozenset[str]


@cache
def _rungs() -> tuple[_Rung, ...]:
    """Every technique, in vocabulary order."""
    return tuple(
        _Rung(
            term.id,
            _bits([term.id]),
            _with_foundations(term.id),
            _needs()[term.id],
            _bits(term.prerequisites),
            frozenset(term.families),
        )
        for term in techniques()
    )


def _in_order(learnt: Sequence[str], known: int, most_new: int) -> tuple[str, ...]:
    just = _bits(learnt)
    their_families = {family for technique in learnt for family in techniques()[technique].families}
    direct, others = [], []
    for rung in _rungs():
        if known & rung.own:
            continue
        further = (rung.with_foundations & ~known).bit_count()
        of_their_lace = (
            "all" in their_families
            or "all" in rung.families
            or not their_families.isdisjoint(rung.families)
        )
        if further > most_new or not of_their_lace:
            continue
        if rung.needs & just:
            direct.append((further, rung.id))
        elif not rung.prerequisites & ~known:
            others.append((-rung.with_foundations.bit_count(), rung.id))
    # Sorting keeps the vocabulary's order among equals.
    return tuple(
        technique
        for tier in (direct, others)
        for _, technique in sorted(tier, key=lambda ranked: ranked[0])
    )


def _bits(technique_ids: Iterable[str]) -> int:
    bits = 0
    for technique in technique_ids:
        bits |= 1 << _place()[technique]
    return bits


@cache
def _ids(bits: int) -> tuple[str, ...]:
    names = tuple(_place())
    found = []
    while bits:
        lowest = bits & -bits
        found.append(names[lowest.bit_length() - 1])
        bits ^= lowest
    return tuple(found)


def _as_words(sets: Sequence[int]) -> NDArray[np.uint64]:
    """(n, 2) of 64 bits each, of n sets of up to 128 techniques."""
    words = [(bits & _WORD, bits >> 64) for bits in sets]
    return np.array(words, dtype=np.uint64).reshape(-1, 2)
