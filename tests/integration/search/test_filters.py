"""What each filter finds, what it leaves out, and how an uncertain figure is told."""

from typing import Any

import pytest

from archive.records import Entry
from archive.search import Answer, Range
from tests.integration.search.conftest import Ask


def entry(shelfmark: str, **fields: Any) -> Entry:
    return Entry.model_validate({"shelfmark": shelfmark, **fields})


def using(shelfmark: str, *techniques: str, **fields: Any) -> Entry:
    return entry(shelfmark, techniques=[{"technique": one} for one in techniques], **fields)


def thread(label: str, **fields: Any) -> dict[str, Any]:
    return {"label": label, **fields}


def marks(answer: Answer) -> list[str]:
    return [hit.shelfmark for hit in answer.hits]


def measured(**fields: Any) -> dict[str, Any]:
    return {"sha256": "0" * 64, "analyser": "1", "pins": 9, **fields}


def test_a_broader_technique_includes_the_narrower_and_says_which(ask: Ask) -> None:
    answer = ask([using("A", "honeycomb_ring"), using("B", "picot")], techniques=("ground",))
    assert marks(answer) == ["A"]
    assert answer.hits[0].matched == ("ground: honeycomb ring",)


def test_all_any_and_no_technique(ask: Ask) -> None:
    three = [using("A", "picot", "gimp"), using("B", "picot"), using("C", "spider")]
    assert marks(ask(three, techniques=("picot", "gimp"))) == ["A"]
    assert marks(ask(three, any_techniques=("gimp", "spider"))) == ["A", "C"]
    assert marks(ask(three, techniques=("picot",), without_techniques=("gimp",))) == ["B"]


def test_a_counted_gimp_is_a_gimp_even_if_no_technique_says_so(ask: Ask) -> None:
    three = [
        using("A", "picot", gimps={"singles": 1}),
        using("B", "picot", gimps={}),
        using("C", "picot"),
    ]
    assert marks(ask(three, techniques=("gimp",))) == ["A"]
    assert marks(ask(three, words="gimp")) == ["A"]
    assert marks(ask(three, without_techniques=("gimp",))) == ["B", "C"]


def test_without_excludes_what_is_known_to_be_used_and_nothing_else(ask: Ask) -> None:
    """A technique that is listed counts, even where the gimps are said to be none."""
    two = [using("A", "paired_gimps", gimps={}), entry("B")]
    assert marks(ask(two, without_techniques=("gimp",))) == ["B"]


@pytest.mark.parametrize(
    ("asked", "found"), [(True, ["A"]), (False, ["B"]), (None, ["A", "B", "C"])]
)
def test_what_nobody_has_said_is_neither_yes_nor_no(
    ask: Ask, asked: bool | None, found: list[str]
) -> None:
    three = [
        entry("A", gimps={"pairs": 1}, corner=True),
        entry("B", gimps={}, corner=False),
        entry("C"),
    ]
    assert marks(ask(three, gimp=asked)) == found
    assert marks(ask(three, corner=asked)) == found


def test_an_edging_with_a_corner_has_one_unless_the_record_denies_it(ask: Ask) -> None:
    three = [
        entry("A", kind="corner_edging"),
        entry("B", kind="corner_edging", corner=False),
        using("C", "corner"),
    ]
    assert marks(ask(three, corner=True)) == ["A", "C"]
    assert marks(ask(three, kinds=("edging",))) == ["A", "B"]


def test_one_of_several_families_is_enough(ask: Ask) -> None:
    three = [entry("A", families=["bucks", "torchon"]), entry("B", families=["lille"]), entry("C")]
    assert marks(ask(three, families=("point_ground",))) == ["A", "B"]
    assert marks(ask(three, families=("torchon", "lille"))) == ["A", "B"]
    assert marks(ask(three, families=("torchon",))) == ["A"]


