import pytest

from archive.lists.amounts import (
    length_reader,
    read_bobbins,
    read_difficulty,
    read_gimps,
    read_pair_number,
    read_pairs,
    read_size,
    read_wraps_per_cm,
)
from archive.records import Gimps, PairCount

PAIRS = {
    "18": PairCount(most=18),
    "18 pairs": PairCount(most=18),
    "18prs.": PairCount(most=18),
    "18 Paare": PairCount(most=18),
    "18 paires": PairCount(most=18),
    "24 (+6 corner)": PairCount(most=24, corner_extra=6),
    "24 pairs, 6 more for the corner": PairCount(most=24, corner_extra=6),
    "24 + 6 pairs extra at the corner": PairCount(most=24, corner_extra=6),
    "c. 30": PairCount(most=30, about=True, words="c. 30"),
    "about 30 pairs": PairCount(most=30, about=True, words="about 30 pairs"),
    "30?": PairCount(most=30, about=True, words="30?"),
    "18-20": PairCount(most=20, about=True, words="18-20"),
    "18 – 20 pairs": PairCount(most=20, about=True, words="18 – 20 pairs"),
    "18 bis 20 Paar": PairCount(most=20, about=True, words="18 bis 20 Paar"),
    "18 at the start, max. 24": PairCount(start=18, most=24, words="18 at the start, max. 24"),
    "start 18, most 24": PairCount(start=18, most=24, words="start 18, most 24"),
    "18 rising to 24": PairCount(start=18, most=24, words="18 rising to 24"),
    "36 bobbins": PairCount(most=18, words="36 bobbins"),
    "36 Klöppel": PairCount(most=18, words="36 Klöppel"),
}


@pytest.mark.parametrize("words", PAIRS)
def test_pairs_are_read_as_people_write_them(words: str) -> None:
    value, remarks = read_pairs(words)
    assert value is not None
    assert (value.pairs, value.gimps, remarks) == (PAIRS[words], None, ())


@pytest.mark.parametrize(
    ("words", "gimps"),
    [
        ("18 + 2 gimps", Gimps(singles=2)),
        ("18 pairs and a gimp", Gimps(singles=1)),
        ("18 pairs + 1 pair of gimps", Gimps(pairs=1)),
        ("18 + 2 gimp pairs", Gimps(pairs=2)),
        ("18 Paare + 1 Konturfaden", Gimps(singles=1)),
        ("18 pairs, no gimp", Gimps()),
    ],
)
def test_gimps_beside_the_pairs_are_counted_apart(words: str, gimps: Gimps) -> None:
    value, remarks = read_pairs(words)
    assert value is not None
    assert (value.pairs, value.gimps, remarks) == (PairCount(most=18), gimps, ())


def test_gimps_and_corner_can_stand_together() -> None:
    value, remarks = read_pairs("about 18-20 pairs + 2 gimps (+4 for the corner)")
    assert value is not None
    assert (value.pairs.most, value.pairs.corner_extra, value.gimps) == (20, 4, Gimps(singles=2))
    assert remarks == ()


@pytest.mark.parametrize(
    "words", ["18/20", "20-18", "18.5", "18 or 20", "two dozen", "6000", "16 x 2", "1 2 3"]
)
def test_pairs_are_never_guessed(words: str) -> None:
    value, remarks = read_pairs(words)
    assert value is None
    assert [(about.code, about.kept) for about in remarks] == [("unclear-pairs", words)]


@pytest.mark.parametrize("words", ["12-Oct", "Oct-12", "10. Dez", "2024-10-12 00:00:00"])
def test_a_number_that_became_a_date_is_never_read_back(words: str) -> None:
    for read in (read_pairs, read_gimps, read_size, read_difficulty):
        value, remarks = read(words)
        assert value is None
        assert [(about.code, about.kept) for about in remarks] == [("became-a-date", words)]


def test_half_a_pair_of_bobbins_is_reported() -> None:
    value, remarks = read_pairs("37 bobbins")
    assert value is None
    assert remarks[0].code == "odd-bobbins"


def test_words_beside_the_pairs_are_kept() -> None:
    value, remarks = read_pairs("18 Pairs (Lovely!)")
    assert value is not None
    assert value.pairs.most == 18
    assert [(about.code, about.kept) for about in remarks] == [
        ("words-left-over", "18 Pairs (Lovely!)")
    ]


def test_a_gimp_without_a_number_leaves_the_gimps_unknown() -> None:
    value, remarks = read_pairs("18 pairs and gimp")
    assert value is not None
    assert (value.pairs.most, value.gimps) == (18, None)
    assert remarks[0].code == "unclear-gimps"


def test_a_column_of_bobbins_counts_two_to_the_pair_unless_it_says_pairs() -> None:
    bobbins, pairs = read_bobbins("36").value, read_bobbins("18 pairs").value
    assert bobbins is not None
    assert pairs is not None
    assert (bobbins.pairs.most, bobbins.pairs.words) == (18, "36 bobbins")
    assert pairs.pairs.most == 18


@pytest.mark.parametrize(
    ("words", "gimps"),
    [
        ("2", Gimps(singles=2)),
        ("1 pair", Gimps(pairs=1)),
        ("1 pair + 1 single", Gimps(singles=1, pairs=1)),
        ("2 gimps", Gimps(singles=2)),
        ("none", Gimps()),
        ("0", Gimps()),
        ("keine", Gimps()),
    ],
)
def test_gimps_are_singles_or_pairs(words: str, gimps: Gimps) -> None:
    value, remarks = read_gimps(words)
    assert value is not None
    assert (value.gimps, remarks) == (gimps, ())


def test_a_gimp_that_is_only_ticked_is_used_in_an_unknown_number() -> None:
    value, remarks = read_gimps("yes")
    assert value is not None
    assert (value.gimps, value.used, remarks) == (None, True, ())


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


def test_plain_numbers_have_limits() -> None:
    assert (read_pair_number("6").value, read_wraps_per_cm("27,5").value) == (6, 27.5)
    for read in (read_pair_number, read_wraps_per_cm):
        for words in ("some", "5001", "-1", "9" * 400):
            value, remarks = read(words)
            assert value is None
            assert [(about.code, about.kept) for about in remarks] == [("unclear-number", words)]
