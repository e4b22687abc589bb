"""Where the techniques stand in the drawing of the ladder, so that few threads cross.

Steps are columns. Columns are ordered by the mean of the neighbours in sweeps and by exchanging
neighbours, then the heights are evened out. A thread that leads over several columns passes
through those between. Knows nothing of techniques but their names and their needs.
Source: the method of Sugiyama, Tagawa and Toda, 1981, in its plain form.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

BOX_HEIGHT = 44.0
GAP = 13.0
"""Least free room between two boxes."""
PASSING_ROOM = 14.0
"""What a thread takes that passes through a column."""
SWEEPS = 24

Node = tuple[str, int]
"""A technique in its column; in a later column, the thread that passes there on from it."""


@dataclass(frozen=True)
class Layout:
    """What stands where.

    Attributes:
        columns: the nodes of each column from top to bottom.
        after: where the thread of a node goes in the next column, from top to bottom.
        height: of each node, the y of its middle; the highest edge of all lies at 0.
        step: the column of each technique.
    """

    columns: list[list[Node]]
    after: Mapping[Node, list[Node]]
    height: Mapping[Node, float]
    step: Mapping[str, int]

    def is_box(self, node: Node) -> bool:
        """Whether the technique stands here; otherwise its thread passes."""
        return self.step[node[0]] == node[1]


def lay_out(needed_for: Mapping[str, Sequence[str]], step: Mapping[str, int]) -> Layout:
    """Lay out what is drawn as boxes.

    Args:
        needed_for: of each box, those its thread leads to.
        step: the column of each box, from 0; threads lead to later columns only.
    """
    columns: list[list[Node]] = [[] for _ in range(1 + max(map(step.__getitem__, needed_for)))]
    after: dict[Node, list[Node]] = {}
    before: dict[Node, list[Node]] = {}
    for lower, uppers in needed_for.items():
        for at in range(step[lower], max([step[lower] + 1, *map(step.__getitem__, uppers)])):
            node = (lower, at)
            columns[at].append(node)
            after[node] = [(upper, at + 1) for upper in uppers if step[upper] == at + 1]
            if any(step[upper] > at + 1 for upper in uppers):
                after[node].append((lower, at + 1))
            for upper in after[node]:
                before.setdefault(upper, []).append(node)
    columns = _ordered(columns, before, after)
    place = {node: y for column in columns for y, node in enumerate(column)}
    for uppers_of in after.values():
        uppers_of.sort(key=place.__getitem__)
    return Layout(columns, after, _heights(columns, before, after, step), step)


Neighbours = Mapping[Node, Sequence[Node]]


def _ordered(columns: list[list[Node]], before: Neighbours, after: Neighbours) -> list[list[Node]]:
    """The columns in an order in which few threads cross; the best of all sweeps."""
    best, fewest = columns, _crossings(columns, after)
    for sweep in range(SWEEPS):
        forward = sweep % 2 == 0
        turned = [list(column) for column in columns]
        near = before if forward else after
        order = range(1, len(turned)) if forward else range(len(turned) - 2, -1, -1)
        for at in order:
            beside = {node: y for y, node in enumerate(turned[at - 1 if forward else at + 1])}
            middle = {
                node: _mean([beside[one] for one in near.get(node, ())], float(y))
                for y, node in enumerate(turned[at])
            }
            turned[at].sort(key=middle.__getitem__)
        columns = turned
        _exchange(columns, before, after)
        crossed = _crossings(columns, after)
        if crossed < fewest:
            best, fewest = [list(column) for column in columns], crossed
    return best


def _mean(values: list[int], otherwise: float) -> float:
    return sum(values) / len(values) if values else otherwise


def _exchange(columns: list[list[Node]], before: Neighbours, after: Neighbours) -> None:
    """Exchange neighbours in a column for as long as that takes crossings away."""
    place = {node: y for column in columns for y, node in enumerate(column)}
    better = True
    while better:
        better = False
        for column in columns:
            for y, (above, below) in enumerate(pairwise(list(column))):
                above, below = column[y], column[y + 1]
                gain = sum(
                    (place[one] > place[other]) - (place[one] < place[other])
                    for near in (before, after)
                    for one in near.get(above, ())
                    for other in near.get(below, ())
                )
                if gain > 0:
                    column[y], column[y + 1] = below, above
                    place[below], place[above] = y, y + 1
                    better = True


def _crossings(columns: list[list[Node]], after: Neighbours) -> int:
    count = 0
    for here, there in pairwise(columns):
        place = {node: y for y, node in enumerate(there)}
        ends = [sorted(place[upper] for upper in after[node]) for node in here if node in after]
        flat = [end for group in ends for end in group]
        count += sum(
            1 for i, first in enumerate(flat) for second in flat[i + 1 :] if second < first
        )
    return count


def _heights(
    columns: list[list[Node]], before: Neighbours, after: Neighbours, step: Mapping[str, int]
) -> dict[Node, float]:
    """The height of each node: near its neighbours, in its column's order, none overlapping."""
    room = {
        node: BOX_HEIGHT + GAP if step[node[0]] == node[1] else PASSING_ROOM
        for column in columns
        for node in column
    }
    heights: dict[Node, float] = {}
    for column in columns:
        y = 0.0
        for node in column:
            heights[node] = y + room[node] / 2
            y += room[node]
    for sweep in range(SWEEPS):
        for column in columns if sweep % 2 == 0 else reversed(columns):
            wished = []
            for node in column:
                near = [heights[one] for one in (*before.get(node, ()), *after.get(node, ()))]
                wished.append(sum(near) / len(near) if near else heights[node])
            heights.update(
                zip(column, _spread([room[node] for node in column], wished), strict=True)
            )
    highest = min((y - room[node] / 2 for node, y in heights.items()), default=0.0)
    return {node: y - highest for node, y in heights.items()}


@dataclass
class _Block:
    """Neighbours in a column that touch; `wish` is the sum of where each would have its top."""

    rooms: list[float]
    wish: float
    room: float

    @property
    def top(self) -> float:
        return self.wish / len(self.rooms)


def _spread(rooms: Sequence[float], wished: Sequence[float]) -> list[float]:
    """The places nearest to the wished ones, in least squares, that keep order and distance."""
    blocks: list[_Block] = []
    for room, wish in zip(rooms, wished, strict=True):
        block = _Block([room], wish - room / 2, room)
        while blocks and blocks[-1].top + blocks[-1].room > block.top:
            above = blocks.pop()
            block = _Block(
                above.rooms + block.rooms,
                above.wish + block.wish - above.room * len(block.rooms),
                above.room + block.room,
            )
        blocks.append(block)
    places = []
    for block in blocks:
        y = block.top
        for room in block.rooms:
            places.append(y + room / 2)
            y += room
    return places
