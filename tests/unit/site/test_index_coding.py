from __future__ import annotations

import base64

from hypothesis import given
from hypothesis import strategies as st

from archive.site.index_coding import front_coded, packed, record_set, varints


def _numbers(data: bytes) -> list[int]:
    found, number, shift = [], 0, 0
    for byte in data:
        number |= (byte & 127) << shift
        shift += 7
        if not byte & 128:
            found.append(number)
            number = shift = 0
    return found


def _records(coded: str) -> list[int]:
    data = base64.b64decode(coded[1:])
    if coded[0] == "b":
        return [place for place in range(8 * len(data)) if data[place >> 3] >> (place & 7) & 1]
    records, at = [], 0
    for distance in _numbers(data):
        at += distance
        records.append(at)
    return records


@given(st.lists(st.integers(0, 2**31 - 1)))
def test_numbers_come_back_from_their_seven_bit_groups(numbers: list[int]) -> None:
    assert _numbers(varints(numbers)) == numbers


def test_one_byte_holds_127_and_two_hold_128() -> None:
    # Source: Protocol Buffers, Encoding: base 128 varints; its example is 150 = 96 01.
    assert varints([127]) == b"\x7f"
    assert varints([150]) == b"\x96\x01"


@given(st.sets(st.integers(0, 3000)))
def test_a_set_of_records_comes_back_whichever_way_is_shorter(records: set[int]) -> None:
    assert _records(record_set(sorted(records), 3001)) == sorted(records)


def test_a_full_set_is_a_bitmap_and_a_thin_one_is_distances() -> None:
    assert record_set(range(800), 800)[0] == "b"
    assert record_set([5, 700], 800)[0] == "d"


@given(st.lists(st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=80), unique=True))
def test_words_come_back_from_front_coding(words: list[str]) -> None:
    words = sorted(word for word in words if word and "\n" not in word)
    before, found = "", []
    for line in front_coded(words).split("\n") if words else []:
        before = before[: ord(line[0]) - 48] + line[1:]
        found.append(before)
    assert found == words


@given(st.lists(st.integers(0, 2**20), max_size=50))
def test_a_column_comes_back_two_or_four_bytes_wide(column: list[int]) -> None:
    coded = packed(column)
    size, data = int(coded[0]), base64.b64decode(coded[1:])
    back = [int.from_bytes(data[at : at + size], "little") for at in range(0, len(data), size)]
    assert back == column
