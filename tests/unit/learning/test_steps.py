import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.learning import Stairs, foundations, opened_by
from archive.records import Difficulty, Entry, PairCount, Pairs, TechniqueUse
from archive.vocabulary import techniques

IDS = [term.id for term in techniques()]


def entry(mark: str, *used: str, level: int | None = None, pairs: int | None = None) -> Entry:
    return Entry(
        shelfmark=mark,
        techniques=tuple(TechniqueUse(technique=technique) for technique in used),
        difficulty=Difficulty(level=level),
        pairs=Pairs(stated=PairCount(start=pairs)),
    )


@given(st.lists(st.sampled_from(IDS), max_size=4))
def test_foundations_are_the_ancestors_in_the_graph(known: list[str]) -> None:
    """The ancestors that networkx finds are the oracle."""
    graph = networkx.DiGraph()
    graph.add_nodes_from(IDS)
    for term in techniques():
        graph.add_edges_from((before, term.id) for before in term.prerequisites)
        if term.broader:
            graph.add_edge(term.broader, term.id)
    expected = {term.id for term in techniques() if not term.prerequisites} | set(known)
    for technique in known:
        expected |= networkx.ancestors(graph, technique)
    assert foundations(known) == expected


@pytest.mark.parametrize(
    ("learnt", "opened"),
    # Common practice, no source: what a teacher of point ground takes up after each
    [
        (["point_ground"], "catch_pin"),
        (["point_ground"], "honeycomb_ground"),
        (["honeycomb_ground", "gimp"], "honeycomb_ring"),
        (["honeycomb_ground", "gimp"], "pin_chain"),
        (["honeycomb_ring"], "pin_chain"),
    ],
)
def test_what_comes_next_is_what_teachers_take_up_next(learnt: list[str], opened: str) -> None:
    assert opened in opened_by(learnt)


def test_what_is_opened_belongs_to_the_same_lace() -> None:
    assert "torchon_ground" not in opened_by(["honeycomb_ring"])
    assert "torchon_ground" in opened_by(["half_stitch"])


def test_what_may_be_left_out_of_a_pattern_is_not_new_in_it() -> None:
    uses = [{"technique": "honeycomb_ring"}, {"technique": "tally", "role": "optional"}]
    pattern = Entry.model_validate({"shelfmark": "A", "techniques": uses})
    (step,) = Stairs([pattern]).after(["honeycomb_ground", "gimp"])
    assert step.new == ("honeycomb_ring",)


def test_the_easiest_lesson_in_a_technique_is_found() -> None:
    lessons = [
        Entry(
            shelfmark=mark,
            techniques=(TechniqueUse(technique="picot", role=role),),
            difficulty=Difficulty(level=level),
        )
        for mark, role, level in (("a", "practised", 1), ("b", "taught", 3), ("c", "taught", 2))
    ]
    stairs = Stairs(lessons)
    assert stairs.teaching("picot") == lessons[2]
    assert stairs.teaching("gimp") is None


def test_patterns_that_lead_on_come_first_then_the_easier_ones() -> None:
    steps = Stairs(
        [
            entry("far", "kat_stitch", "mayflower", "spider", "plait"),
            entry("aside", "picot", level=1, pairs=10),
            entry("hard", "honeycomb_ring", level=4, pairs=30),
            entry("easy", "honeycomb_ring", level=2, pairs=20),
            entry("unknown", "honeycomb_ring"),
            entry("known", "honeycomb_ground"),
        ]
    ).after(["honeycomb_ground", "gimp"])
    assert [step.entry.shelfmark for step in steps] == ["easy", "hard", "unknown", "aside"]
    assert steps[0].new == ("honeycomb_ring",)


def test_what_a_new_technique_needs_counts_as_new_too() -> None:
    assert Stairs([entry("P", "nook_pin")]).after(["point_ground"])[0].new == ("picot", "nook_pin")
    assert Stairs([entry("P", "valley_pairs")]).after(["point_ground"]) == []


@given(
    st.lists(st.lists(st.sampled_from(IDS), max_size=4), max_size=8),
    st.lists(st.sampled_from(IDS), max_size=3),
    st.integers(1, 4),
)
def test_a_step_brings_what_its_pattern_uses_less_what_is_known(
    patterns: list[list[str]], learnt: list[str], most_new: int
) -> None:
    """Plain sets are the oracle."""
    entries = [entry(f"P {number}", *used) for number, used in enumerate(patterns)]
    expected = {}
    for one in entries:
        new = foundations(one.technique_ids) - foundations(learnt)
        if 1 <= len(new) <= most_new:
            expected[one.shelfmark] = new
    steps = Stairs(entries).after(learnt, most_new=most_new)
    assert {step.entry.shelfmark: set(step.new) for step in steps} == expected
    fewest = Stairs(entries).after(learnt, most_new=most_new, most=1)
    assert fewest == steps[:1]
