"""`prickings demo` builds what the recipes and the list say, and measures it rightly.

The truth of every sheet is `demo_collection/truth.json`, written when the sheets were drawn. What
the analyser does not reach yet stands in `NOT_YET` by sheet; a sheet that is reached by now makes
its test fail until it is taken off that list.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from archive.records.measurement import Measurement
from archive.store import open_collection
from tests.cli.running import content_of, run
from tests.integration.conftest import Demo
from tests.integration.listed import DEMO, rows, truth

PX_PER_MM_DRAWN = 96 / 25.4
"""A drawing's pixels. Source: CSS Values and Units, section 6.2: 1in = 96px."""

ANGLE_DEG = 0.05
SHARE = 0.002
"""How far angles (in degrees) and lengths (as a share) may lie beside the truth."""

SHEETS = {sheet["shelfmark"]: sheet for sheet in truth()}
ROUNDS = [mark for mark, sheet in SHEETS.items() if sheet["round"]]
STRAIGHT = [mark for mark in SHEETS if mark not in ROUNDS]
GROUNDS = [mark for mark in STRAIGHT if SHEETS[mark]["ground"]]
REPEATING = [mark for mark in STRAIGHT if SHEETS[mark]["repeat"]]


def straight_on_both_sides(mark: str) -> bool:
    """Whether as many pins stand furthest out on the left as on the right."""
    across = np.array(SHEETS[mark]["pins"]["positions_mm"])[:, 0]
    left, right = (np.isclose(across, edge()).sum() for edge in (across.min, across.max))
    return bool(left == right)


ALIKE = [
    mark
    for mark in GROUNDS
    if "torchon" in SHEETS[mark]["families"] and straight_on_both_sides(mark)
]
"""Sheets on which the edge pins of both sides stand on the ground's own places."""

FAULTY = [mark for mark, sheet in SHEETS.items() if sheet["faults"]]

LOST = "not every hole of this scan is found"
TOO_MANY = "the hole too many is not found"

NOT_YET: dict[str, dict[str, str]] = {
    "pins": {"L-02": LOST, "P-06": TOO_MANY},
    "pins of a repeat": {"L-02": LOST},
    "effort": {"L-02": LOST},
    "faults": {"P-06": TOO_MANY},
}
"""Figure → sheet → why it is not reached."""


@pytest.fixture(scope="session")
def measured(demo: Demo) -> dict[str, Measurement]:
    """What was found on the sheet of each record that has one."""
    with open_collection(demo.collection) as opened:
        return {
            entry.shelfmark: found
            for entry in opened.entries()
            for attachment in entry.attachments[:1]
            if (found := opened.get_measurement(attachment.sha256)) is not None
        }


def every(figure: str, marks: list[str]) -> pytest.MarkDecorator:
    """Run a test for each sheet; expect it to fail where the figure is not reached yet."""
    not_yet = NOT_YET.get(figure, {})
    return pytest.mark.parametrize(
        "mark",
        [
            pytest.param(
                mark,
                marks=pytest.mark.xfail(strict=True, reason=not_yet[mark])
                if mark in not_yet
                else (),
            )
            for mark in marks
        ],
    )


def px_per_mm(mark: str) -> float:
    """The scale of a sheet, whether its file tells it or not."""
    told: float | None = SHEETS[mark]["px_per_mm"]
    return PX_PER_MM_DRAWN if told is None else told


@cache
def to_px(mark: str) -> Any:
    """(3, 2) matrix that takes (x, y, 1) in mm on the paper to pixels of the turned scan."""
    pins = SHEETS[mark]["pins"]
    places = np.column_stack([pins["positions_mm"], np.ones(len(pins["positions_mm"]))])
    return np.linalg.lstsq(places, np.array(pins["positions_px"]), rcond=None)[0]


