"""The ladder of techniques: how many steps each stands up, and the drawing of it.

The prerequisites of the vocabulary form a graph without circles. A technique's step is the
length of the longest way to it. The drawing puts steps in columns and orders each column so
that few strands cross: layer by longest path, thread strands through the columns between,
order by the mean of the neighbours in sweeps, then even out the heights.
Source: the method of Sugiyama, Tagawa and Toda, 1981, in its plain form.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from graphlib import TopologicalSorter
from itertools import pairwise

from archive.site.links import technique_link
from archive.site.pages import LadderPage, ListedTerm, Rung, Strand
from archive.vocabulary import techniques

BOX = (150.0, 44.0)
COLUMN = 202.0
MARGIN = (12.0, 46.0)
GAP = 13.0
STRAND_ROOM = 9.0
LETTERS = 17
"""Letters that fit in one line of a box; one fewer where a number stands beside them."""
SWEEPS = 24

Node = tuple[str, int]
"""A technique in its column, or a strand on its way through a column: (name, step)."""


@cache
def steps() -> Mapping[str, int]:
    """How many steps up the ladder each technique stands; 0 needs nothing before it."""
    up: dict[str, int] = {}
    for technique in TopologicalSorter(_before()).static_order():
        up[technique] = 1 + max((up[lower] for lower in _before()[technique]), default=-1)
    return up


@cache
def _before() -> Mapping[str, tuple[str, ...]]:
    return {technique.id: technique.prerequisites for technique in techniques()}


@cache
def builds_on() -> Mapping[str, tuple[str, ...]]:
    """What each technique is needed for directly, in the order of the vocabulary."""
    after: dict[str, list[str]] = {technique.id: [] for technique in techniques()}
    for technique, lower in _before().items():
        for one in lower:
            after[one].append(technique)
    return {one: tuple(upper) for one, upper in after.items()}


@cache
def all_before(technique: str) -> frozenset[str]:
    """Everything that must be known before a technique, directly or not."""
    return frozenset(_before()[technique]).union(*map(all_before, _before()[technique]))


def ladder_page(patterns: Callable[[str], int]) -> LadderPage:
    """The ladder; `patterns` counts the patterns that use a technique."""
    standing = [one.id for one in techniques() if one.prerequisites or builds_on()[one.id]]
    apart = [one.id for one in techniques() if one.id not in set(standing)]
    rails = _rails(standing)
    columns = _ordered(_columns(standing, rails), rails)
    places = _placed(columns, rails)
    highest = max(places.values(), default=0.0)
    rungs = tuple(
        _rung(technique, places[(technique, steps()[technique])], patterns(technique))
        for technique in standing
    )
    by_step: dict[int, list[str]] = {}
    for technique in standing:
        by_step.setdefault(steps()[technique], []).append(technique)
    return LadderPage(
        width=MARGIN[0] * 2 + COLUMN * (len(columns) - 1) + BOX[0],
        height=highest + BOX[1] / 2 + 16,
        box_height=BOX[1],
        columns=tuple(
            (f"Step {step + 1}", MARGIN[0] + COLUMN * step) for step in range(len(columns))
        ),
        rungs=rungs,
        strands=tuple(_strand(rail, places) for rail in rails),
        steps=tuple(
            tuple(_listed(technique, patterns(technique)) for technique in by_step[step])
            for step in sorted(by_step)
        ),
        apart=tuple(_listed(technique, patterns(technique)) for technique in apart),
    )


def _rails(standing: list[str]) -> list[tuple[Node, ...]]:
    """The way of each needed prerequisite through the columns, from lower to upper.

    One that another prerequisite already asks for is left out: it would only add lines.
    """
    rails = []
    for upper in standing:
        lower = _before()[upper]
        implied = frozenset().union(*(all_before(one) for one in lower)) if lower else frozenset()
        for one in lower:
            if one in implied:
                continue
            between = [(f"{one}>{upper}", step) for step in range(steps()[one] + 1, steps()[upper])]
            rails.append(((one, steps()[one]), *between, (upper, steps()[upper])))
    return rails


def _columns(standing: list[str], rails: list[tuple[Node, ...]]) -> list[list[Node]]:
    nodes = dict.fromkeys((one, steps()[one]) for one in standing)
    nodes.update(dict.fromkeys(node for rail in rails for node in rail))
    columns: list[list[Node]] = [[] for _ in range(1 + max((step for _, step in nodes), default=0))]
    for node in nodes:
        columns[node[1]].append(node)
    return columns


def _neighbours(
    rails: list[tuple[Node, ...]],
) -> tuple[dict[Node, list[Node]], dict[Node, list[Node]]]:
    left: dict[Node, list[Node]] = {}
    right: dict[Node, list[Node]] = {}
    for rail in rails:
        for lower, upper in pairwise(rail):
            left.setdefault(upper, []).append(lower)
            right.setdefault(lower, []).append(upper)
    return left, right


def _ordered(columns: list[list[Node]], rails: list[tuple[Node, ...]]) -> list[list[Node]]:
    """The columns in an order in which few strands cross; the best of all sweeps."""
    left, right = _neighbours(rails)
    best, fewest = columns, _crossings(columns, right)
    for sweep in range(SWEEPS):
        forward = sweep % 2 == 0
        turned = [list(column) for column in columns]
        order = range(1, len(turned)) if forward else range(len(turned) - 2, -1, -1)
        for step in order:
            beside = {node: y for y, node in enumerate(turned[step - 1 if forward else step + 1])}
            near = left if forward else right
            old = {node: float(y) for y, node in enumerate(turned[step])}
            middle = {
                node: _mean([beside[one] for one in near.get(node, ())], old[node])
                for node in turned[step]
            }
            turned[step].sort(key=lambda node, middle=middle: middle[node])  # type: ignore[misc]
        columns = turned
        crossed = _crossings(columns, right)
        if crossed < fewest:
            best, fewest = columns, crossed
    return best


def _mean(values: list[int], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _crossings(columns: list[list[Node]], right: dict[Node, list[Node]]) -> int:
    count = 0
    for here, there in pairwise(columns):
        place = {node: y for y, node in enumerate(there)}
        ends = [sorted(place[upper] for upper in right.get(node, ())) for node in here]
        flat = [end for group in ends for end in group]
        count += sum(
            1 for i, first in enumerate(flat) for second in flat[i + 1 :] if second < first
        )
    return count


def _room(node: Node) -> float:
    return STRAND_ROOM if ">" in node[0] else BOX[1] + GAP


def _placed(columns: list[list[Node]], rails: list[tuple[Node, ...]]) -> dict[Node, float]:
    """The height of each node: near its neighbours, in its column's order, none overlapping."""
    left, right = _neighbours(rails)
    places: dict[Node, float] = {}
    for column in columns:
        y = 0.0
        for node in column:
            places[node] = y + _room(node) / 2
            y += _room(node)
    for _ in range(SWEEPS):
        for column in columns:
            wished = []
            for node in column:
                near = [places[one] for one in (*left.get(node, ()), *right.get(node, ()))]
                wished.append(sum(near) / len(near) if near else places[node])
            for node, y in zip(column, _spread(column, wished), strict=True):
                places[node] = y
    lowest = min(places[node] - _room(node) / 2 for node in places) if places else 0.0
    return {node: y - lowest + MARGIN[1] for node, y in places.items()}


