import pytest

from archive.lists.amounts import length_reader, read_difficulty, read_size


# 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
@pytest.mark.parametrize(
    ("words", "width_mm", "length_mm"),
    [
        ("25 mm", 25, None),
        ("25mm", 25, None),
        ("2,5 cm", 25, None),
        ("2.5 cm", 25, None),
        ("1 in", 25.4, None),
        ('1"', 25.4, None),
        ("1½ in", 38.1, None),
        ("1 1/2 inches", 38.1, None),
        ("¾″", 19.05, None),
        ("25 x 40 mm", 25, 40),
        ("25 mm × 4 cm", 25, 40),
        ("Ø 120 mm", 120, 120),
        ("12 cm diameter", 120, 120),
    ],
)
def test_sizes_come_out_in_millimetres(
    words: str, width_mm: float, length_mm: float | None
) -> None:
    size, remarks = read_size(words)
    assert size is not None
    assert (size.width_mm, size.length_mm, remarks) == (width_mm, length_mm, ())


@pytest.mark.parametrize("words", ["20-25 mm", "1,250 mm", "0 mm", "wide", "25 x mm", "1/0 in"])
def test_sizes_are_never_guessed(words: str) -> None:
    size, remarks = read_size(words)
    assert size is None
    assert [(about.code, about.kept) for about in remarks] == [("unclear-size", words)]


def test_a_number_without_a_unit_needs_one_in_the_heading() -> None:
    assert read_size("25").remarks[0].code == "size-without-unit"
    assert length_reader(10)("2,5").value == 25
    assert length_reader(10)("30 mm").value == 30


def test_a_length_takes_one_number_only() -> None:
    assert length_reader(1)("25 x 40").remarks[0].code == "two-lengths"


def test_an_approximate_size_keeps_its_words() -> None:
    size, remarks = read_size("c. 25 mm")
    assert size is not None
    assert (size.width_mm, remarks[0].kept) == (25, "c. 25 mm")


@pytest.mark.parametrize(
    ("words", "level"),
    [
        ("1", 1),
        ("3/5", 3),
        ("***", 3),
        ("★★☆☆☆", 2),
        ("easy", 2),
        ("Beginners", 1),
        ("intermediate", 3),
        ("level 4", 4),
        ("very hard", 5),
    ],
)
def test_difficulty_is_a_word_a_number_or_stars(words: str, level: int) -> None:
    value, remarks = read_difficulty(words)
    assert value is not None
    assert (value.stated, value.level, remarks) == (words, level, ())


@pytest.mark.parametrize("words", ["6", "4/10", "2-3", "easy, but long", "******"])
def test_a_level_that_is_none_stays_as_stated(words: str) -> None:
    value, remarks = read_difficulty(words)
    assert value is not None
    assert (value.stated, value.level) == (words, None)
    assert remarks[0].code == "unclear-difficulty"