def test_the_demo_is_as_large_as_a_guild_s_small_collection(demo: Demo) -> None:
    assert (demo.told.code, demo.told.err) == (0, "")
    listed = rows().values()
    assert demo.told.out.startswith(
        f"The demo collection holds {len(listed)} patterns: {len(listed)} added, 0 changed and 0 "
        f"unchanged from the guild's list.\n{len(SHEETS)} sheets newly stored, {len(SHEETS)} newly "
        "measured, 0 measured before; "
    )
    assert len(listed) >= 60
    assert len(SHEETS) >= 40
    assert sum("point_ground" in sheet["families"] for sheet in SHEETS.values()) >= 24
    kinds = Counter(row.kind for row in listed if row.is_drawn and "point_ground" in row.families)
    assert kinds["insertion"] == 2
    assert kinds["corner_edging"] >= 1
    assert kinds["mat"] == kinds["bookmark"] == 1


def test_the_untidy_rows_are_told(demo: Demo) -> None:
    assert "row 54, B-02: refused, Row 53 has the same shelfmark" in demo.told.out
    assert "B-03, “Stitches”: honycomb rings" in demo.told.out
    assert "Did you mean “honeycomb ring”" in demo.told.out


def test_every_record_with_a_sheet_carries_its_own(demo: Demo) -> None:
    with open_collection(demo.collection) as opened:
        stored = {
            entry.shelfmark: [attachment.file_name for attachment in entry.attachments]
            for entry in opened.entries()
            if entry.attachments
        }
    assert stored == {mark: [Path(sheet["sheet"]).name] for mark, sheet in SHEETS.items()}


def test_a_second_run_changes_nothing(demo: Demo) -> None:
    """Not the catalogue's state, and no file of the collection is even written anew."""
    with open_collection(demo.collection) as opened:
        state = opened.state()
    site = content_of(demo.folder / "site")
    written = {path: path.stat().st_mtime_ns for path in demo.collection.rglob("*")}
    told = run("demo", str(demo.folder), "--json")
    assert (told.code, told.err) == (0, "")
    counts = ("added", "changed", "unchanged", "attached", "measured", "measured_before", "written")
    assert [told.json[name] for name in counts] == [0, 0, len(rows()), 0, 0, len(SHEETS), 0]
    with open_collection(demo.collection) as opened:
        assert opened.state() == state
    lock = demo.collection / "catalogue.lock"
    now = {path: path.stat().st_mtime_ns for path in demo.collection.rglob("*")}
    assert {**now, lock: 0} == {**written, lock: 0}
    assert content_of(demo.folder / "site") == site


def test_the_first_page_is_where_it_is_said_to_be(demo: Demo) -> None:
    page = demo.folder / "site" / "index.html"
    assert f"Open this page in a browser:  {page.resolve()}\n" in demo.told.out
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_the_question_that_is_proposed_can_be_asked(demo: Demo) -> None:
    proposed = demo.told.out.splitlines()[-1]
    assert proposed.startswith("Try a question:               prickings find --collection ")
    *_, question = proposed.partition(str(demo.collection))
    told = demo.ask("find", *question.split())
    assert told.code == 0
    assert "P-02       Catchwater" in told.out


@every("pins", list(SHEETS))
def test_every_hole_is_found_and_no_other(measured: dict[str, Measurement], mark: str) -> None:
    sheet = SHEETS[mark]
    kinds = Counter(fault["kind"] for fault in sheet["faults"])
    holes = sheet["pins"]["count"] - kinds["missing"] + kinds["extra"]
    assert measured[mark].pins.count == holes


@every("foot", [mark for mark in STRAIGHT if mark not in ALIKE])
def test_the_footside_is_found(measured: dict[str, Measurement], mark: str) -> None:
    foot = measured[mark].foot
    assert (foot.side, foot.perhaps_head) == (SHEETS[mark]["foot"]["side"], False)


@every("alike", ALIKE)
def test_a_straight_headside_that_no_pin_tells_from_a_footside_is_spoken_of(
    measured: dict[str, Measurement], mark: str
) -> None:
    """There is nothing to find: some move brings the true pins onto themselves, side for side."""
    assert true_moves(mark) & {"along", "turn", "glide"}
    foot = measured[mark].foot
    assert (foot.side, foot.perhaps_head) == ("both", True)
    assert measured[mark].head is None


