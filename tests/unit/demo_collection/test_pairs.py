from __future__ import annotations

from collections import Counter

import networkx as nx
import pytest

from demo_collection.drawing.net import draw_net
from demo_collection.drawing.pairs import (
    END,
    HUNG_IN,
    LAID_BACK,
    START,
    clocks,
    count_pairs,
    follow_pairs,
)
from demo_collection.drawing.plaited import draw_plaited
from demo_collection.drawing.recipes import Figure, Foot, Head, Net, Plait, Plaited

ENDS = {START, END, HUNG_IN, LAID_BACK}
PLAIN = Net(angle=60, pitch=2.0, columns=9, rows=6, repeats=3, head=Head(kind="plain"))


def graph_of(paths) -> nx.DiGraph:
    graph = nx.DiGraph()
    graph.add_edges_from(edge for edge in paths.edges if ENDS.isdisjoint(edge))
    return graph


def test_every_ground_pin_takes_two_pairs_in_and_gives_two_out(nets):
    for mark, drawn in nets.items():
        balance = drawn.paths.balance()
        for site, use in drawn.plan.use.items():
            if use in ("ground", "catch", "honeycomb", "kat", "ring", "tally"):
                assert balance["site", *site] == (2, 2), (mark, site)


def test_at_every_place_as_many_pairs_leave_as_come(nets):
    for mark, drawn in nets.items():
        for node, (came, went) in drawn.paths.balance().items():
            if node not in ENDS:
                assert came == went, (mark, node)


def test_edge_pins_exchange_two_pairs_and_picots_turn_one(nets):
    for mark, drawn in nets.items():
        turned = Counter()
        for node, flow in drawn.paths.balance().items():
            if node[0] == "foot" and drawn.plan.lattice.corner_row is None:
                assert flow == (2, 2), (mark, node)
            if node[0] == "picot":
                assert flow == (1, 1), (mark, node)
                turned[node] += 1
        if not drawn.drawing.facts.round:
            roles = [pin.role for pin in drawn.drawing.pins]
            assert len(turned) == roles.count("picot") + roles.count("nook"), mark


def test_the_number_of_pairs_is_the_same_across_the_lace_at_every_moment(nets):
    for mark, drawn in nets.items():
        hung_in = drawn.drawing.pairs.corner_extra
        counts = {n for clock in clocks(drawn.plan) for n in drawn.paths.crossing(clock)}
        start = drawn.drawing.pairs.start
        assert counts <= {start, start + hung_in}, mark
        assert hung_in == (1 if drawn.plan.lattice.corner_row is not None else 0), mark


def test_a_lace_can_be_worked_pin_after_pin(nets):
    for mark, drawn in nets.items():
        assert nx.is_directed_acyclic_graph(graph_of(drawn.paths)), mark


def test_a_pair_that_is_lost_is_noticed():
    drawn = draw_net(PLAIN)
    edge = next(edge for edge in drawn.paths.edges if edge[0][0] == edge[1][0] == "site")
    del drawn.paths.edges[edge]
    with pytest.raises(ValueError, match="number of pairs changes"):
        count_pairs(drawn.plan, drawn.paths)


@pytest.mark.parametrize("columns", [4, 9, 12])
def test_a_plain_net_needs_one_pair_more_than_it_has_columns(columns):
    """Dillmont, Encyclopedia of Needlework (c. 1886), figures 787 and 791: 9 columns, 10 pairs.

    Her patches have no footside: its edge pair and passives come on top.
    """
    net = PLAIN.model_copy(update={"columns": columns})
    edge_pair = 1
    pairs = draw_net(net).drawing.pairs.start
    assert pairs - edge_pair - net.foot.passives == columns + 1


def test_a_figure_needs_no_pair_more_than_the_net_it_lies_in():
    figures = [
        Figure(shape="diamond", fill="cloth", gimp="around", at=(4, 4), size=2),
        Figure(shape="ring", gimp="around", at=(4, 11)),
    ]
    plain = PLAIN.model_copy(update={"rows": 8})
    with_figures = plain.model_copy(update={"figures": figures})
    assert draw_net(plain).drawing.pairs == draw_net(with_figures).drawing.pairs


def test_a_ring_takes_four_pairs_and_can_be_worked_in_two_orders():
    """Common practice, no source."""
    net = PLAIN.model_copy(update={"figures": [Figure(shape="ring", gimp="around", at=(4, 5))]})
    drawn = draw_net(net)
    ring = {("site", *site) for site in drawn.plan.placed[0].sites}
    came = sum(n for (u, v), n in drawn.paths.edges.items() if v in ring and u not in ring)
    went = sum(n for (u, v), n in drawn.paths.edges.items() if u in ring and v not in ring)
    orders = list(nx.all_topological_sorts(graph_of(drawn.paths).subgraph(ring)))
    assert (came, went, len(orders)) == (4, 4, 2)
    top, bottom = min(ring, key=lambda n: n[1] + n[2]), max(ring, key=lambda n: n[1] + n[2])
    assert {order[0] for order in orders} == {top}
    assert {order[-1] for order in orders} == {bottom}


