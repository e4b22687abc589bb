"""Where Whoosh keeps the words: in plain arrays instead of its usual files.

Those files hold pickles, and whoever opens a collection that came on a stick must never run
what somebody put into a pickle. Arrays can also be read at a stretch and let go of, so that
an index can be replaced under Windows while somebody searches.

This is a codec in Whoosh's sense, for an index of one field and one segment from which nothing
is ever deleted. Documents are rows, numbered from 0 in the order of adding. Knows nothing of
records and of files.
"""

# ruff: noqa: ARG002, D102
# The methods and their arguments are Whoosh's, which documents them in whoosh.codec.base.
# mypy: disable-error-code="abstract, no-untyped-call"
# Whoosh marks as abstract what only columns, vectors and other analysers need.

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from whoosh.codec import base
from whoosh.matching.mcore import ListMatcher, Matcher
from whoosh.reading import TermInfo

_ARRAYS = ("starts", "rows", "weights", "masks", "lengths")


@dataclass(frozen=True)
class Postings:
    """Which word stands in which row.

    Attributes:
        words: (W,) the words as UTF-8, sorted.
        starts: (W + 1,) where the postings of each word begin, and where the last ones end.
        rows: (P,) row of each posting, rising within a word.
        weights: (P,) how much the word counts in that row.
        masks: (P,) bits that say in which parts of the row the word stands.
        lengths: (N,) number of words in each row.
    """

    words: list[bytes]
    starts: NDArray[np.int64]
    rows: NDArray[np.uint32]
    weights: NDArray[np.float32]
    masks: NDArray[np.uint16]
    lengths: NDArray[np.uint32]

    def saved(self) -> dict[str, NDArray[Any]]:
        """The postings as arrays alone."""
        arrays = {name: getattr(self, name) for name in _ARRAYS}
        return {"words": np.frombuffer(b"\n".join(self.words), np.uint8), **arrays}

    @classmethod
    def from_saved(cls, arrays: Mapping[str, NDArray[Any]]) -> Postings:
        """The postings that `saved` gave as arrays."""
        words = arrays["words"].tobytes()
        return cls(
            words=words.split(b"\n") if words else [],
            **{name: arrays[name] for name in _ARRAYS},
        )

    def span(self, word: bytes) -> slice:
        """Where the postings of `word` stand.

        Raises:
            KeyError: It stands in no row.
        """
        number = bisect_left(self.words, word)
        if number == len(self.words) or self.words[number] != word:
            raise KeyError(word)
        return slice(int(self.starts[number]), int(self.starts[number + 1]))


@dataclass
class _Gathering:
    """Postings that grow while Whoosh writes."""

    words: list[bytes] = field(default_factory=list)
    starts: array[int] = field(default_factory=lambda: array("q"))
    rows: array[int] = field(default_factory=lambda: array("I"))
    weights: array[float] = field(default_factory=lambda: array("f"))
    masks: bytearray = field(default_factory=bytearray)
    lengths: array[int] = field(default_factory=lambda: array("I"))

    def postings(self) -> Postings:
        return Postings(
            words=self.words,
            starts=np.array([*self.starts, len(self.rows)], dtype=np.int64),
            rows=np.array(self.rows, dtype=np.uint32),
            weights=np.array(self.weights, dtype=np.float32),
            masks=np.frombuffer(bytes(self.masks), dtype="<u2").astype(np.uint16),
            lengths=np.array(self.lengths, dtype=np.uint32),
        )


class ArrayCodec(base.Codec):
    """Writes what Whoosh is given into arrays."""

    length_stats = False  # saves asking for the length of the row at every posting

    def __init__(self) -> None:
        self._gathering = _Gathering()

    @property
    def postings(self) -> Postings:
        """All that was written."""
        return self._gathering.postings()

    def new_segment(self, storage: Any, indexname: str) -> Segment:
        return Segment(self, indexname)

    def per_document_writer(self, storage: Any, segment: Any) -> base.PerDocumentWriter:
        return _RowWriter(self._gathering)

    def field_writer(self, storage: Any, segment: Any) -> base.FieldWriter:
        return _PostingsWriter(self._gathering)


