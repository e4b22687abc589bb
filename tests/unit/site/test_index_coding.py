from __future__ import annotations

import base64

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from archive.site.index_coding import front_coded, packed, record_set, varints, weighted_sets


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
    assert _numbers(varints(np.array(numbers, np.int64))) == numbers


def test_one_byte_holds_127_and_two_hold_128() -> None:
    # Source: Protocol Buffers, Encoding: base 128 varints; its example is 150 = 96 01.
    assert varints(np.array([127])) == b"\x7f"
    assert varints(np.array([150])) == b"\x96\x01"


@given(st.sets(st.integers(0, 3000)))
def test_a_set_of_records_comes_back_whichever_way_is_shorter(records: set[int]) -> None:
    assert _records(record_set(np.array(sorted(records), np.int64), 3001)) == sorted(records)


def test_a_full_set_is_a_bitmap_and_a_thin_one_is_distances() -> None:
    assert record_set(np.arange(800), 800)[0] == "b"
    assert record_set(np.array([5, 700]), 800)[0] == "d"


@given(st.lists(st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=80), unique=True))
def test_words_come_back_from_front_coding(words: list[str]) -> None:
    words = sorted(word for word in words if word and "\n" not in word)
    before, found = "", []
    for line in front_coded(words).split("\n") if words else []:
        before = before[: ord(line[0]) - 48] + line[1:]
        found.append(before)
    assert found == words


@given(st.lists(st.integers(0, 2**20), max_size=50))
def test_a_column_comes_back_from_as_few_bits_as_it_needs(column: list[int]) -> None:
    known, width, coded = packed(column)
    bits = int.from_bytes(base64.b64decode(str(coded)), "little")
    mask = (1 << int(str(width))) - 1
    places = [bits >> (int(str(width)) * place) & mask for place in range(len(column))]
    assert isinstance(known, list)
    assert [known[place] for place in places] == column


def _weighted(coded: str) -> dict[int, int]:
    if coded[0] != "!":
        found, record = {}, 0
        for number in _numbers(base64.b64decode(coded)):
            record += number >> 3
            found[record] = number & 7
        return found
    dense, rest = coded[2:].split("!")
    found = dict.fromkeys(_records("b" + dense), int(coded[1]))
    record = 0
    for number in _numbers(base64.b64decode(rest)):
        record += number >> 3
        found[record] = number & 7
    return found


_POSTINGS = st.lists(
    st.dictionaries(st.integers(0, 200), st.integers(1, 7), min_size=1), min_size=1, max_size=6
)


@given(_POSTINGS)
def test_the_records_and_weights_of_words_come_back(words: list[dict[int, int]]) -> None:
    records = np.array([record for word in words for record in sorted(word)], np.int64)
    weights = np.array([word[record] for word in words for record in sorted(word)], np.int64)
    starts = np.cumsum([0, *(len(word) for word in words)])
    assert [_weighted(one) for one in weighted_sets(records, weights, starts, 201)] == words


def test_a_word_in_most_records_is_written_as_a_bitmap() -> None:
    all_of_them = np.arange(800)
    (coded,) = weighted_sets(all_of_them, np.full(800, 3), np.array([0, 800]), 800)
    assert coded.startswith("!3")
    assert len(coded) < 800 / 5
