"""Finds the rows in which a word stands, in which parts of them, and how well it fits.

Whoosh sorts words into postings, finds them again and weighs them by BM25F. Knows parts of
records by number only.
"""

# mypy: disable-error-code="abstract, no-untyped-call"
# Whoosh has types for a part of itself only, and marks as abstract what we need not have.

from __future__ import annotations

from collections.abc import Generator, Iterable, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from whoosh.fields import FieldType, Schema
from whoosh.filedb.filestore import RamStorage
from whoosh.formats import Existence
from whoosh.index import FileIndex
from whoosh.reading import SegmentReader
from whoosh.scoring import BM25F
from whoosh.searching import Searcher

from archive.search.postings import ArrayCodec, Postings, SavedCodec, Segment

PartWords = Sequence[tuple[float, Iterable[str]]]
"""For each part of a record how much a word in it counts, and its words."""

_FIELD = "words"
_SCORE_OF_BEGINNING = 0.1
"""What a word counts that merely begins as asked. Common practice, no source: the least."""

_MB_SORTED_AT_ONCE = 1024
"""Enough for some 45,000 records of 80 words. Sorting 10,000 in runs took three times as long."""


class _Words(FieldType):
    """A field that takes its words ready-made."""

    format = Existence()
    scorable = True

    def __init__(self) -> None:
        """Takes none of Whoosh's options, which are for fields that are given text."""

    def index(
        self, value: PartWords, **_: Any
    ) -> Generator[tuple[bytes, int, float, bytes], None, None]:
        """The (word, 1, weight, mask) of every word, each word once."""
        weights: dict[str, float] = {}
        masks: dict[str, int] = {}
        for part, (weight, words) in enumerate(value):
            for word in words:
                weights[word] = weights.get(word, 0) + weight
                masks[word] = masks.get(word, 0) | 1 << part
        for word, weight in weights.items():
            yield _encoded(word), 1, weight, _encoded_mask(masks[word])


# Millions of postings hold few words and few masks: each is kept once.
@lru_cache(maxsize=65536)
def _encoded(word: str) -> bytes:
    return word.encode()


@lru_cache(maxsize=65536)
def _encoded_mask(mask: int) -> bytes:
    return mask.to_bytes(2, "little")


_SCHEMA = Schema(**{_FIELD: _Words()})


def sort_words(rows: Iterable[PartWords]) -> Postings:
    """The postings of all rows, in their order."""
    codec = ArrayCodec()
    index = FileIndex.create(RamStorage(), _SCHEMA)
    writer = index.writer(codec=codec, limitmb=_MB_SORTED_AT_ONCE)
    for row in rows:
        writer.add_document(**{_FIELD: row})
    writer.commit()
    return codec.postings


class Matches(NamedTuple):
    """Where a word stands.

    Attributes:
        scores: (N,) how well each row fits; 0 where the word does not stand.
        masks: (N,) bits of the parts in which it stands; 0 where it does not.
    """

    scores: NDArray[np.float32]
    masks: NDArray[np.uint16]


class WordIndex:
    """Sorted words that can be searched."""

    def __init__(self, postings: Postings) -> None:
        self._postings = postings
        segment = Segment(SavedCodec(postings), _FIELD)
        self._reader = SegmentReader(RamStorage(), _SCHEMA, segment)
        self._searcher = Searcher(self._reader, weighting=BM25F())

    def words(self) -> list[str]:
        """All words, sorted."""
        return [word.decode() for word in self._postings.words]

    def find(self, forms: Iterable[str], *, beginning: str | None = None) -> Matches:
        """Where one of the `forms` of a word stands, or a word with that `beginning`.

        A word that merely begins so counts little towards the fit, whatever part it stands in.
        """
        scores: dict[int, float] = {}
        masks: dict[int, int] = {}
        exact = {form.encode() for form in forms}
        for word in sorted(exact):
            if (_FIELD, word) in self._reader:
                matcher = self._searcher.postings(_FIELD, word)
                while matcher.is_active():
                    row = matcher.id()
                    scores[row] = scores.get(row, 0) + matcher.score()
                    masks[row] = masks.get(row, 0) | matcher.value()
                    matcher.next()
        if beginning is not None:
            for word in self._reader.expand_prefix(_FIELD, beginning):
                if word not in exact:
                    for row, mask in self._reader.postings(_FIELD, word).all_items():
                        scores.setdefault(row, _SCORE_OF_BEGINNING)
                        masks[row] = masks.get(row, 0) | mask
        return self._matches(scores, masks)

    def _matches(self, scores: dict[int, float], masks: dict[int, int]) -> Matches:
        rows = len(self._postings.lengths)
        found = Matches(np.zeros(rows, np.float32), np.zeros(rows, np.uint16))
        found.scores[list(scores)] = list(scores.values())
        found.masks[list(masks)] = list(masks.values())
        return found