def test_edgings_are_among_the_sheets_that_are_alike_on_both_sides() -> None:
    assert {SHEETS[mark]["foot"]["side"] for mark in ALIKE} == {"left", "right", "both"}


@every("foot pitch", [mark for mark in STRAIGHT if SHEETS[mark]["foot"]["pitch_mm"]])
def test_the_foot_pitch_is_right(measured: dict[str, Measurement], mark: str) -> None:
    pitch_mm = SHEETS[mark]["foot"]["pitch_mm"]
    assert measured[mark].foot.pitch_px == pytest.approx(pitch_mm * px_per_mm(mark), rel=SHARE)


@every("angle", GROUNDS)
def test_the_angle_of_the_ground_is_right(measured: dict[str, Measurement], mark: str) -> None:
    ground = measured[mark].ground
    assert ground is not None
    assert ground.angle_deg == pytest.approx(SHEETS[mark]["ground"]["angle_deg"], abs=ANGLE_DEG)


@every("ground pitch", GROUNDS)
def test_the_pitch_of_the_ground_is_right(measured: dict[str, Measurement], mark: str) -> None:
    ground = measured[mark].ground
    assert ground is not None
    pitch_px = SHEETS[mark]["ground"]["pitch_mm"] * px_per_mm(mark)
    assert ground.pitch_px == pytest.approx(pitch_px, rel=SHARE)


@every("no ground", [mark for mark in SHEETS if mark not in GROUNDS])
def test_no_lattice_is_seen_where_there_is_none(
    measured: dict[str, Measurement], mark: str
) -> None:
    assert measured[mark].ground is None


@every("tilt", [mark for mark, sheet in SHEETS.items() if sheet["tilt_deg"]])
def test_a_turned_scan_is_set_upright(measured: dict[str, Measurement], mark: str) -> None:
    """The truth counts the turn of the paper, the analyser the turn that takes it back."""
    tilt_deg = measured[mark].tilt_deg
    assert tilt_deg is not None
    assert abs(tilt_deg) == pytest.approx(abs(SHEETS[mark]["tilt_deg"]), abs=ANGLE_DEG)


@every("repeat", REPEATING)
def test_the_repeat_is_found(measured: dict[str, Measurement], mark: str) -> None:
    repeat, true = measured[mark].repeat, SHEETS[mark]["repeat"]
    assert repeat is not None
    assert repeat.length_px == pytest.approx(true["length_mm"] * px_per_mm(mark), rel=SHARE)
    if true["rows"] is not None:
        assert repeat.rows == true["rows"]


@every("pins of a repeat", REPEATING)
def test_the_pins_of_a_repeat_are_counted(measured: dict[str, Measurement], mark: str) -> None:
    """How many repeats there are round a corner depends on whose the mitre is: not asked there."""
    repeat, true = measured[mark].repeat, SHEETS[mark]["repeat"]
    assert repeat is not None
    assert repeat.pins == true["pins"]
    if not SHEETS[mark]["corner"]["present"]:
        assert repeat.count == true["count"]


@every("no repeat", [mark for mark in SHEETS if mark not in REPEATING])
def test_no_repeat_is_seen_where_there_is_none(measured: dict[str, Measurement], mark: str) -> None:
    """A redrawn corner keeps the whole sheet from repeating; its straight side may still do so."""
    repeat, sheet = measured[mark].repeat, SHEETS[mark]
    if sheet["corner"]["present"] and repeat is not None:
        drawn_px = sheet["drawn_repeat_mm"] * px_per_mm(mark)
        assert repeat.length_px == pytest.approx(drawn_px, rel=SHARE)
    else:
        assert repeat is None