class SavedCodec(base.Codec):
    """Reads from arrays what Whoosh asks for."""

    def __init__(self, postings: Postings) -> None:
        self._postings = postings

    def terms_reader(self, storage: Any, segment: Any) -> base.TermsReader:
        return _WordReader(self._postings)

    def per_document_reader(self, storage: Any, segment: Any) -> base.PerDocumentReader:
        return _RowReader(self._postings)


class Segment(base.Segment):
    """Whoosh's handle on the one set of postings."""

    def __init__(self, codec: base.Codec, indexname: str) -> None:
        super().__init__(indexname)
        self._codec = codec
        self._rows = 0

    def codec(self) -> base.Codec:
        return self._codec

    def set_doc_count(self, rows: int) -> None:
        self._rows = rows

    def doc_count_all(self) -> int:
        return self._rows

    def deleted_count(self) -> int:
        return 0

    def should_assemble(self) -> bool:
        return False


class _RowWriter(base.PerDocumentWriter):
    is_closed = False

    def __init__(self, gathering: _Gathering) -> None:
        self._lengths = gathering.lengths

    def start_doc(self, row: int) -> None:
        self._lengths.append(0)

    def add_field(self, fieldname: str, fieldobj: Any, value: Any, length: int) -> None:
        self._lengths[-1] = length

    def close(self) -> None:
        self.is_closed = True


class _PostingsWriter(base.FieldWriter):
    is_closed = False

    def __init__(self, gathering: _Gathering) -> None:
        self._gathering = gathering

    def add_postings(
        self, schema: Any, lengths: Any, items: Iterable[tuple[str, bytes, int, float, bytes]]
    ) -> None:
        """Take over all postings, sorted by word and row."""
        gathering = self._gathering
        last = None
        for _, word, row, weight, mask in items:
            if word != last:
                gathering.words.append(word)
                gathering.starts.append(len(gathering.rows))
                last = word
            gathering.rows.append(row)
            gathering.weights.append(weight)
            gathering.masks += mask

    def close(self) -> None:
        self.is_closed = True


class _WordReader(base.TermsReader):
    def __init__(self, postings: Postings) -> None:
        self._postings = postings

    def __contains__(self, term: tuple[str, bytes]) -> bool:
        try:
            self._postings.span(term[1])
        except KeyError:
            return False
        return True

    def terms_from(self, fieldname: str, prefix: bytes) -> Iterator[tuple[str, bytes]]:
        words = self._postings.words
        return ((fieldname, words[n]) for n in range(bisect_left(words, prefix), len(words)))

    def term_info(self, fieldname: str, word: bytes) -> TermInfo:
        span = self._postings.span(word)
        weights = self._postings.weights[span]
        return TermInfo(
            weight=float(weights.sum()),
            df=span.stop - span.start,
            minlength=1,
            maxweight=float(weights.max()),
        )

    def matcher(self, fieldname: str, word: bytes, format_: Any, scorer: Any = None) -> Matcher:
        span = self._postings.span(word)
        return ListMatcher(
            self._postings.rows[span].tolist(),
            self._postings.weights[span].tolist(),
            self._postings.masks[span].tolist(),
            format_,
            scorer=scorer,
        )


class _RowReader(base.PerDocumentReader):
    def __init__(self, postings: Postings) -> None:
        self._lengths = postings.lengths.tolist()
        self._length = int(postings.lengths.sum())

    def doc_count_all(self) -> int:
        return len(self._lengths)

    def deleted_docs(self) -> tuple[int, ...]:
        return ()

    def field_length(self, fieldname: str) -> int:
        return self._length

    def doc_field_length(self, row: int, fieldname: str, default: int = 0) -> int:
        return self._lengths[row] or default
