"""How lists of numbers and words are written in the search index, as the page reads them."""

from __future__ import annotations

import base64
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise


def varints(numbers: Iterable[int]) -> bytes:
    """Numbers as little-endian groups of seven bits, the high bit set where more follow."""
    out = bytearray()
    for number in numbers:
        while number > 0x7F:
            out.append(number & 0x7F | 0x80)
            number >>= 7
        out.append(number)
    return bytes(out)


def front_coded(terms: Sequence[str]) -> str:
    r"""Sorted words, each as one sign for what it shares with the word before, and the rest.

    >>> front_coded(["picot", "picots", "pin"])
    '0picot\n5s\n2n'
    """
    lines = []
    before = ""
    for term in terms:
        shared = 0
        for mine, others in zip(term[:60], before, strict=False):
            if mine != others:
                break
            shared += 1
        lines.append(chr(48 + shared) + term[shared:])
        before = term
    return "\n".join(lines)


def record_set(records: Sequence[int], total: int) -> str:
    """A sorted set of records as base64: `b` and a bitmap, or `d` and distances."""
    distances = varints(after - before for before, after in pairwise((0, *records)))
    length = math.ceil(total / 8)
    if len(distances) < length:
        return "d" + base64.b64encode(distances).decode()
    bits = bytearray(length)
    for record in records:
        bits[record >> 3] |= 1 << (record & 7)
    return "b" + base64.b64encode(bytes(bits)).decode()


def packed(column: Sequence[int]) -> str:
    """Numbers from 0 as base64 of two little-endian bytes each, or four where one needs them."""
    size = 2 if max(column, default=0) < 1 << 16 else 4
    data = b"".join(number.to_bytes(size, "little") for number in column)
    return f"{size}{base64.b64encode(data).decode()}"