HEADED = [
    mark
    for mark in GROUNDS
    if mark in REPEATING
    and mark not in ALIKE
    and SHEETS[mark]["foot"]["side"] != "both"
    and not SHEETS[mark]["corner"]["present"]
]


@every("head", HEADED)
def test_pins_and_scallops_of_the_headside_are_counted(
    measured: dict[str, Measurement], mark: str
) -> None:
    """As the recipe says that they are drawn; pins in a repeat from the middle of the sheet on."""
    sheet, found = SHEETS[mark], measured[mark].head
    assert found is not None
    pins = sheet["pins"]
    down = np.array(pins["positions_mm"])[:, 1]
    start = down.mean() + 0.01
    inside = (down >= start) & (down < start + sheet["repeat"]["length_mm"])
    head = np.isin(pins["roles"], ["picot", "nook", "fan"])
    assert found.pins_per_repeat == (head & inside).sum()
    recipe = tomllib.loads((DEMO / "recipes" / f"{mark.lower()}.toml").read_text(encoding="utf-8"))
    drawn = recipe["net"].get("head", {})
    scalloped = drawn.get("depth", 0) > 0
    assert found.scallops_per_repeat == (drawn.get("scallops", 1) if scalloped else 0)


@every("effort", REPEATING)
def test_the_pins_of_ten_centimetres_follow_from_the_repeat(
    measured: dict[str, Measurement], mark: str
) -> None:
    effort, repeat = measured[mark].effort, SHEETS[mark]["repeat"]
    assert effort is not None
    if measured[mark].scale.px_per_mm is None:
        assert effort.pins_per_10cm is None
    else:
        told = 100 * repeat["pins"] / repeat["length_mm"]
        assert effort.pins_per_10cm == pytest.approx(told, rel=SHARE)


STRIPS = [mark for mark in REPEATING if not SHEETS[mark]["corner"]["present"]]


@every("symmetry", STRIPS)
def test_the_symmetry_is_what_the_true_pins_have(
    measured: dict[str, Measurement], mark: str
) -> None:
    """Each move of the seven groups is tried, pin by pin, on the sound pins of the sheet.

    Source: International Tables for Crystallography, volume E: the moves of each group.
    """
    repeat = measured[mark].repeat
    assert repeat is not None
    moves = {
        "p1": set(),
        "p11g": {"glide"},
        "p1m1": {"across"},
        "p11m": {"along"},
        "p2": {"turn"},
        "p2mg": {"across", "glide", "turn"},
        "p2mm": {"across", "along", "turn"},
    }
    assert moves[repeat.symmetry or ""] == true_moves(mark)


def true_moves(mark: str) -> set[str]:
    """Moves that bring every pin of the middle repeat near a pin.

    Near is within an eighth of the distance of neighbours: pins spaced along a curve from its
    start are not quite mirrored.
    """
    pins = np.array(SHEETS[mark]["pins"]["positions_mm"])
    length_mm = SHEETS[mark]["repeat"]["length_mm"]
    (left, top), (right, low) = pins.min(axis=0), pins.max(axis=0)
    apart = np.hypot(*(pins[:, None] - pins).transpose(2, 0, 1))
    near_mm = np.median(np.sort(apart, axis=1)[:, 1]) / 8
    middle = (top + low) / 2
    inner = pins[np.abs(pins[:, 1] - middle) < length_mm / 2 - 1e-6]

    def keeps(across: int, along: int, shift_mm: float) -> bool:
        images = inner * (across, along) + (left + right if across < 0 else 0, shift_mm)
        images[:, 1] -= length_mm * np.round((images[:, 1] - middle) / length_mm)
        return bool(
            np.hypot(*(images[:, None] - pins).transpose(2, 0, 1)).min(axis=1).max() < near_mm
        )

    turns = np.unique(np.round(inner[0, 1] + pins[:, 1], 3))
    found = {"along"} if keeps(-1, 1, 0) else set()
    found |= {"glide"} if keeps(-1, 1, length_mm / 2) else set()
    found |= {"across"} if any(keeps(1, -1, shift) for shift in turns) else set()
    return found | ({"turn"} if any(keeps(-1, -1, shift) for shift in turns) else set())


