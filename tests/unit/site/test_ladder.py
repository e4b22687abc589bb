from __future__ import annotations

import re

import networkx

from archive.site.ladder import BOX, all_before, builds_on, ladder_page, steps
from archive.site.links import technique_path
from archive.vocabulary import techniques


def _graph() -> networkx.DiGraph:
    graph = networkx.DiGraph()
    for technique in techniques():
        graph.add_node(technique.id)
        graph.add_edges_from((before, technique.id) for before in technique.prerequisites)
    return graph


def test_a_step_is_the_longest_way_up() -> None:
    """Reference: networkx's topological generations of the same graph."""
    generations = networkx.topological_generations(_graph())
    expected = {one: step for step, these in enumerate(generations) for one in these}
    assert dict(steps()) == expected


def test_what_comes_before_is_every_ancestor() -> None:
    """Reference: networkx."""
    graph = _graph()
    for technique in techniques():
        assert all_before(technique.id) == networkx.ancestors(graph, technique.id)
        assert set(builds_on()[technique.id]) == set(graph.successors(technique.id))


def test_a_strand_is_drawn_for_each_need_that_no_other_implies() -> None:
    """Reference: networkx's transitive reduction."""
    reduced = networkx.transitive_reduction(_graph())
    strands = [(strand.lower, strand.upper) for strand in ladder_page(lambda _: 0).strands]
    assert sorted(strands) == sorted(reduced.edges)


def test_every_strand_leads_rightwards_from_a_box_to_a_box() -> None:
    page = ladder_page(lambda _: 0)
    left = {(round(rung.x, 1), round(rung.y, 1)) for rung in page.rungs}
    for strand in page.strands:
        numbers = [float(one) for one in re.findall(r"-?\d+\.\d", strand.data)]
        assert (round(numbers[0] - BOX[0], 1), numbers[1]) in left
        assert (numbers[-2], numbers[-1]) in left
        assert numbers[-2] > numbers[0]


def test_boxes_do_not_overlap_and_stay_on_the_drawing() -> None:
    page = ladder_page(lambda _: 0)
    for one in page.rungs:
        assert 0 <= one.x <= page.width - BOX[0]
        assert BOX[1] / 2 <= one.y <= page.height - BOX[1] / 2
        for other in page.rungs:
            if other is not one and other.x == one.x:
                assert abs(other.y - one.y) >= BOX[1]


def test_the_list_of_steps_names_every_technique_once_with_the_drawing() -> None:
    page = ladder_page(lambda _: 0)
    listed = [term.link.path for step in page.steps for term in step]
    apart = [term.link.path for term in page.apart]
    assert sorted(listed) == sorted(rung.link.path for rung in page.rungs)
    assert sorted(listed + apart) == sorted(technique_path(one.id) for one in techniques())


def test_every_name_fits_its_box_in_full() -> None:
    for counted in (0, 9):
        for rung in ladder_page(lambda _, counted=counted: counted).rungs:  # type: ignore[misc]
            assert len(rung.lines) <= 2
            assert " ".join(rung.lines) == rung.link.words
