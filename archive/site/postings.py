"""Which words stand in which records, and how much each counts there.

Words are folded here as the search page folds what is typed. Knows nothing of files.
"""

from __future__ import annotations

import re
import unicodedata
from array import array
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from archive.records import Entry
from archive.site.index_coding import Numbers
from archive.vocabulary import families, kinds, rights, techniques
from archive.wording import fold

WEIGHTS = {
    "notes": 1, "corrections": 1, "rest": 2, "rights": 2, "threads": 3, "source": 3,
    "designer": 5, "families": 5, "kind": 5, "other titles": 5, "techniques": 6,
    "shelfmark": 7, "title": 7,
}  # fmt: skip
"""How much a word counts by where it stands, from little to much; chosen by looking at answers."""

_WORD = re.compile(r"[^\W_]+")
_WEIGHT_BITS, _RECORD_BITS = 3, 31


def words_of(text: str) -> list[str]:
    """The folded words of a text, without marks that the page drops as well."""
    if text.isascii():  # most texts, and much faster
        return _WORD.findall(text.lower().replace("'", "").replace("`", ""))
    folded = fold(text)
    folded = "".join(mark for mark in folded if not unicodedata.category(mark).startswith("M"))
    return _WORD.findall(folded)


class Words(NamedTuple):
    """The words of a record with spaces between, and their weights: little to hold."""

    words: str
    weights: bytes


def weighted_words(entry: Entry) -> Words:
    """The words of a record, each with the weight of its best place."""
    weights: dict[str, int] = {}
    for place, words in _places(entry):
        weights.update(dict.fromkeys(words, WEIGHTS[place]))
    return Words(" ".join(weights), bytes(weights.values()))


def _places(entry: Entry) -> Iterator[tuple[str, Sequence[str]]]:
    """Where words stand, in the order of `WEIGHTS`."""
    yield "notes", words_of("\n".join(note.text for note in entry.working_notes))
    yield (
        "corrections",
        words_of("\n".join(f"{found.fault}\n{found.remedy}" for found in entry.corrections)),
    )
    yield "rest", words_of(f"{entry.period}\n{entry.material}\n{entry.difficulty.stated}")
    own = entry.rights
    for right in (own.design, own.working_up, own.pricking, own.photograph):
        if right is not None:
            yield "rights", words_of(f"{rights()[right.statement].name}\n{right.holder}")
    yield (
        "threads",
        words_of("\n".join(f"{thread.label}\n{thread.fibre or ''}" for thread in entry.threads)),
    )
    yield "source", words_of(entry.source.title)
    yield "designer", words_of(entry.designer.name)
    for family in entry.families:
        yield "families", _family_words(family)
    if entry.kind:
        yield "kind", words_of(kinds()[entry.kind].name)
    for title in entry.other_titles:
        yield "other titles", words_of(title)
    for use in entry.techniques:
        yield "techniques", _technique_words(use.technique)
    yield "shelfmark", words_of(entry.shelfmark)
    yield "title", words_of(entry.title)


@cache
def _family_words(family: str) -> tuple[str, ...]:
    return tuple(
        word
        for above in families().with_broader(family)
        for word in words_of(families()[above].name)
    )


@cache
def _technique_words(technique: str) -> tuple[str, ...]:
    term = techniques()[technique]
    return tuple(word for name in (term.name, *term.also) for word in words_of(name))


@dataclass(frozen=True)
class Postings:
    """The words of all records, sorted by word and then by record.

    Attributes:
        terms: every word, sorted.
        term: for each posting the place of its word, int32.
        record: the record, by its place on the shelf, int32.
        weight: from 1 to 7, uint8.
    """

    terms: list[str] = field(default_factory=list)
    term: NDArray[np.int32] = field(default_factory=lambda: np.empty(0, np.int32))
    record: NDArray[np.int32] = field(default_factory=lambda: np.empty(0, np.int32))
    weight: NDArray[np.uint8] = field(default_factory=lambda: np.empty(0, np.uint8))

    @property
    def starts(self) -> Numbers:
        """Where the postings of each word begin; behind the last one the end."""
        return np.searchsorted(self.term, np.arange(len(self.terms) + 1))


def updated(before: Postings, moved: NDArray[np.int32], fresh: Mapping[int, Words]) -> Postings:
    """The postings of a collection in which some records are new, gone or elsewhere.

    Args:
        before: the postings of the collection as it was.
        moved: for each record as it was, its place now; -1 where it is gone.
        fresh: the words of the records that were not there, by their place now.
    """
    places = {term: place for place, term in enumerate(before.terms)}
    terms = array("i")
    for told in fresh.values():
        terms.extend([places.setdefault(word, len(places)) for word in told.words.split()])
    weights = b"".join([told.weights for told in fresh.values()])
    lengths = [len(told.weights) for told in fresh.values()]
    stays = moved[before.record] >= 0 if len(before.record) else np.empty(0, bool)
    term = np.concatenate((before.term[stays], np.frombuffer(terms, np.int32)))
    record = np.concatenate(
        (moved[before.record[stays]], np.repeat(np.array(list(fresh), np.int32), lengths))
    )
    weight = np.concatenate((before.weight[stays], np.frombuffer(weights, np.uint8)))
    used = np.bincount(term, minlength=len(places)) > 0
    ordered = sorted(word for word, place in places.items() if used[place])
    rank = np.empty(len(places), np.int64)
    rank[[places[word] for word in ordered]] = np.arange(len(ordered))
    postings = rank[term]  # all three in one number, which is sorted where it lies
    postings <<= _RECORD_BITS
    postings |= record
    postings <<= _WEIGHT_BITS
    postings |= weight
    postings.sort()
    weight = (postings & ~(-1 << _WEIGHT_BITS)).astype(np.uint8)
    postings >>= _WEIGHT_BITS
    record = (postings & ~(-1 << _RECORD_BITS)).astype(np.int32)
    postings >>= _RECORD_BITS
    return Postings(ordered, postings.astype(np.int32), record, weight)