@every("round", ROUNDS)
def test_a_mat_is_read_by_its_turn(measured: dict[str, Measurement], mark: str) -> None:
    """A ground bent to a ring has a pitch and an angle at every radius, and no side: none is told.

    Where the recipe names no repeat the sheet, a garland and a smaller one, comes again by halves.
    """
    found, sheet = measured[mark], SHEETS[mark]
    assert found.round is not None
    parts = sheet["repeat"]["count"] if sheet["repeat"] else 2
    assert found.round.parts == parts
    assert found.round.pins_per_part == sheet["pins"]["count"] / parts
    pins = np.array(sheet["pins"]["positions_mm"])
    across = 2 * np.hypot(*(pins - pins.mean(axis=0)).T).max()
    assert found.round.across_mm == pytest.approx(across, rel=SHARE)
    assert (found.foot.side, found.ground, found.repeat) == ("none", None, None)
    assert found.pairs is None


@every("rings", list(SHEETS))
def test_the_rings_are_counted(measured: dict[str, Measurement], mark: str) -> None:
    assert measured[mark].rings.model_dump() == SHEETS[mark]["rings"]


@every("corner", list(SHEETS))
def test_a_corner_is_seen_where_there_is_one(measured: dict[str, Measurement], mark: str) -> None:
    assert measured[mark].corner.present == SHEETS[mark]["corner"]["present"]


@every("pairs", list(SHEETS))
def test_the_pairs_lie_in_the_range_that_is_given(
    measured: dict[str, Measurement], mark: str
) -> None:
    """No wider than 15 % either way. None need be given: what nothing supports is left out."""
    pairs = measured[mark].pairs
    if pairs is None:
        assert mark not in GROUNDS, "the columns of a ground support an estimate"
        return
    assert pairs.low <= SHEETS[mark]["pairs"]["start"] <= pairs.high
    assert pairs.high - pairs.estimate <= 0.15 * pairs.estimate
    assert pairs.estimate - pairs.low <= 0.15 * pairs.estimate
    assert pairs.reasons


@every("faults", FAULTY)
def test_every_planted_fault_is_pointed_at(measured: dict[str, Measurement], mark: str) -> None:
    """Within half a foot pitch, and as what it is."""
    near_px = SHEETS[mark]["foot"]["pitch_mm"] * px_per_mm(mark) / 2
    for fault in SHEETS[mark]["faults"]:
        place = np.array([*fault["mm"], 1]) @ to_px(mark)
        assert [
            doubt
            for doubt in measured[mark].doubts
            if doubt.kind == fault["kind"]
            and np.hypot(doubt.x_px - place[0], doubt.y_px - place[1]) <= near_px
        ], (fault, measured[mark].doubts)


@every("no other doubt", list(SHEETS))
def test_nothing_else_is_doubted(measured: dict[str, Measurement], mark: str) -> None:
    assert len(measured[mark].doubts) <= len(SHEETS[mark]["faults"])


@every("scale", list(SHEETS))
def test_a_scale_is_told_where_the_file_tells_it_and_never_guessed(
    measured: dict[str, Measurement], mark: str
) -> None:
    found, sheet = measured[mark], SHEETS[mark]
    if sheet["px_per_mm"] is None:
        assert (found.scale.how, found.scale.px_per_mm) == (
            "drawing-units",
            pytest.approx(PX_PER_MM_DRAWN),
        )
    elif sheet["dpi_in_file"]:
        assert found.scale.how == "embedded"
        assert found.scale.px_per_mm == pytest.approx(sheet["dpi_in_file"] / 25.4, rel=SHARE)
    else:
        assert (found.scale.how, found.scale.px_per_mm) == ("unknown", None)
        lengths = (found.extent_mm, found.pins.positions_mm, found.foot.pitch_mm, found.thread)
        assert set(lengths) == {None}
