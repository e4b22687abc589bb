"""What a person says of holes and footside overrules what was found, and nothing else changes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError
from archive.geometry import measure_points
from archive.geometry.mending import mend_pins
from archive.records.byhand import NOTHING_SAID, ByHand, make_by_hand
from archive.records.measurement import Measurement, SourceFile
from tests.strategies_geometry import Points, ground_patch

PX_PER_MM = 10.0
PATCH = ground_patch(60.0, 30.0, 9, 20) + 50.0
"""A full patch of ground in pixels; pins one pitch apart are 3 mm apart."""

INSIDE = 4 * 20 + 10
STRAY = PATCH[INSIDE] + [9.0, 13.0]
SHEET = SourceFile(
    file="sheet.png", sha256="0" * 64, media_type="image/png", width_px=400, height_px=800
)


def measured(points: Points, by_hand: ByHand = NOTHING_SAID) -> Measurement:
    return measure_points(points, px_per_mm=PX_PER_MM, source=SHEET, by_hand=by_hand)


def place(position: Points, unit: str = "mm") -> str:
    x, y = position / (PX_PER_MM if unit == "mm" else 1)
    return f"{x:.6f},{y:.6f} {unit}"


def places_of(found: Measurement) -> set[tuple[float, float]]:
    return {(round(x), round(y)) for x, y in found.pins.positions_px}


@pytest.mark.parametrize("unit", ["mm", "px"])
def test_a_hole_that_was_not_found_is_put_there_by_hand(unit: str) -> None:
    lacking = np.delete(PATCH, INSIDE, axis=0)
    assert [doubt.kind for doubt in measured(lacking).doubts] == ["missing"]
    mended = measured(lacking, make_by_hand(holes=[place(PATCH[INSIDE], unit)]))
    assert places_of(mended) == places_of(measured(PATCH))
    assert mended.doubts == ()
    assert mended.by_hand is not None
    assert (mended.by_hand.added, mended.by_hand.taken_away) == (1, 0)


def test_a_speck_taken_for_a_hole_is_taken_away_by_hand() -> None:
    dirty = np.vstack([PATCH, STRAY])
    assert [doubt.kind for doubt in measured(dirty).doubts] == ["extra"]
    mended = measured(dirty, make_by_hand(no_holes=[place(STRAY)]))
    assert mended.pins == measured(PATCH).pins
    assert mended.doubts == ()
    assert mended.by_hand is not None
    assert (mended.by_hand.added, mended.by_hand.taken_away) == (0, 1)


def test_every_figure_is_that_of_the_mended_pins() -> None:
    spoilt = np.vstack([np.delete(PATCH, INSIDE, axis=0), STRAY])
    said = make_by_hand(holes=[place(PATCH[INSIDE], "px")], no_holes=[place(STRAY)])
    mended = measured(spoilt, said).model_copy(update={"by_hand": None})
    clean = measured(PATCH)
    for figure in ("ground", "foot", "repeat", "pairs", "areas", "extent_mm"):
        assert getattr(mended, figure) == getattr(clean, figure), figure


def test_a_hole_found_anyway_is_not_counted_twice_and_its_doubt_is_settled() -> None:
    dirty = np.vstack([PATCH, STRAY])
    confirmed = measured(dirty, make_by_hand(holes=[place(STRAY)]))
    assert confirmed.pins == measured(dirty).pins
    assert confirmed.doubts == ()
    assert confirmed.by_hand is not None
    assert (confirmed.by_hand.added, confirmed.by_hand.confirmed) == (0, 1)


def test_an_empty_place_that_is_said_to_be_empty_is_no_longer_in_doubt() -> None:
    lacking = np.delete(PATCH, INSIDE, axis=0)
    confirmed = measured(lacking, make_by_hand(no_holes=[place(PATCH[INSIDE])]))
    assert confirmed.pins == measured(lacking).pins
    assert confirmed.doubts == ()
    assert confirmed.by_hand is not None
    assert confirmed.by_hand.confirmed == 1


@given(pin=st.integers(0, len(PATCH) - 1), hole_first=st.booleans())
def test_what_is_said_later_overrules_what_was_said_before(pin: int, hole_first: bool) -> None:
    hole = make_by_hand(holes=[place(PATCH[pin])])
    none = make_by_hand(no_holes=[place(PATCH[pin])])
    first, second = (hole, none) if hole_first else (none, hole)
    both, last = (
        mend_pins(PATCH, said, px_per_mm=PX_PER_MM, source=SHEET).points
        for said in (first.then(second), second)
    )
    assert both.tolist() == last.tolist()


@pytest.mark.parametrize("side", ["left", "right", "both", "none"])
def test_the_footside_is_where_a_person_says(side: str) -> None:
    said = measured(PATCH, make_by_hand(foot=side))
    assert said.foot.side == side
    assert measured(PATCH).foot.perhaps_head
    assert not said.foot.perhaps_head
    assert (said.foot.pins > 0) == (side != "none")
    assert said.pins == measured(PATCH).pins
    assert said.by_hand is not None
    assert said.by_hand.foot == side


def test_both_feet_are_found_again_after_one_was_named() -> None:
    """A patch has a straight edge on either side; each has a pin in every row."""
    one, both = (measured(PATCH, make_by_hand(foot=side)).foot.pins for side in ("left", "both"))
    assert both == 2 * one


def test_nothing_said_changes_nothing() -> None:
    assert measured(PATCH, ByHand()) == measured(PATCH)
    assert measured(PATCH).by_hand is None


@pytest.mark.parametrize("points", [np.empty((0, 2)), PATCH[:1]])
def test_a_sheet_on_which_hardly_anything_was_found_can_be_filled_by_hand(points: Points) -> None:
    said = make_by_hand(holes=[place(pin, "px") for pin in PATCH[:30]])
    assert measured(points, said).pins.count == 30


def test_millimetres_without_a_scale_are_refused_with_advice() -> None:
    with pytest.raises(InputError, match="scale of the sheet is not known") as refusal:
        measure_points(PATCH, by_hand=make_by_hand(holes=["5,5 mm"]))
    assert "--dpi" in refusal.value.advice


def test_a_place_beside_the_sheet_is_refused() -> None:
    with pytest.raises(InputError, match="lies beside the sheet, which is 400 by 800 pixels"):
        measured(PATCH, make_by_hand(no_holes=["40.1,5 mm"]))
