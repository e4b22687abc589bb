"""What is said by hand is read as it is written, and nothing is guessed."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError, UnreadableFile
from archive.records.byhand import (
    NOTHING_SAID,
    ByHand,
    Mark,
    make_by_hand,
    read_by_hand,
    tell_place,
)

FILE = Path("said.toml")
MARKS = st.builds(
    Mark,
    hole=st.booleans(),
    x=st.floats(0, 1e4),
    y=st.floats(0, 1e4),
    unit=st.sampled_from(["mm", "px"]),
)
SAID = st.builds(
    ByHand,
    marks=st.lists(MARKS, max_size=4).map(tuple),
    foot=st.sampled_from(["left", "right", "both", "none", None]),
)


@pytest.mark.parametrize("words", ["21.6,22 mm", "21.6,22mm", " 21.6 , 22.0 mm ", "21.60,22.00 mm"])
def test_a_place_is_across_and_down_with_its_unit(words: str) -> None:
    (mark,) = make_by_hand(holes=[words]).marks
    assert mark == Mark(hole=True, x=21.6, y=22.0, unit="mm")


@pytest.mark.parametrize(
    "words",
    ["", "21.6,22.0", "21,6 22,0 mm", "21,6,22,0 mm", "-1,5 mm", "1,5 cm", "1e3,5 px", "nan,1 px",
     "٣,٤ mm"],
)  # fmt: skip
def test_a_place_in_doubt_is_refused_with_the_way_to_write_it(words: str) -> None:
    with pytest.raises(InputError, match="is not a place") as refusal:
        make_by_hand(no_holes=[words])
    assert "“21.6,22.0 mm”" in refusal.value.advice


def test_a_file_says_what_the_options_say() -> None:
    text = 'hole = ["1,2 mm", "3,4 px"]\nno_hole = ["5,6 px"]\nfoot = "left"\n'
    assert read_by_hand(text, FILE) == make_by_hand(
        holes=["1,2 mm", "3,4 px"], no_holes=["5,6 px"], foot="left"
    )


def test_an_empty_file_says_nothing() -> None:
    assert read_by_hand("# nothing yet\n", FILE) == NOTHING_SAID


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("hole = [", "not TOML"),
        ('hole = "1,2 mm"', "“hole” is not a list of places"),
        ("hole = [[1, 2]]", "“hole” is not a list of places"),
        ('hole = ["1,2"]', "“1,2” is not a place"),
        ('holes = ["1,2 mm"]', "“holes” is not known"),
        ('foot = "top"', "“top” is not a side"),
        ("foot = true", "“foot” is not a word"),
    ],
)
def test_a_file_that_says_something_else_is_refused_whole(text: str, reason: str) -> None:
    with pytest.raises(UnreadableFile, match=f"said.toml.*{reason}"):
        read_by_hand(text, FILE)


@given(SAID)
def test_what_is_said_comes_back_from_json_as_it_was(said: ByHand) -> None:
    assert ByHand.model_validate_json(said.model_dump_json(exclude_defaults=True)) == said


@given(first=SAID, second=SAID, third=SAID)
def test_saying_one_thing_after_another_does_not_depend_on_where_one_pauses(
    first: ByHand, second: ByHand, third: ByHand
) -> None:
    assert first.then(second).then(third) == first.then(second.then(third))
    assert first.then(NOTHING_SAID) == first == NOTHING_SAID.then(first)


@given(SAID, st.floats(0.5, 100))
def test_pixels_stay_pixels(said: ByHand, px_per_mm: float) -> None:
    once = said.in_px(px_per_mm)
    assert all(mark.unit == "px" for mark in once.marks)
    assert once.in_px(px_per_mm * 2) == once


@given(st.floats(0, 300), st.floats(0, 300), st.sampled_from([None, 4.0, 11.811]))
def test_a_place_that_is_told_can_be_said_again(
    x: float, y: float, px_per_mm: float | None
) -> None:
    (mark,) = make_by_hand(holes=[tell_place(x, y, px_per_mm)]).in_px(px_per_mm).marks
    rounding_px = 0.5 if px_per_mm is None else 0.05 * px_per_mm
    assert (mark.x, mark.y) == (
        pytest.approx(x, abs=rounding_px + 0.001),
        pytest.approx(y, abs=rounding_px + 0.001),
    )
