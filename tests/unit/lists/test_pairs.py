import pytest

from archive.lists.pairs import read_bobbins, read_gimps, read_pairs
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
