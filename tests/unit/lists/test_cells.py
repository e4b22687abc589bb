"""What holds for cells of every kind with a number in them."""

import pytest

from archive.lists.amounts import read_difficulty, read_size, read_wraps_per_cm
from archive.lists.pairs import read_gimps, read_pair_number, read_pairs


@pytest.mark.parametrize("words", ["12-Oct", "Oct-12", "10. Dez", "2024-10-12 00:00:00"])
def test_a_number_that_became_a_date_is_never_read_back(words: str) -> None:
    for read in (read_pairs, read_gimps, read_size, read_difficulty):
        value, remarks = read(words)
        assert value is None
        assert [(about.code, about.kept) for about in remarks] == [("became-a-date", words)]


def test_plain_numbers_have_limits() -> None:
    assert (read_pair_number("6").value, read_wraps_per_cm("27,5").value) == (6, 27.5)
    for read in (read_pair_number, read_wraps_per_cm):
        for words in ("some", "5001", "-1", "9" * 400):
            value, remarks = read(words)
            assert value is None
            assert [(about.code, about.kept) for about in remarks] == [("unclear-number", words)]