def test_a_cloth_diamond_takes_in_a_pair_at_each_widening_pin_and_none_at_its_widest():
    """Common practice, no source."""
    size, top = 4, (8, 4)
    figure = Figure(shape="diamond", fill="cloth", gimp="around", at=top, size=size)
    net = PLAIN.model_copy(update={"columns": 17, "rows": 12, "figures": [figure]})
    drawn = draw_net(net)
    sites = drawn.plan.placed[0].sites
    inside = {("site", *site) for site in sites}
    came, went = Counter(), Counter()
    for (source, target), pairs in drawn.paths.edges.items():
        if target in inside and source not in inside:
            came[sum(target[1:]) - top[1]] += pairs
        if source in inside and target not in inside:
            went[sum(source[1:]) - top[1]] += pairs
    both_sides = 2
    widening = dict.fromkeys(range(1, size), both_sides)
    assert came == {0: 2, **widening}
    assert went == {2 * size - row: pairs for row, pairs in came.items()}


def test_honeycomb_keeps_three_pins_of_four_and_six_round_each_gap():
    """Dillmont's figure 791: interior rows of 4, 2, 4, 3 of 4, 5, 4, 5 sites."""
    figure = Figure(shape="diamond", fill="honeycomb", gimp="around", at=(20, 4), size=16)
    net = PLAIN.model_copy(update={"columns": 41, "rows": 20, "repeats": 1, "figures": [figure]})
    plan = draw_net(net).plan
    block = plan.placed[0].sites
    inner = {site for site in block if plan.lattice.neighbours(site) <= block}
    gaps = {site for site in inner if plan.use[site] == "empty"}
    assert len(inner - gaps) / len(inner) == pytest.approx(0.75, abs=0.04)
    for gap in gaps:
        assert {plan.use[site] for site in plan.lattice.neighbours(gap)} == {"honeycomb"}


def test_a_spider_gathers_its_legs_at_one_pin():
    figure = Figure(shape="diamond", fill="spider", at=(4, 5), size=2)
    net = PLAIN.model_copy(update={"angle": 45, "columns": 10, "figures": [figure]})
    with pytest.raises(ValueError, match="one is even"):
        draw_net(net)
    net = net.model_copy(update={"figures": [figure.model_copy(update={"at": (4, 4)})]})
    drawn = draw_net(net)
    spiders = [node for node in drawn.paths.balance() if node[0] == "spider"]
    assert len(spiders) == net.repeats
    assert {drawn.paths.balance()[node] for node in spiders} == {(6, 6)}
    centres = [pin for pin in drawn.drawing.pins if pin.role == "centre"]
    assert len(centres) == net.repeats


def test_a_second_footside_adds_its_own_edge_pair_and_passives():
    both = PLAIN.model_copy(update={"foot": Foot(side="both")})
    head_pair, edge_pairs, passives = 1, 2, 4
    assert draw_net(both).drawing.pairs.start == (9 - 1) + head_pair + 1 + edge_pairs + passives


def test_figures_that_overlap_or_touch_the_catch_pins_are_refused():
    ring = Figure(shape="ring", gimp="around", at=(4, 5))
    twice = PLAIN.model_copy(update={"figures": [ring, ring]})
    with pytest.raises(ValueError, match="overlap"):
        draw_net(twice)
    near = PLAIN.model_copy(update={"figures": [ring.model_copy(update={"at": (1, 4)})]})
    with pytest.raises(ValueError, match="catch pins"):
        draw_net(near)


def test_more_picots_than_pairs_are_refused():
    drawn = draw_net(PLAIN.model_copy(update={"head": Head(kind="picots")}))
    with pytest.raises(ValueError, match="to make them"):
        follow_pairs(drawn.plan, Counter({5: 9}))


def test_plaits_keep_their_pairs_from_pin_to_pin(recipes):
    for mark, recipe in recipes.items():
        if recipe.plaited:
            drawn = draw_plaited(recipe.plaited)
            for node, (came, went) in drawn.paths.balance().items():
                assert came == went or node in ENDS, (mark, node)
            if recipe.plaited.repeat:
                hung = [edge for edge in drawn.paths.edges if HUNG_IN in edge or LAID_BACK in edge]
                assert not hung, mark


def test_a_plait_that_ends_nowhere_changes_the_number_of_pairs():
    lace = Plaited(
        pitch=3, repeat=12, repeats=4, strip=4, strip_pairs=4,
        plaits=[Plait(points=[(4, 0), (10, 3)])],
    )  # fmt: skip
    with pytest.raises(ValueError, match="number of pairs changes"):
        draw_plaited(lace)
