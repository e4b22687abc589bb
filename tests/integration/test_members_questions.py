"""What members ask their librarian, asked of the demo guild's collection.

The right answers are worked out from the guild's list by a plain reading (`listed.py`).
"""

from collections.abc import Callable, Iterable

import pytest

from tests.integration.conftest import Demo
from tests.integration.listed import (
    Listed,
    names_of,
    narrower,
    needs_something,
    rows,
    terms_before,
    truth,
)

FIBRE_TEX_TIMES_NUMBER = {"NeL": 1653.5, "Ne": 590.5}
"""Linear density in tex of number 1: a lea of 300 yards, a hank of 840 yards to the pound.

Source: the definitions of the counts, with 1 pound = 453.59237 g and 1 yard = 0.9144 m.
"""


def listed(meets: Callable[[Listed], bool]) -> set[str]:
    """The shelfmarks of the rows that meet a condition; a question without any asks nothing."""
    found = {row.shelfmark for row in rows().values() if meets(row)}
    assert found
    assert len(found) < len(rows())
    return found


def uses(row: Listed, technique: str) -> bool:
    return not narrower(technique).isdisjoint(row.techniques)


def up_to(number: float | None, most: float) -> bool:
    return number is not None and number <= most


def test_something_with_picots_but_no_gimp_under_twenty_pairs(demo: Demo) -> None:
    found = demo.find("--technique", "picot", "--without-technique", "gimp", "--pairs", "-20")
    assert found == listed(
        lambda row: (
            uses(row, "picot") and not (row.gimp or uses(row, "gimp")) and up_to(row.pairs, 20)
        )
    )


def test_what_nobody_has_said_of_gimps_is_not_taken_for_a_no(demo: Demo) -> None:
    found = demo.find("--technique", "picot", "--no-gimp", "--pairs", "-20")
    assert found == listed(
        lambda row: uses(row, "picot") and row.says_no_gimp and up_to(row.pairs, 20)
    )


def test_what_comes_after_honeycomb_rings(demo: Demo) -> None:
    """Exactly the patterns that bring one or two techniques which are neither known nor needless.

    Known is what was learnt, what the lesson used beside it, and all that these build on; what
    builds on nothing is known to everyone.
    """
    told = demo.ask("next", "honeycomb rings", "--json")
    assert (told.code, told.err) == (0, "")
    plan = told.json
    beside = {lesson for taken in plan["taken_as_known"] for lesson in taken["techniques"]}
    known = with_foundations({"honeycomb_ring", *beside})
    for row in rows().values():
        needed = with_foundations(row.at_least) - known
        new = {technique for technique in needed if needs_something(technique)}
        steps = [step for step in plan["patterns"] if step["shelfmark"] == row.shelfmark]
        assert [set(step["new"]) for step in steps] == ([new] if 1 <= len(new) <= 2 else [])
    assert {"pin_chain", "isolated_honeycomb_stitch"} <= set(plan["opened"])
    best = rows()[plan["patterns"][0]["shelfmark"]]
    assert best.techniques & {"pin_chain", "isolated_honeycomb_stitch"}, "it builds on the rings"


def with_foundations(techniques: Iterable[str]) -> set[str]:
    known = set(techniques)
    return known.union(*(terms_before(technique) for technique in known))


def test_a_torchon_edging_with_a_corner_about_25_mm_wide(demo: Demo) -> None:
    found = demo.find("--family", "torchon", "--corner", "--width", "23-27")
    assert found == listed(
        lambda row: (
            "torchon" in row.families
            and row.corner
            and row.width_mm is not None
            and 23 <= row.width_mm <= 27
        )
    )


@pytest.mark.parametrize("designer", ["K. B.", "E. T.", "V. H.", "A. C."])
def test_which_of_ours_are_by_a_designer(demo: Demo, designer: str) -> None:
    """Names of one letter are words like any others."""
    told = demo.ask("find", designer, "--json").json
    words = designer.lower().replace(".", "")
    by_them = {hit["shelfmark"] for hit in told["hits"] if f"designer: {words}" in hit["matched"]}
    expected = listed(lambda row: row.designer == designer)
    assert by_them == expected
    first = [hit["shelfmark"] for hit in told["hits"][: len(expected)]]
    assert set(first) == expected, "they come before chance finds"


