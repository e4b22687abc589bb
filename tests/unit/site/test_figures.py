from __future__ import annotations

import pytest

from archive.records import Gimps, Measured, PairCount, PairEstimate, Pairs, Thread
from archive.site import figures


@pytest.mark.parametrize(
    ("value", "said"), [(12.0, "12"), (3.25, "3.2"), (0.04, "0"), (100.0, "100"), (20.5, "20.5")]
)
def test_a_number_is_said_without_needless_zeros(value: float, said: str) -> None:
    assert figures.number(value) == said


def _plain(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("count", "said"),
    [
        (PairCount(start=18), "18 pairs"),
        (PairCount(start=1), "1 pair"),
        (PairCount(start=16, most=18), "16 pairs at the start, 18 at most"),
        (PairCount(start=24, corner_extra=6), "24 pairs, 6 more for the corner"),
        (PairCount(start=30, about=True), "about 30 pairs"),
        (PairCount(start=18, words="18 + 2 gimps"), "18 pairs (“18 + 2 gimps”)"),
        (PairCount(words="as many as it takes"), "“as many as it takes”"),
        (None, ""),
    ],
)
def test_pairs_are_said_as_they_are_known(count: PairCount | None, said: str) -> None:
    assert _plain(figures.pair_count(count)) == said


@pytest.mark.parametrize(
    ("scallops", "pins", "said"),
    [
        (2, 9, "2 scallops in each repeat, with 9 pins outside the ground"),
        (1, 0, "1 scallop in each repeat, with no pins outside the ground"),
        (0, 1, "straight, 1 pin outside the ground in each repeat"),
        (0, 0, "straight, no pins outside the ground"),
    ],
)
def test_a_headside_is_said_by_its_repeat(scallops: int, pins: int, said: str) -> None:
    assert _plain(figures.headside(scallops, pins)) == said


def test_a_range_of_wraps_is_said_in_whole_numbers() -> None:
    assert figures.span(36.4, 45.5) == "36–46"
    assert figures.span(9.8, 10.2) == "10"


def test_an_estimate_says_so_and_carries_its_spread() -> None:
    estimate = PairEstimate(value=20, low=18, high=23)
    told = _plain(figures.pair_estimate(estimate))
    assert told == "about 20 pairs, between 18 and 23 (estimate)"
    assert _plain(figures.pairs_needed(Pairs(estimated=estimate))) == "about 20 pairs (estimate)"


def test_a_counted_number_goes_before_an_estimate() -> None:
    pairs = Pairs(counted=PairCount(start=19), estimated=PairEstimate(value=20, low=18, high=23))
    assert _plain(figures.pairs_needed(pairs)) == "19 pairs"


def test_no_gimp_is_not_the_same_as_nobody_has_said() -> None:
    assert figures.gimps(Gimps()) == "no gimp"
    assert figures.gimps(None) == ""
    assert _plain(figures.gimps(Gimps(singles=1, pairs=2))) == "1 gimp and 2 pairs of gimps"


def test_a_thread_keeps_its_label_as_printed() -> None:
    thread = Thread(label="Linen 80/2", fibre="linen", use="ground", wraps_per_cm=27.5)
    assert _plain(figures.thread(thread)) == "Linen 80/2 (for the ground, 27.5 wraps per cm)"


def test_things_are_listed_as_a_sentence_does() -> None:
    assert figures.listed([]) == ""
    assert figures.listed(["a"]) == "a"
    assert figures.listed(["a", "b", "c"]) == "a, b and c"


def test_a_spread_too_small_to_write_is_said_in_words() -> None:
    def angle(sd: float | None) -> str:
        return figures.angle(
            Measured(sha256="0", analyser="1", pins=9, ground_angle_deg=60, ground_angle_sd_deg=sd)
        )

    assert angle(0.004) == "60° from the footside, give or take less than 0.1°"
    assert angle(0.26) == "60° from the footside ±\u00a00.3°"
    assert angle(None) == "60° from the footside"