def test_counted_pairs_count_before_stated_and_stated_before_estimated(ask: Ask) -> None:
    estimate = {"value": 30, "low": 26, "high": 34}
    three = [
        entry("A", pairs={"counted": {"most": 10}, "stated": {"most": 20}, "estimated": estimate}),
        entry("B", pairs={"stated": {"start": 20}, "estimated": estimate}),
        entry("C", pairs={"estimated": estimate}),
        entry("D"),
    ]
    assert marks(ask(three, pairs=Range(10, 10))) == ["A"]
    assert marks(ask(three, pairs=Range(None, 20))) == ["A", "B"]
    answer = ask(three, pairs=Range(21, None))
    assert [(hit.shelfmark, hit.pairs, hit.matched) for hit in answer.hits] == [
        ("C", 30, ("pairs: 30 estimated (26–34)",))
    ]


def test_the_width_of_the_sheet_stands_in_for_an_unknown_width(ask: Ask) -> None:
    two = [
        entry("A", size={"width_mm": 25}, measured=measured(width_mm=40)),
        entry("B", measured=measured(width_mm=24.6)),
        entry("C"),
    ]
    answer = ask(two, width_mm=Range(20, 30))
    assert [hit.matched for hit in answer.hits] == [(), ("width: 25 mm measured on the sheet",)]


def test_wraps_are_measured_else_by_the_sheet_else_by_the_number(ask: Ask) -> None:
    """80/2 NeL is 41.3 tex, about 29.6 wraps per cm.

    Source: textileschool.com, thread numbering system, which gives 30 wraps.
    """
    numbered = thread("80/2 linen", system="NeL", count=80, plies=2)
    sheet = measured(wraps_per_cm_low=18, wraps_per_cm_high=22)
    five = [
        entry("A", threads=[thread("fine", wraps_per_cm=28), numbered], measured=sheet),
        entry("B", threads=[numbered], measured=sheet),
        entry("C", threads=[numbered]),
        entry("D", threads=[thread("80/2 linen", count=80, plies=2)]),
        entry("E"),
    ]
    fine = ask(five, wraps=Range(27, 30))
    assert [(hit.shelfmark, hit.matched) for hit in fine.hits] == [
        ("A", ()),
        ("C", ("thread: 25–34 wraps per cm, estimated from its number",)),
    ]
    coarse = ask(five, wraps=Range(None, 20))
    assert [(hit.shelfmark, hit.matched) for hit in coarse.hits] == [
        ("B", ("thread: 18–22 wraps per cm, estimated by the footside of the sheet",))
    ]


def test_each_of_two_threads_is_found_but_nothing_between_them(ask: Ask) -> None:
    two = [entry("A", threads=[thread("fine", wraps_per_cm=36), thread("thick", wraps_per_cm=20)])]
    assert marks(ask(two, wraps=Range(35, 40))) == ["A"]
    assert marks(ask(two, wraps=Range(15, 20))) == ["A"]
    assert marks(ask(two, wraps=Range(25, 30))) == []


def test_a_gimp_thread_is_not_the_thread_of_the_ground(ask: Ask) -> None:
    one = [
        entry("A", threads=[thread("thick", wraps_per_cm=12, use="gimp")]),
        entry("B", threads=[thread("fine", wraps_per_cm=12, use="ground")]),
    ]
    assert marks(ask(one, wraps=Range(10, 14))) == ["B"]


def test_a_label_that_states_its_system_or_wraps_is_enough(ask: Ask) -> None:
    two = [
        entry("A", threads=[thread("80/2 NeL")]),
        entry("B", threads=[thread("28 wraps per cm")]),
        entry("C", threads=[thread("80/2", system="of the old firm", count=80, plies=2)]),
    ]
    assert marks(ask(two, wraps=Range(28, 28))) == ["A", "B"]


def test_a_place_is_found_by_words_that_stand_together(ask: Ask) -> None:
    three = [
        entry("A", internal={"location": "Box 12, folder 3"}),
        entry("B", internal={"location": "Box 1, folder 12"}),
        entry("C", internal={"location": "box 120"}),
        entry("D"),
    ]
    assert marks(ask(three, place="box 12")) == ["A"]
    assert marks(ask(three, place="Box-12")) == ["A"]
    assert marks(ask(three, place="folder 12")) == ["B"]


def test_a_place_never_stands_in_an_answer(ask: Ask) -> None:
    one = [entry("A", title="Fern", internal={"location": "canary drawer"})]
    answer = ask(one, place="canary drawer", words="fern", facets=True)
    assert answer.total == 1
    assert "canary" not in repr(answer)


