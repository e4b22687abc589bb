from __future__ import annotations

import random
import re
from itertools import combinations, pairwise

import networkx
import pytest

from archive.site.ladder import BOX_WIDTH, TONES, all_before, builds_on, ladder_page, steps
from archive.site.ladder_layout import BOX_HEIGHT, lay_out
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


def _corners(path: str) -> list[tuple[float, float]]:
    """Where a strand would turn if its bends were sharp, with its two ends."""
    (x, y), *rest = re.findall(r"([MHVQ])([^MHVQ]+)", path)
    assert x == "M"
    corners = [tuple(map(float, y.split()))]
    for command, numbers in rest:
        values = [float(number) for number in numbers.split()]
        if command == "Q":
            assert len(values) == 4
            corners.append((values[0], values[1]))
    corners.append((float(rest[-1][1]), corners[-1][1]))
    assert rest[-1][0] == "H"
    return [(corner[0], corner[1]) for corner in corners]


def test_every_strand_leads_rightwards_from_a_box_to_a_box() -> None:
    page = ladder_page(lambda _: 0)
    box = {rung.technique: rung for rung in page.rungs}
    for strand in page.strands:
        corners = _corners(strand.data)
        lower, upper = box[strand.lower], box[strand.upper]
        assert corners[0] == (lower.x + BOX_WIDTH, lower.y)
        assert corners[-1][0] == upper.x
        assert abs(corners[-1][1] - upper.y) < BOX_HEIGHT / 2
        for (x, y), (next_x, next_y) in pairwise(corners):
            assert next_x >= x
            assert next_x == x or next_y == y


def test_no_thread_lies_on_another_or_on_a_box() -> None:
    """Apart from the strands of one technique, which are one thread."""
    page = ladder_page(lambda _: 0)
    pieces = {
        (strand.lower, *sorted(piece))
        for strand in page.strands
        for piece in pairwise(_corners(strand.data))
    }
    for one, other in combinations(pieces, 2):
        if one[0] == other[0]:
            continue
        for along in (0, 1):
            beside = [abs(a[1 - along] - b[1 - along]) for a in one[1:] for b in other[1:]]
            overlap = min(one[2][along], other[2][along]) - max(one[1][along], other[1][along])
            assert max(beside) > 4 or overlap <= 0, (one, other)
    for _, (x, y), (next_x, next_y) in pieces:
        for rung in page.rungs:
            inside = x < rung.x + BOX_WIDTH and rung.x < next_x
            assert not inside or abs(rung.y - (y + next_y) / 2) > BOX_HEIGHT / 2


def test_all_strands_of_a_technique_have_one_of_the_colours() -> None:
    page = ladder_page(lambda _: 0)
    tone = {strand.lower: strand.tone for strand in page.strands}
    assert set(tone.values()) == set(range(TONES))
    assert {(strand.lower, strand.tone) for strand in page.strands} == set(tone.items())


def test_boxes_do_not_overlap_and_stay_on_the_drawing() -> None:
    page = ladder_page(lambda _: 0)
    for one in page.rungs:
        assert 0 <= one.x <= page.width - BOX_WIDTH
        assert BOX_HEIGHT / 2 <= one.y <= page.height - BOX_HEIGHT / 2
        for other in page.rungs:
            if other is not one and other.x == one.x:
                assert abs(other.y - one.y) >= BOX_HEIGHT


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


@pytest.mark.parametrize("seed", range(10))
def test_a_tree_is_drawn_without_a_crossing(seed: int) -> None:
    """As every tree can be, whatever the order of its parts."""
    chance = random.Random(seed)
    step = {"0": 0}
    for number in range(1, 40):
        step[str(number)] = 1 + step[str(chance.randrange(number))]
    upper_of: dict[str, list[str]] = {one: [] for one in step}
    for number in range(1, 40):
        lowers = [one for one in step if step[one] == step[str(number)] - 1]
        upper_of[chance.choice(lowers)].append(str(number))
    shuffled = chance.sample(sorted(upper_of), len(upper_of))
    layout = lay_out({one: upper_of[one] for one in shuffled}, step)
    for here, there in pairwise(layout.columns):
        place = {node: at for at, node in enumerate(there)}
        reached = [place[upper] for node in here for upper in layout.after[node]]
        assert reached == sorted(reached)


def test_no_exchange_of_neighbours_would_take_a_crossing_away() -> None:
    """Reference: all pairs of strands between two columns, counted one by one."""

    def crossings(columns: list[list[tuple[str, int]]]) -> int:
        place = {node: at for column in columns for at, node in enumerate(column)}
        strands = [(node, upper) for node in place for upper in layout.after[node]]
        return sum(
            (place[one[0]] - place[other[0]]) * (place[one[1]] - place[other[1]]) < 0
            for one, other in combinations(strands, 2)
            if one[0][1] == other[0][1]
        )

    reduced = networkx.transitive_reduction(_graph())
    layout = lay_out({one: tuple(reduced.successors(one)) for one in reduced}, steps())
    fewest = crossings(layout.columns)
    for number, column in enumerate(layout.columns):
        for at in range(len(column) - 1):
            other = [list(one) for one in layout.columns]
            other[number][at : at + 2] = reversed(column[at : at + 2])
            assert crossings(other) >= fewest
