"""How ranges are written, and what is no range."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import UsageError
from archive.search import Range, read_range


@pytest.mark.parametrize(
    ("words", "low", "high"),
    [
        ("10-20", 10, 20),
        ("10 – 20", 10, 20),
        ("-20", None, 20),
        ("10-", 10, None),
        ("18", 18, 18),
        (" 18 ", 18, 18),
        ("2,5-3.75", 2.5, 3.75),
        ("7-7", 7, 7),
    ],
)
def test_a_range_is_read_as_people_write_it(
    words: str, low: float | None, high: float | None
) -> None:
    assert read_range(words) == Range(low, high)


@pytest.mark.parametrize("words", ["", "-", "–", "a few", "10 20", "1-2-3", "--5", "1e3", "1.2.3"])
def test_what_is_no_range_is_refused_with_an_example(words: str) -> None:
    with pytest.raises(UsageError) as refusal:
        read_range(words)
    assert f"“{words}”" in refusal.value.problem
    assert "10-20" in refusal.value.advice


def test_a_range_that_ends_below_its_beginning_is_refused() -> None:
    with pytest.raises(UsageError, match="ends below its beginning"):
        read_range("20-10")


def test_an_open_end_of_a_range_has_no_limit() -> None:
    assert Range(None, 5).ends == (-math.inf, 5)
    assert Range(5, None).ends == (5, math.inf)


@given(st.text(max_size=12))
def test_a_range_is_read_or_refused_and_nothing_else(words: str) -> None:
    try:
        low, high = read_range(words).ends
    except UsageError:
        return
    assert low <= high
    assert high >= 0