def test_i_have_60_2_linen_asks_for_the_system_before_it_answers(demo: Demo) -> None:
    told = demo.ask("find", "--thread", "60/2 linen")
    assert (told.code, told.out) == (2, "")
    problem, advice = told.err.splitlines()
    assert problem == "“60/2 linen” does not say how thick the thread is."
    assert "“80/2 NeL” for linen" in advice


def test_i_have_60_2_nel(demo: Demo) -> None:
    """Threads of the same label are found; the same number in another system is not."""
    found = demo.find("--thread", "60/2 NeL")
    by_their_sheet = {sheet["shelfmark"] for sheet in truth() if sheet["ground"]}
    assert found >= listed(
        lambda row: row.thread == "linen NeL 60/2" and row.shelfmark not in by_their_sheet
    )
    assert found.isdisjoint(listed(lambda row: row.thread == "cotton Ne 60/2" and not row.is_drawn))
    for mark in found - by_their_sheet:
        assert 0.5 < _tex(rows()[mark].thread) / _tex("linen NeL 60/2") < 2


def _tex(label: str) -> float:
    """Linear density of a label such as “linen NeL 60/2”, by its definition."""
    _, system, number = label.split()
    single, plies = number.split("/")
    return FIBRE_TEX_TIMES_NUMBER[system] / int(single) * int(plies)


def test_what_can_i_make_with_a_thread_of_25_to_30_wraps(demo: Demo) -> None:
    """On a measured sheet by the house rule: 10 to 12 wraps a footside gap, 8 to 10 off 45°."""
    found = demo.find("--wraps", "25-30")
    for sheet in truth():
        has_scale = sheet["px_per_mm"] is None or sheet["dpi_in_file"] is not None
        if sheet["ground"] and not sheet["round"] and has_scale:
            fewest, most = (10, 12) if sheet["ground"]["angle_deg"] == 45 else (8, 10)
            gap_cm = sheet["foot"]["pitch_mm"] / 10
            fits = fewest / gap_cm <= 30 and most / gap_cm >= 25
            assert (sheet["shelfmark"] in found) == fits, sheet["shelfmark"]


@pytest.mark.parametrize("mark", sorted(rows()))
def test_is_it_free_to_copy_for_my_class(demo: Demo, mark: str) -> None:
    """What is written is said in plain words; where nothing is written, that is said."""
    shown = demo.ask("show", mark).out
    design, working_up, pricking = rows()[mark].rights
    plain = {
        "CC0": "The maker has given up all rights.",
        "CC BY": "Free to copy and change, naming the maker.",
        "in copyright": "Protected; ask the holder before copying.",
        "©": "Protected; ask the holder before copying.",
        "not evaluated": "Nobody has looked into it yet.",
    }
    for label, cell in (
        ("rights, design", design),
        ("rights, working up", working_up),
        ("rights, pricking", pricking),
    ):
        line = " ".join(_after(shown, label).split())
        if cell is None or cell == "old":
            assert line == "", "“old” settles no rights"
        else:
            sentence = next(told for words, told in plain.items() if cell.startswith(words))
            assert line.endswith(sentence), line
    if not any(rows()[mark].rights) or set(rows()[mark].rights) == {None, "old"}:
        assert "Nobody has looked into them: ask before copying." in shown


def _after(shown: str, label: str) -> str:
    """What stands behind a label, on its line and on those that go on from it."""
    told: list[str] = []
    for line in shown.splitlines():
        if line.startswith(f"{label} "):
            told = [line.removeprefix(label)]
        elif told and line.startswith("  "):
            told.append(line)
        elif told:
            break
    return " ".join(told)


def test_the_same_pricking_in_two_threads(demo: Demo) -> None:
    pairs = {
        (row.shelfmark, row.goes_with.removeprefix("same pricking as "))
        for row in rows().values()
        if row.goes_with.startswith("same pricking as ")
    }
    assert pairs == {("P-04", "P-04a"), ("P-04a", "P-04")}
    for mark, other in pairs:
        related = demo.ask("show", mark, "--json").json["related"]
        assert related == [{"kind": "same pricking in another thread", "shelfmark": other}]
        assert demo.ask("show", mark, "--json").json["threads"][0]["label"] == rows()[mark].thread
    assert rows()["P-04"].thread != rows()["P-04a"].thread


