import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError
from archive.threads import (
    diameter_mm,
    estimate_wraps_per_cm,
    linear_density_tex,
    rescaling_factor_from_counts,
    rescaling_factor_from_tex,
    rescaling_factor_from_wraps,
    systems,
)

weights = st.floats(1, 5000)
counts = st.floats(1, 500)
plies = st.integers(1, 6)
indirect = st.sampled_from([system.id for system in systems() if system.kind == "indirect"])


@given(weights, weights)
def test_pricking_grows_as_the_thread_does(stated: float, other: float) -> None:
    by_weight = rescaling_factor_from_tex(stated, other)
    assert by_weight == pytest.approx(diameter_mm(other) / diameter_mm(stated))
    by_wraps = rescaling_factor_from_wraps(
        estimate_wraps_per_cm(stated).value, estimate_wraps_per_cm(other).value
    )
    assert by_weight == pytest.approx(by_wraps)


@given(counts, plies, counts, plies, indirect)
def test_factor_from_counts_holds_in_every_indirect_system(
    stated: float, stated_plies: int, other: float, other_plies: int, system: str
) -> None:
    by_weight = rescaling_factor_from_tex(
        linear_density_tex(stated, stated_plies, system),
        linear_density_tex(other, other_plies, system),
    )
    by_counts = rescaling_factor_from_counts((stated, stated_plies), (other, other_plies))
    assert by_counts == pytest.approx(by_weight)


@given(weights, weights)
def test_back_to_the_first_thread_is_back_to_the_first_size(stated: float, other: float) -> None:
    there = rescaling_factor_from_wraps(stated, other)
    assert there * rescaling_factor_from_wraps(other, stated) == pytest.approx(1)


@given(weights)
def test_estimate_says_its_spread(tex: float) -> None:
    wraps = estimate_wraps_per_cm(tex)
    assert wraps.low == pytest.approx(0.85 * wraps.value)
    assert wraps.high == pytest.approx(1.15 * wraps.value)


@pytest.mark.parametrize("bad", [0, -3, float("nan"), float("inf")])
def test_amounts_that_are_not_above_zero_are_refused(bad: float) -> None:
    for refused in (
        lambda: diameter_mm(bad),
        lambda: diameter_mm(20, volume_cm3_per_g=bad),
        lambda: estimate_wraps_per_cm(bad),
        lambda: rescaling_factor_from_wraps(bad, 20),
        lambda: rescaling_factor_from_wraps(20, bad),
        lambda: rescaling_factor_from_tex(bad, 20),
        lambda: rescaling_factor_from_tex(20, bad),
        lambda: rescaling_factor_from_counts((bad, 2), (40, 2)),
        lambda: rescaling_factor_from_counts((40, 2), (40, 0)),
    ):
        with pytest.raises(InputError, match="above zero"):
            refused()