def test_only_an_attached_pricking_is_one(ask: Ask) -> None:
    def attached(role: str) -> list[dict[str, Any]]:
        file = {"sha256": "0" * 64, "file_name": "a.png", "media_type": "image/png"}
        return [{**file, "size_bytes": 1, "role": role}]

    three = [
        entry("A", attachments=attached("pricking")),
        entry("B", attachments=attached("photograph")),
        entry("C"),
    ]
    assert marks(ask(three, with_pricking=True)) == ["A"]
    assert marks(ask(three, with_pricking=False)) == ["B", "C"]


def test_every_order_puts_what_is_unknown_last_and_equals_by_shelfmark(ask: Ask) -> None:
    four = [
        entry("P 10", title="Aster", difficulty={"level": 2}),
        entry("P 9", title="Zinnia", pairs={"stated": {"most": 8}}, size={"width_mm": 30}),
        entry("P 11", title="Östra", pairs={"stated": {"most": 6}}, size={"width_mm": 9}),
        entry("P 8", difficulty={"level": 1}),
    ]
    orders = {
        "fit": ["P 8", "P 9", "P 10", "P 11"],
        "shelfmark": ["P 8", "P 9", "P 10", "P 11"],
        "title": ["P 10", "P 11", "P 9", "P 8"],
        "difficulty": ["P 8", "P 10", "P 9", "P 11"],
        "pairs": ["P 11", "P 9", "P 8", "P 10"],
        "width": ["P 11", "P 9", "P 8", "P 10"],
    }
    assert {sort: marks(ask(four, sort=sort)) for sort in orders} == orders


def test_a_limit_shortens_the_hits_and_not_the_total(ask: Ask) -> None:
    answer = ask([entry(f"P {number}") for number in range(5)], limit=2)
    assert (answer.total, marks(answer)) == (5, ["P 0", "P 1"])


THREE = (
    using("A", "picot", "honeycomb_ring", kind="mat", difficulty={"level": 1}),
    using("B", "picot", kind="edging", difficulty={"level": 2}, corner=False),
    using("C", "spider", kind="corner_edging", pairs={"stated": {"most": 10}}),
)


def test_a_technique_counts_what_asking_for_it_too_would_leave(ask: Ask) -> None:
    facets = ask(THREE, techniques=("picot",), facets=True).facets
    assert facets is not None
    assert facets["technique"] == [
        ("picot", "picot", 2), ("ground", "ground", 1),
        ("honeycomb_ground", "honeycomb", 1), ("honeycomb_ring", "honeycomb ring", 1),
    ]  # fmt: skip


def test_any_other_choice_counts_what_choosing_it_instead_would_leave(ask: Ask) -> None:
    facets = ask(THREE, kinds=("mat",), facets=True).facets
    assert facets is not None
    assert facets["kind"] == [
        ("edging", "edging", 2), ("corner_edging", "edging with a corner", 1),
        ("mat", "mat", 1),
    ]  # fmt: skip
    assert facets["level"] == [("1", "first steps", 1)]


def test_bands_of_pairs_are_ranges_that_can_be_asked_for(ask: Ask) -> None:
    many = [entry(f"P {n}", pairs={"stated": {"most": n}}) for n in range(1, 75)]
    facets = ask(many, facets=True).facets
    assert facets is not None
    assert facets["pairs"] == [
        ("-10", "up to 10 pairs", 10), ("11-20", "11 to 20 pairs", 10),
        ("21-30", "21 to 30 pairs", 10), ("31-40", "31 to 40 pairs", 10),
        ("41-60", "41 to 60 pairs", 20), ("61-", "61 pairs and more", 14),
    ]  # fmt: skip


def test_the_unknown_is_counted_on_neither_side(ask: Ask) -> None:
    facets = ask(THREE, facets=True).facets
    assert facets is not None
    assert facets["corner"] == [("yes", "with a corner", 1), ("no", "without a corner", 1)]


def test_no_facets_are_counted_unless_asked_for(ask: Ask) -> None:
    assert ask(THREE).facets is None


def test_an_empty_collection_has_empty_facets(ask: Ask) -> None:
    answer = ask([], facets=True)
    assert answer.total == 0
    assert answer.facets is not None
    assert not any(answer.facets.values())
