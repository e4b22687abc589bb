"""How lists of numbers and words are written in the search index, as the page reads them.

Bytes travel as base64, since a script holds text. Sets of records are written in the shorter
of two ways; so are the postings of a word.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.signedinteger[Any]]
"""Of 64 bits or of 32, which take half the memory."""

_GROUP_BITS = 7
_WEIGHT_BITS = 3
_LONGEST_SHARED = 60
"""What one sign can say of the letters shared with the word before; written as `0` and upwards."""


def varints(numbers: Numbers) -> bytes:
    """Numbers as little-endian groups of seven bits, the high bit set where more follow.

    Source: Protocol Buffers, Encoding, base 128 varints.
    """
    lengths = varint_lengths(numbers)
    ends = np.cumsum(lengths, dtype=np.int64)
    out = np.zeros(int(ends[-1]) if len(ends) else 0, dtype=np.uint8)
    for group in range(int(lengths.max(initial=0))):
        has = lengths > group
        more = (lengths[has] > group + 1).astype(numbers.dtype) << _GROUP_BITS
        bits = numbers[has] >> (_GROUP_BITS * group) & 0x7F
        out[ends[has] - lengths[has] + group] = bits | more
    return out.tobytes()


def varint_lengths(numbers: Numbers) -> NDArray[np.int8]:
    """How many bytes each number takes in `varints`."""
    lengths = np.ones(len(numbers), dtype=np.int8)
    rest = numbers >> _GROUP_BITS
    while rest.any():
        lengths += rest > 0
        rest = rest >> _GROUP_BITS
    return lengths


def distances(sorted_numbers: Numbers) -> Numbers:
    """What each number adds to the one before it, the first to nothing."""
    return np.diff(sorted_numbers, prepend=sorted_numbers.dtype.type(0))


def front_coded(terms: Sequence[str]) -> str:
    r"""Sorted words, each as one sign for what it shares with the word before, and the rest.

    >>> front_coded(["picot", "picots", "pin"])
    '0picot\n5s\n2n'
    """
    lines = []
    before = ""
    for term in terms:
        shared = 0
        for mine, others in zip(term[:_LONGEST_SHARED], before, strict=False):
            if mine != others:
                break
            shared += 1
        lines.append(chr(48 + shared) + term[shared:])
        before = term
    return "\n".join(lines)


def record_set(records: Numbers, total: int) -> str:
    """A sorted set of records as base64: `b` and a bitmap, or `d` and distances."""
    apart = varints(distances(records))
    if len(apart) < -(-total // 8):
        return "d" + _base64(apart)
    return "b" + _base64(_bitmap(records, total))


def weighted_sets(records: Numbers, weights: Numbers, starts: Numbers, total: int) -> Iterator[str]:
    """Sorted records with a weight from 0 to 7 each, as base64, for each word.

    Args:
        records: the records of all words, one word behind the other.
        weights: as many weights.
        starts: where each word begins; behind the last one the end.
        total: how many records there are in all.

    Yields:
        varints of (distance << 3 | weight); or, where that is shorter, `!`, the commonest
        weight, a bitmap, `!`, and such varints for the records of another weight.
    """
    apart = distances(records)
    begins = starts[:-1]
    apart[begins] = records[begins]
    steps = apart << _WEIGHT_BITS | weights
    data = varints(steps)
    ends = np.cumsum(varint_lengths(steps), dtype=np.int64)
    bounds = np.concatenate(([0], ends))[starts].tolist()
    places = starts.tolist()
    for word, (first, behind) in enumerate(pairwise(bounds)):
        thin = data[first:behind]
        if behind - first > total // 8:
            own = slice(places[word], places[word + 1])
            dense = _dense(records[own], weights[own], total)
            if len(dense) < 4 * len(thin) / 3:
                yield dense
                continue
        yield _base64(thin)


def _dense(records: Numbers, weights: Numbers, total: int) -> str:
    usual = int(np.bincount(weights).argmax())
    other = weights != usual
    apart = varints(distances(records[other]) << _WEIGHT_BITS | weights[other])
    return f"!{usual}{_base64(_bitmap(records, total))}!{_base64(apart)}"


def _bitmap(records: Numbers, total: int) -> bytes:
    bits = np.zeros(total, dtype=bool)
    bits[records] = True
    return np.packbits(bits, bitorder="little").tobytes()


def packed(column: Sequence[int]) -> list[object]:
    """Numbers from 0 as [the numbers there are, bits for each, base64].

    Each is written as its place among the numbers there are, in as few bits as that needs,
    the lowest bit first.
    """
    known, places = np.unique(np.array(column, dtype=np.int64), return_inverse=True)
    width = max(1, int(len(known) - 1).bit_length()) if len(known) else 1
    bits = (places[:, None] >> np.arange(width)) & 1
    data = np.packbits(bits.astype(bool).ravel(), bitorder="little").tobytes()
    return [known.tolist(), width, _base64(data)]


def _base64(data: bytes) -> str:
    return base64.b64encode(data).decode()