@dataclass
class _Block:
    """Neighbours in a column that touch; `wish` is the sum of where each would have its top."""

    nodes: list[Node]
    wish: float
    room: float

    @property
    def top(self) -> float:
        return self.wish / len(self.nodes)


def _spread(column: list[Node], wished: list[float]) -> list[float]:
    """The places nearest to the wished ones, in least squares, that keep order and distance."""
    blocks: list[_Block] = []
    for node, wish in zip(column, wished, strict=True):
        block = _Block([node], wish - _room(node) / 2, _room(node))
        while blocks and blocks[-1].top + blocks[-1].room > block.top:
            above = blocks.pop()
            block = _Block(
                above.nodes + block.nodes,
                above.wish + block.wish - above.room * len(block.nodes),
                above.room + block.room,
            )
        blocks.append(block)
    places = []
    for block in blocks:
        y = block.top
        for node in block.nodes:
            places.append(y + _room(node) / 2)
            y += _room(node)
    return places


def _rung(technique: str, y: float, patterns: int) -> Rung:
    name = techniques()[technique].name
    return Rung(
        technique=technique,
        link=technique_link(technique),
        x=MARGIN[0] + COLUMN * steps()[technique],
        y=round(y, 1),
        width=BOX[0],
        lines=tuple(textwrap.wrap(name, LETTERS - 1 if patterns else LETTERS)),
        patterns=patterns,
    )


def _strand(rail: tuple[Node, ...], places: Mapping[Node, float]) -> Strand:
    """A strand from the right edge of the lower technique to the left edge of the upper."""
    x, y = MARGIN[0] + COLUMN * rail[0][1] + BOX[0], places[rail[0]]
    path = f"M{x:.1f} {y:.1f}"
    for name, step in rail[1:]:
        next_x, next_y = MARGIN[0] + COLUMN * step, places[(name, step)]
        bend = (next_x - x) / 2
        path += (
            f"C{x + bend:.1f} {y:.1f} {next_x - bend:.1f} {next_y:.1f} {next_x:.1f} {next_y:.1f}"
        )
        x, y = next_x, next_y
        if ">" in name:
            x += BOX[0]
            path += f"H{x:.1f}"
    return Strand(rail[0][0], rail[-1][0], path)


def _listed(technique: str, patterns: int) -> ListedTerm:
    before = [techniques()[one].name for one in _before()[technique]]
    note = f"after {', '.join(before)}" if before else ""
    return ListedTerm(technique_link(technique), note, patterns)
