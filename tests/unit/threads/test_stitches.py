import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError
from archive.threads import pairs_stay_together, read_stitch, thread_order, times_until_as_before

stitches = st.text(alphabet="CTp", max_size=30)


@given(stitches)
def test_written_out_stitch_reads_as_itself(stitch: str) -> None:
    assert read_stitch(stitch) == stitch


@given(stitches)
def test_pins_move_no_thread(stitch: str) -> None:
    assert thread_order(stitch) == thread_order(stitch.replace("p", ""))


@given(stitches)
def test_worked_backwards_a_stitch_undoes_itself(stitch: str) -> None:
    assert thread_order(stitch + stitch[::-1]) == (1, 2, 3, 4)


@given(stitches.filter(lambda stitch: stitch.strip("p") != ""))
def test_stitch_comes_back_after_its_times_and_not_before(stitch: str) -> None:
    times = times_until_as_before(stitch)
    came_back = [thread_order(f"({stitch})^{n}") == (1, 2, 3, 4) for n in range(1, times + 1)]
    assert came_back == [False] * (times - 1) + [True]


@given(stitches, st.integers(0, 9))
def test_power_is_the_group_written_so_often(stitch: str, power: int) -> None:
    assert read_stitch(f"({stitch}) ^{power}") == stitch * power


def test_power_belongs_to_the_letter_or_bracket_before_it() -> None:
    assert read_stitch("CT^3 p") == "CTTTp"
    assert read_stitch("((CT)^2 p)^2") == "CTCTpCTCTp"


def test_case_and_spaces_do_not_count() -> None:
    assert read_stitch("  ct P Half ") == "CTpCT"


def test_pairs_that_change_sides_are_still_together() -> None:
    assert pairs_stay_together("CTC")
    assert pairs_stay_together("T")
    assert not pairs_stay_together("C")


@pytest.mark.parametrize(
    "text", ["(CT)^n", "CTT (or CT)", "(CT", "CT)", "^2", "(^2)", "2 over 3", "C^100", "CX"]
)
def test_text_that_is_no_stitch_is_refused_with_advice(text: str) -> None:
    with pytest.raises(InputError) as refused:
        read_stitch(text)
    assert text in refused.value.problem
    assert "C for cross" in refused.value.advice


def test_endless_powers_are_refused() -> None:
    with pytest.raises(InputError, match="more than 10000 moves"):
        read_stitch("(((CT)^99)^99)^99")
