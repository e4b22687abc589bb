"""How likely places are pricked, bare, alike or altered, by what a sheet shows of them."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from archive.geometry.weighing import (
    ALTERED,
    ALTERED_ALONE,
    MISSED,
    STRAY,
    lies_beside_open,
    likelihood_of_places,
    odds_of_alteration,
)


def odds(taken: list[int], exists: list[int], *, beside_open: bool, share: float = 0.9) -> float:
    return float(
        odds_of_alteration(
            np.array(exists), np.array(taken), np.array(share), np.array(beside_open)
        )
    )


@pytest.mark.parametrize(("taken", "exists"), [((4, 0), (4, 4)), ((3, 1, 2), (3, 3, 2))])
def test_the_odds_are_those_of_all_ways_to_alter_counted_out(
    taken: tuple[int, ...], exists: tuple[int, ...]
) -> None:
    """Every way in which some places are pricked and others bare, one after the other."""
    chances = {True: (1 - MISSED, MISSED), False: (STRAY, 1 - STRAY)}
    ways = [way for way in product((True, False), repeat=len(taken)) if len(set(way)) == 2]
    altered = np.mean(
        [
            np.prod(
                [
                    chances[pricked][0] ** pins * chances[pricked][1] ** (places - pins)
                    for pricked, pins, places in zip(way, taken, exists, strict=True)
                ]
            )
            for way in ways
        ]
    )
    alike = np.exp(likelihood_of_places(np.sum(exists), np.sum(taken), np.array(0.9)))
    prior = ALTERED * 0.9
    told = odds(list(taken), list(exists), beside_open=True)
    assert told == pytest.approx(np.log(1 - prior + prior * altered / alike))


def test_places_that_are_alike_speak_a_little_against_alteration() -> None:
    for taken in ([4, 4], [0, 0], [4, 3]):
        assert -ALTERED < odds(taken, [4, 4], beside_open=True) < 0
        assert -ALTERED_ALONE < odds(taken, [4, 4], beside_open=False) < 0


def test_a_hole_that_is_missing_in_a_net_is_likelier_lost_than_one_beside_a_figure() -> None:
    beside, alone = (odds([4, 0], [4, 4], beside_open=where) for where in (True, False))
    assert beside > alone + 1
    assert odds([9, 0], [9, 9], beside_open=False) > 3, "not from nine repeats, though"


def test_only_places_with_a_bare_neighbour_lie_beside_an_open_figure() -> None:
    """A repeat ends where the next begins; beyond the outer columns nothing is bare."""
    column, half_row = np.indices((6, 8))
    exists = np.where((column + half_row) % 2 == 0, 3, 0)
    taken = exists.copy()
    taken[3, 7] = 1
    beside = lies_beside_open(exists, taken)
    assert sorted(map(tuple, np.argwhere(beside & (exists > 0)).tolist())) == [
        (2, 0), (2, 6), (3, 1), (3, 5), (4, 0), (4, 6),
    ]  # fmt: skip