def test_anything_with_a_spider_but_no_rose_ground(demo: Demo) -> None:
    found = demo.find("--technique", "spider", "--without-technique", "rose ground")
    assert found == listed(lambda row: uses(row, "spider") and not uses(row, "rose_ground"))
    assert found == demo.find("--technique", "Spinne", "--without-technique", "Rosengrund")


@pytest.mark.parametrize("box", ["Box 12", "Box 1", "Box 20", "Box 5"])
def test_the_patterns_in_a_box(demo: Demo, box: str) -> None:
    """Box 1 is not Box 12."""
    found = demo.find("--place", box.lower())
    assert found == listed(lambda row: row.box.split(",")[0] == box)


def test_we_have_this_twice(demo: Demo) -> None:
    """The title finds both sheets, and the record says which is the copy."""
    copies = {
        row.shelfmark: row.goes_with.removeprefix("copy of ")
        for row in rows().values()
        if row.goes_with.startswith("copy of ")
    }
    assert copies
    for copy, original in copies.items():
        assert demo.ask("show", copy, "--json").json["related"] == [
            {"kind": "copy of", "shelfmark": original}
        ]
        if rows()[copy].title:
            assert demo.find(*rows()[copy].title.split()) == {copy, original}


def test_an_insertion_to_match_an_edging(demo: Demo) -> None:
    """The list only says “companion to”; what the other one is decides what to call it."""
    companions = {
        row.shelfmark: row.goes_with.removeprefix("companion to ")
        for row in rows().values()
        if row.goes_with.startswith("companion to ")
    }
    matched = 0
    for mark, other in companions.items():
        kind = "insertion" if rows()[other].kind == "insertion" else "edging"
        assert _after(demo.ask("show", mark).out, f"companion {kind}").strip() == other
        matched += kind == "insertion"
    assert matched


def test_what_is_a_nook_pin_in_german(demo: Demo) -> None:
    """The vocabulary knows no such word, and says so instead of making one up."""
    assert "de" not in names_of("nook_pin")
    told = demo.ask("vocabulary", "nook pin").out
    assert "German" in _after(told, "no name known in")
    assert names_of("half_stitch")["de"][0] in _after(
        demo.ask("vocabulary", "half stitch").out, "German"
    )


@pytest.mark.parametrize("mark", ["P-12", "T-07", "M-04", "B-01"])
def test_where_is_the_pricking_for_this_lace(demo: Demo, mark: str) -> None:
    """By its title to the record, and by the record to the box."""
    row = rows()[mark]
    assert demo.find(*row.title.split()) >= {mark}
    assert " ".join(_after(demo.ask("show", mark).out, "place (internal)").split()) == row.box


def test_the_old_strips_of_parchment(demo: Demo) -> None:
    assert demo.find("parchment") == listed(lambda row: "parchment" in row.material)


def test_corner_edgings_of_point_ground_for_somebody_who_is_not_afraid(demo: Demo) -> None:
    """A broader family includes the narrower ones: Bucks point is point ground."""
    found = demo.find("--family", "point ground", "--corner", "--difficulty", "3-4")
    assert found == listed(
        lambda row: (
            bool(row.families & {"point_ground", "bucks"})
            and row.corner
            and row.level in {"3", "4", "hard"}
        )
    )


def test_the_list_and_its_plain_reading_say_the_same(demo: Demo) -> None:
    """Else the answers above would agree by chance."""
    for mark, row in rows().items():
        record = demo.ask("show", mark, "--json").json
        stated = record["pairs"]["stated"]
        needed = stated and (stated["most"] if stated["most"] is not None else stated["start"])
        assert needed == row.pairs, mark
        assert record["size"]["width_mm"] == pytest.approx(row.width_mm, abs=0.06), mark
        assert {use["technique"] for use in record["techniques"]} >= row.techniques, mark
        assert frozenset(record["families"]) == row.families, mark
        assert record["kind"] == row.kind, mark
