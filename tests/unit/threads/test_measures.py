import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError
from archive.threads.measures import (
    bobbins,
    copier_factor,
    find_repeats_that_fit,
    foot_for_square_mm,
    gathered_for_square_mm,
    mitred_for_square_mm,
)

lengths = st.floats(1, 1000)


def test_square_of_250_mm_takes_what_was_reckoned_by_hand() -> None:
    """Computed by hand from 4a, 4(a + 2W) and (1 + f) 4a + 8W with a = 250 mm, W = 25 mm."""
    assert foot_for_square_mm(250, 25) == (1000, 1200)
    assert mitred_for_square_mm(250, 25) == 1200
    assert gathered_for_square_mm(250, 25) == 1200
    assert gathered_for_square_mm(250, 25, fullness=0.5) == 1700


@given(lengths, lengths, st.floats(0, 2))
def test_gathered_lace_is_longer_than_the_foot_by_eight_widths(
    side_mm: float, width_mm: float, fullness: float
) -> None:
    side_mm += 2 * width_mm
    length_mm = gathered_for_square_mm(side_mm, width_mm, fullness=fullness)
    assert length_mm == pytest.approx((1 + fullness) * 4 * side_mm + 8 * width_mm)


@given(lengths.map(lambda mm: mm + 10), st.floats(1, 50), st.floats(0, 4), st.booleans())
def test_scaled_repeats_and_corners_fill_the_side(
    side_mm: float, repeat_mm: float, corner_mm: float, halves: bool
) -> None:
    for fit in find_repeats_that_fit(side_mm, repeat_mm, corner_mm=corner_mm, halves=halves):
        filled_mm = fit.factor * (2 * corner_mm + fit.repeats * repeat_mm)
        assert filled_mm == pytest.approx(side_mm)
        assert (fit.repeats * (2 if halves else 1)).is_integer()


def test_least_change_of_scale_comes_first() -> None:
    fits = find_repeats_that_fit(250, 24, corner_mm=13)
    assert [fit.repeats for fit in fits] == [9, 10]
    assert fits[0].factor == pytest.approx(250 / 242)
    assert fits[1].factor == pytest.approx(250 / 266)


def test_repeats_that_fit_already_are_left_as_they_are() -> None:
    (fit,) = find_repeats_that_fit(0.3, 0.1)
    assert fit.repeats == 3
    assert fit.factor == pytest.approx(1)


def test_half_repeat_is_only_offered_where_it_is_wanted() -> None:
    (half,) = find_repeats_that_fit(55, 10, halves=True)
    assert (half.repeats, half.factor) == (5.5, 1)
    assert [fit.repeats for fit in find_repeats_that_fit(55, 10)] == [6, 5]


def test_side_shorter_than_a_repeat_gets_one_that_is_made_smaller() -> None:
    (fit,) = find_repeats_that_fit(20, 30)
    assert fit.repeats == 1
    assert fit.factor == pytest.approx(2 / 3)
    (cramped,) = find_repeats_that_fit(20, 30, corner_mm=15)
    assert cramped.repeats == 1
    assert cramped.factor == pytest.approx(1 / 3)


def test_single_gimp_takes_one_bobbin_and_a_pair_two() -> None:
    assert bobbins(18, 2) == 38


def test_lengths_that_cannot_be_are_refused() -> None:
    for refused in (
        lambda: foot_for_square_mm(0, 25),
        lambda: mitred_for_square_mm(250, -1),
        lambda: gathered_for_square_mm(40, 25),
        lambda: gathered_for_square_mm(250, 25, fullness=-0.5),
        lambda: find_repeats_that_fit(250, 0),
        lambda: find_repeats_that_fit(250, 10, corner_mm=-1),
        lambda: copier_factor(18, 0),
    ):
        with pytest.raises(InputError) as refusal:
            refused()
        assert refusal.value.advice
