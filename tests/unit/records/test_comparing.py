"""A record and its sheet are compared kindly: both values are told, and only what is sure."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.records import (
    Attachment,
    Correction,
    Entry,
    PairCount,
    Pairs,
    Size,
    TechniqueUse,
    Thread,
)
from archive.records.comparing import FINDINGS, MOST_PLACES, Sheet, compare
from archive.records.measurement import (
    Area,
    Doubt,
    Foot,
    Ground,
    MeasuredBend,
    MeasuredCorner,
    MeasuredPairs,
    MeasuredRepeat,
    MeasuredStretch,
    MeasuredThread,
    Measurement,
    Pins,
    Rings,
    Scale,
)
from archive.records.settings import Checking

PX_PER_MM = 10.0
NET = Area(kind="honeycomb net", pins=19, area_mm2=None, outline_px=())
DOUBT = Doubt(x_px=216, y_px=220, kind="missing")
SCAN = Attachment(
    sha256="0" * 64, file_name="p-1.png", media_type="image/png", size_bytes=1
)  # fmt: skip

SLANT = MeasuredBend(
    kind="slanted",
    across_percent=0.1,
    across_sd_percent=0.2,
    down_percent=2.4,
    down_sd_percent=0.2,
    smallest_percent=-1.2,
    largest_percent=1.3,
    cockles_sd_percent=0.0,
)

AGREEING = Entry(
    shelfmark="P 1",
    kind="edging",
    techniques=(TechniqueUse(technique="point_ground"), TechniqueUse(technique="gimp")),
    pairs=Pairs(stated=PairCount(most=14), counted=PairCount(most=13)),
    size=Size(width_mm=20.0, repeat_mm=14.0),
    threads=(Thread(label="fine", wraps_per_cm=32),),
)
"""Agrees with what `measured()` gives."""


def measured(**changes: Any) -> Measurement:
    """A straight point ground edging, 20 mm wide, that repeats every 14 mm."""
    found = Measurement(
        analyser="1",
        source=None,
        scale=Scale(px_per_mm=PX_PER_MM, how="given"),
        tilt_deg=0.0,
        pins=Pins(count=2, positions_px=((0.0, 0.0), (200.0, 900.0)), positions_mm=None),
        extent_mm=(20.0, 90.0),
        foot=Foot(side="right", pitch_mm=2.8, pitch_px=28.0, pitch_sd_mm=0.0, pins=30),
        ground=Ground(
            angle_deg=60.0,
            angle_sd_deg=0.01,
            pitch_mm=2.8,
            pitch_px=28.0,
            column_mm=2.4,
            column_px=24.0,
            rms_px=0.1,
            share_on_lattice=0.9,
        ),
        areas=(),
        rings=Rings(four_pin=0, six_pin=0),
        repeat=MeasuredRepeat(
            length_mm=14.0, length_px=140.0, rows=5, pins=60, count=6, mirrored=False
        ),
        corner=MeasuredCorner(present=False),
        pairs=MeasuredPairs(estimate=13, low=12, high=14, reasons=("Because.",)),
        thread=MeasuredThread(wraps_per_cm_low=28.6, wraps_per_cm_high=35.7, reason="A rule."),
        doubts=(),
    )
    return found.model_copy(update=changes)


def check(entry: Entry, *found: Measurement | None) -> dict[str, str]:
    """What is found, by code; the codes of one comparison are all different here."""
    findings = compare(entry, [Sheet(SCAN, one) for one in found], Checking())
    assert len({finding.code for finding in findings}) == len(findings)
    return {finding.code: finding.found for finding in findings}


def with_techniques(*ids: str) -> Entry:
    return AGREEING.model_copy(
        update={"techniques": tuple(TechniqueUse(technique=one) for one in ids)}
    )


UNSCALED = {
    "scale": Scale(px_per_mm=None, how="unknown"),
    "thread": None,
    "repeat": MeasuredRepeat(
        length_mm=None, length_px=140.0, rows=5, pins=60, count=6, mirrored=False
    ),
}

CASES: dict[str, tuple[dict[str, Any], Measurement | None, list[str]]] = {
    "not-measured": ({}, None, ["p-1.png"]),
    "no-pinholes": (
        {},
        measured(pins=Pins(count=0, positions_px=(), positions_mm=None), **UNSCALED),
        ["p-1.png"],
    ),
    "scale-unknown": ({}, measured(**UNSCALED), ["p-1.png", "20 mm wide", "254 dpi"]),
    "sheet-bent": (
        {},
        measured(bend=SLANT),
        ["“p-1.png”", "photographed at a slant", "2.5 % larger", "as if it lay flat"],
    ),
    "sheet-stretched": (
        {"kind": "corner_edging"},
        measured(
            corner=MeasuredCorner(present=True),
            stretch=MeasuredStretch(told_by="corner", along_percent=-1.24, sd_percent=0.04),
        ),
        ["the corner on “p-1.png” differ", "1.2 % along one", "No figure was corrected"],
    ),
    "pairs-differ": (
        {"pairs": Pairs(counted=PairCount(most=17))},
        measured(),
        ["17 pairs are counted", "between 12 and 14", "Because."],
    ),
    "width-differs": ({"size": Size(width_mm=23.0)}, measured(), ["23 mm", "20.0 mm", "10 %"]),
    "repeat-differs": (
        {"size": Size(repeat_mm=30.0)},
        measured(),
        ["30 mm", "every 14.0 mm", "28.0 mm", "3 %"],
    ),
    "corner-not-seen": ({"kind": "corner_edging"}, measured(), ["speaks of a corner"]),
    "corner-not-recorded": (
        {"corner": False},
        measured(corner=MeasuredCorner(present=True)),
        ["says that there is none"],
    ),
    "honeycomb-not-seen": (
        {"techniques": (TechniqueUse(technique="honeycomb_ground"),)},
        measured(),
        ["names honeycomb", "neither"],
    ),
    "honeycomb-not-recorded": (
        {"title": "Rose ground edging"},
        measured(areas=(NET, NET)),
        ["looks like honeycomb", "2 areas", "38 pins"],
    ),
    "thread-differs": (
        {"threads": (Thread(label="stout", wraps_per_cm=20),)},
        measured(),
        ["29 to 36 wraps", "“stout” has 20"],
    ),
    "doubts-left": (
        {},
        measured(doubts=(DOUBT,)),
        ["1 place", "looks doubtful", "no corrections", "a hole seems missing at 21.6,22.0 mm"],
    ),
}  # fmt: skip


def test_every_finding_has_a_case() -> None:
    assert CASES.keys() == FINDINGS.keys()


@pytest.mark.parametrize("code", CASES)
def test_a_disagreement_is_told_with_both_values(code: str) -> None:
    changes, found, told = CASES[code]
    said = check(AGREEING.model_copy(update=changes), found)
    assert list(said) == [code]
    assert all(words in said[code] for words in told), said[code]


@pytest.mark.parametrize("code", CASES)
def test_every_advice_is_filled_in(code: str) -> None:
    changes, found, _ = CASES[code]
    (finding,) = compare(AGREEING.model_copy(update=changes), [Sheet(SCAN, found)], Checking())
    assert finding.shelfmark == "P 1"
    assert not {"{", "}"} & set(finding.found + finding.advice)


def test_what_agrees_is_not_mentioned() -> None:
    assert check(AGREEING, measured()) == {}


def test_a_record_without_a_sheet_has_nothing_to_disagree_with() -> None:
    assert check(AGREEING) == {}


def test_a_bare_record_disagrees_with_nothing_on_its_sheet() -> None:
    assert check(Entry(shelfmark="P 1"), measured()) == {}


def test_a_sheet_on_which_nothing_was_found_disagrees_with_nothing() -> None:
    nothing = {
        "tilt_deg": None,
        "pins": Pins(count=0, positions_px=(), positions_mm=()),
        "foot": Foot(side="none", pitch_mm=None, pitch_px=None, pitch_sd_mm=None, pins=0),
        "ground": None,
        "repeat": None,
        "pairs": None,
        "thread": None,
    }
    stated = with_techniques("honeycomb_ground", "corner")
    assert check(stated, measured(**nothing)).keys() == {"no-pinholes"}


def test_a_ground_that_may_be_a_stretched_one_of_45_is_only_asked_about_in_the_report() -> None:
    asked = MeasuredStretch(told_by="ground", along_percent=-2.9, sd_percent=0.02)
    assert check(AGREEING, measured(stretch=asked)) == {}


def test_pins_may_repeat_more_often_than_the_lace() -> None:
    """Two repeats worked in two ways on the same pins are one repeat of the lace."""
    twice = AGREEING.model_copy(update={"size": Size(repeat_mm=28.0)})
    assert check(twice, measured()) == {}


def test_a_repeat_stated_much_too_short_is_told_beside_one_whole_repeat() -> None:
    short = AGREEING.model_copy(update={"size": Size(repeat_mm=5.0)})
    assert "nearest whole number of these is 14.0 mm" in check(short, measured())["repeat-differs"]


@pytest.mark.parametrize(("stated", "differs"), [(14.45, False), (14.55, True)])
def test_half_a_millimetre_of_a_short_repeat_is_no_difference(stated: float, differs: bool) -> None:
    """3 % of 14 mm would be less."""
    near = AGREEING.model_copy(update={"size": Size(repeat_mm=stated)})
    assert ("repeat-differs" in check(near, measured())) == differs


@pytest.mark.parametrize(("stated", "differs"), [(8.1, False), (7.9, True)])
def test_two_millimetres_of_a_narrow_lace_are_no_difference(stated: float, differs: bool) -> None:
    """A tenth of 8 mm would be less."""
    narrow = Pins(count=2, positions_px=((0.0, 0.0), (100.0, 900.0)), positions_mm=None)
    near = AGREEING.model_copy(update={"size": Size(width_mm=stated)})
    assert ("width-differs" in check(near, measured(pins=narrow))) == differs


def test_a_gimp_leaves_no_holes_to_be_missed() -> None:
    assert check(with_techniques("gimp", "paired_gimps"), measured()) == {}


@pytest.mark.parametrize("figure", ["honeycomb_ring", "pin_chain", "isolated_honeycomb_stitch"])
def test_a_small_figure_of_honeycomb_may_hide_in_the_ground(figure: str) -> None:
    assert check(with_techniques("honeycomb_ground", figure), measured()) == {}


@pytest.mark.parametrize("technique", ["honeycomb_ring", "kat_stitch", "mayflower"])
def test_a_net_with_holes_left_out_may_be_another_technique_of_the_record(technique: str) -> None:
    assert check(with_techniques(technique), measured(areas=(NET,))) == {}


def test_honeycomb_named_as_optional_is_not_missed() -> None:
    optional = TechniqueUse(technique="honeycomb_ground", role="optional")
    assert check(AGREEING.model_copy(update={"techniques": (optional,)}), measured()) == {}


def test_the_width_of_a_corner_sheet_is_not_that_of_the_lace() -> None:
    corner = AGREEING.model_copy(update={"kind": "corner_edging", "size": Size(width_mm=5.0)})
    assert check(corner, measured(corner=MeasuredCorner(present=True))) == {}


def test_a_corner_may_have_a_sheet_of_its_own() -> None:
    corner = AGREEING.model_copy(update={"kind": "corner_edging"})
    assert check(corner, measured(), measured(corner=MeasuredCorner(present=True))) == {}


def test_a_corner_is_not_missed_while_a_sheet_is_not_measured() -> None:
    corner = AGREEING.model_copy(update={"kind": "corner_edging"})
    assert check(corner, measured(), None).keys() == {"not-measured"}


def test_one_thread_that_suits_the_sheet_is_enough() -> None:
    threads = (Thread(label="stout", wraps_per_cm=20), Thread(label="fine", wraps_per_cm=30))
    assert check(AGREEING.model_copy(update={"threads": threads}), measured()) == {}


def test_the_thread_of_the_gimp_is_not_the_thread_of_the_ground() -> None:
    threads = (Thread(label="stout", wraps_per_cm=12, use="gimp"),)
    assert check(AGREEING.model_copy(update={"threads": threads}), measured()) == {}


def test_a_thread_known_by_its_number_is_told_as_an_estimate() -> None:
    """Linen 35/2 NeL has 20 wraps per cm. Source: textileschool.com, thread numbering system."""
    threads = (Thread(label="linen NeL 35/2"),)
    said = check(AGREEING.model_copy(update={"threads": threads}), measured())
    assert "about 20 by its number (17 to 22, an estimate)" in said["thread-differs"]


def test_a_number_given_as_about_may_be_a_little_out() -> None:
    about = Pairs(stated=PairCount(most=17, about=True))
    assert check(AGREEING.model_copy(update={"pairs": about}), measured()) == {}


def test_many_doubts_are_counted_and_not_all_listed() -> None:
    told = check(AGREEING, measured(doubts=(DOUBT,) * (MOST_PLACES + 5)))["doubts-left"]
    assert told.count("a hole seems missing") == MOST_PLACES
    assert told.startswith(f"{MOST_PLACES + 5} places")
    assert told.endswith("and 5 more.")


@given(doubts=st.integers(0, 5), corrections=st.integers(0, 5))
def test_each_correction_answers_for_one_doubt(doubts: int, corrections: int) -> None:
    entry = AGREEING.model_copy(update={"corrections": (Correction(fault="One."),) * corrections})
    assert bool(check(entry, measured(doubts=(DOUBT,) * doubts))) == (doubts > corrections)


@given(width=st.floats(1, 100), repeat=st.floats(1, 100), percent=st.floats(0, 99))
def test_a_wider_tolerance_never_finds_more(width: float, repeat: float, percent: float) -> None:
    entry = AGREEING.model_copy(update={"size": Size(width_mm=width, repeat_mm=repeat)})
    codes = [
        {
            finding.code
            for finding in compare(
                entry,
                [Sheet(SCAN, measured())],
                Checking(width_percent=allowed, repeat_percent=allowed),
            )
        }
        for allowed in (percent, percent + 1)
    ]
    assert codes[1] <= codes[0]


@given(tilt=st.floats(-89, 89))
def test_turning_the_scan_keeps_the_width(tilt: float) -> None:
    turn = math.radians(-tilt)
    turned = tuple(
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        for x, y in ((0.0, 0.0), (200.0, 900.0))
    )
    found = measured(tilt_deg=tilt, pins=Pins(count=2, positions_px=turned, positions_mm=None))
    assert check(AGREEING, found) == {}
