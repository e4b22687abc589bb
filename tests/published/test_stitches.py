"""Stitches against published descriptions, and against a second way of reckoning them."""

import numpy as np
import pytest

from archive.threads import (
    HalfStitch,
    pairs_stay_together,
    read_stitch,
    thread_order,
    times_until_as_before,
)


def order_after(moves: list[tuple[int, int]]) -> tuple[int, ...]:
    """Which thread lies where when, move by move, one place is laid over its neighbour."""
    row = [1, 2, 3, 4]
    for upper, lower in moves:
        row[upper - 1], row[lower - 1] = row[lower - 1], row[upper - 1]
    return tuple(row)


@pytest.mark.parametrize(
    ("moves", "stitch"),
    [
        ([(2, 1), (4, 3), (2, 3)], "TC"),  # one round of the plait, “dresse”
        ([(2, 1), (4, 3), (2, 3)] * 4, "(TC)^4"),
        ([(2, 1), (4, 3)], "T"),  # “tordre”
        ([(2, 3), (2, 1), (4, 3)], "CT"),  # “demi-point”
    ],
)
def test_moves_of_the_encyclopedie_end_where_the_stitch_does(
    moves: list[tuple[int, int]], stitch: str
) -> None:
    """Source: Encyclopédie t. 4, 1754, article DENTELLE by J.-M. Papillon, p. 844-847.

    “le 2 sur le 1, le 4 sur le 3, le 2 sur le 3”; its numbers are places, not threads.
    """
    assert thread_order(stitch) == order_after(moves)


def test_point_ferme_is_cross_twist_cross() -> None:
    """Source: lesdiversespassionsdejosi.over-blog.com (2/3, 4/3 and 2/1, 2/3)."""
    assert thread_order("CTC") == order_after([(2, 3), (4, 3), (2, 1), (2, 3)])


@pytest.mark.parametrize(
    ("described", "half", "moves"),
    [
        # Th. de Dillmont, Encyclopedia of Needlework, c. 1886, figures 784, 788, 795, 797
        ("half half", HalfStitch.CROSS_TWIST, "CTCT"),
        ("double", HalfStitch.CROSS_TWIST, "CTCT"),
        ("half p half", HalfStitch.CROSS_TWIST, "CTpCT"),
        ("half p T^2", HalfStitch.CROSS_TWIST, "CTpTT"),
        ("double p double T", HalfStitch.CROSS_TWIST, "CTCTpCTCTT"),
        # Die Klöppelspitzen I (Halbschlag: drehen, kreuzen; Ganzschlag: twice)
        ("half", HalfStitch.TWIST_CROSS, "TC"),
        ("double", HalfStitch.TWIST_CROSS, "TCTC"),
    ],
)
def test_half_and_double_stitch_are_as_the_writer_means_them(
    described: str, half: HalfStitch, moves: str
) -> None:
    assert read_stitch(described, half=half) == moves


CROSS = np.eye(4, dtype=int)[[0, 2, 1, 3]]
TWIST = np.eye(4, dtype=int)[[1, 0, 3, 2]]


def order_by_matrices(moves: str) -> tuple[int, ...]:
    """The order by multiplying permutation matrices of shape (4, 4)."""
    row = np.array([1, 2, 3, 4])
    for move in moves:
        row = {"C": CROSS, "T": TWIST}[move] @ row
    return tuple(int(thread) for thread in row)


@pytest.mark.parametrize(
    ("stitch", "written_out", "order"),
    [
        ("C", "C", (1, 3, 2, 4)),
        ("T", "T", (2, 1, 4, 3)),
        ("CT", "CT", (3, 1, 4, 2)),
        ("CTC", "CTC", (3, 4, 1, 2)),
        ("CTCT", "CTCT", (4, 3, 2, 1)),
        ("CTTT p", "CTTT", (3, 1, 4, 2)),
        ("CTT p CTT", "CTTCTT", (1, 2, 3, 4)),
        ("(CT)^2", "CTCT", (4, 3, 2, 1)),
        ("(CT)^3", "CTCTCT", (2, 4, 1, 3)),
        ("(CT)^4", "CTCTCTCT", (1, 2, 3, 4)),
    ],
)
def test_thread_order_agrees_with_multiplying_permutations(
    stitch: str, written_out: str, order: tuple[int, ...]
) -> None:
    """The orders are computed, not printed anywhere; numpy multiplies them a second time."""
    assert thread_order(stitch) == order_by_matrices(written_out) == order


def test_plait_comes_back_after_four_half_stitches_and_not_before() -> None:
    """Computed: the permutation matrix of CT has order 4."""
    half_stitch = TWIST @ CROSS
    powers = [np.linalg.matrix_power(half_stitch, times) for times in range(1, 5)]
    back = [bool(np.array_equal(power, np.eye(4, dtype=int))) for power in powers]
    assert back == [False, False, False, True]
    assert times_until_as_before("CT") == times_until_as_before("TC") == 4


def test_cloth_stitch_keeps_pairs_whole_and_half_stitch_parts_them() -> None:
    """Computed; as common practice has it, only one thread of a pair goes on in half stitch."""
    assert pairs_stay_together("CTC")
    assert not pairs_stay_together("CT")
