"""How threads run between two columns of the ladder.

All that leaves one technique is one thread: level to an upright line of its own, along that, and
level again to each technique that needs it. So a thread parts from itself in a round bend and
crosses others at a right angle, and no two lie on each other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from archive.site.ladder_layout import BOX_HEIGHT, Layout, Node

LINES_APART = 8.0
"""Distance of two upright lines."""
LEAD = 13.0
"""From a box to the nearest upright line."""
BEND = 6.0
"""Radius of a bend."""
ENDS_APART = 11.0
"""Distance of the threads that lead into one box."""
NEAR = 5.0
"""Level pieces of two threads that are closer would be taken for one; a thread that comes as near
to where it goes needs no bend."""
LEVEL_REACH = BOX_HEIGHT / 2 - 8
"""How far from the middle of a box the only thread may enter that then needs no bend."""
TAKEN_FOR_ONE = 100
"""What that costs, in crossings."""


@dataclass(frozen=True)
class Threads:
    """The threads between a column and the next.

    Attributes:
        end: the height at which the thread from one node arrives at another.
        line: the upright line that the thread from a node takes, from the left.
        width: the room that they take.
    """

    end: Mapping[tuple[Node, Node], float]
    line: Mapping[Node, int]
    width: float


@dataclass(frozen=True)
class _Run:
    """A thread: the height where it comes from, the heights it goes to."""

    start: float
    ends: tuple[float, ...]

    @property
    def span(self) -> tuple[float, float]:
        return min(self.start, *self.ends), max(self.start, *self.ends)


def threads_from(column: Sequence[Node], layout: Layout) -> Threads:
    """The threads from the nodes of a column to those of the next."""
    height = layout.height
    leaving = [node for node in column if layout.after[node]]
    end = {(node, upper): height[upper] for node in leaving for upper in layout.after[node]}
    line: dict[Node, int] = {}
    # Where threads enter a box depends on their lines, and those on where they enter.
    for _ in range(2):
        runs = {
            node: _Run(height[node], tuple(end[node, upper] for upper in layout.after[node]))
            for node in leaving
        }
        line = _lines(runs)
        end = _ends(leaving, layout, line)
    lines = 1 + max(line.values(), default=0)
    return Threads(end, line, 2 * LEAD + LINES_APART * (lines - 1))


def _ends(
    leaving: Sequence[Node], layout: Layout, line: Mapping[Node, int]
) -> dict[tuple[Node, Node], float]:
    """Where threads enter: those from above first, of them the line furthest to the right."""
    arriving: defaultdict[Node, list[Node]] = defaultdict(list)
    for node in leaving:
        for upper in layout.after[node]:
            arriving[upper].append(node)
    end = {}
    for upper, nodes in arriving.items():
        middle = layout.height[upper]
        above = [node for node in nodes if layout.height[node] < middle]
        below = [node for node in nodes if layout.height[node] >= middle]
        above.sort(key=lambda node: -line[node])
        below.sort(key=line.__getitem__)
        for place, node in enumerate([*above, *below]):
            end[node, upper] = middle + ENDS_APART * (place - (len(nodes) - 1) / 2)
        reach = LEVEL_REACH if len(nodes) == 1 and layout.is_box(upper) else NEAR
        for node in nodes:
            if abs(end[node, upper] - layout.height[node]) <= reach:
                end[node, upper] = layout.height[node]
    return end


def _lines(runs: Mapping[Node, _Run]) -> dict[Node, int]:
    """The upright line of each run, from the left.

    Each run in turn takes the place among the others where threads cross least, until none
    moves; for so few that is near the best. Runs that do not meet may share a line.
    """
    bent = {node: run for node, run in runs.items() if run.ends != (run.start,)}
    cost = {(one, other): _cost(bent[one], bent[other]) for one in bent for other in bent}
    order = list(bent)
    moved = True
    while moved:
        moved = False
        for at in range(len(order)):
            one = order.pop(at)
            costs = [0]
            for other in order:
                costs.append(costs[-1] + cost[other, one] - cost[one, other])
            best = costs.index(min(costs))
            moved |= costs[best] < costs[at]
            order.insert(best if costs[best] < costs[at] else at, one)
    line = dict.fromkeys(runs, 0)
    for at, node in enumerate(order):
        met = [line[other] for other in order[:at] if _meet(bent[other], bent[node])]
        line[node] = 1 + max(met, default=-1)
    return line


def _cost(left: _Run, right: _Run) -> int:
    """What it costs that one run has its line to the left of another's, in crossings."""
    high, low = left.span
    cost = int(high < right.start < low)
    high, low = right.span
    for end in left.ends:
        cost += int(high < end < low) + TAKEN_FOR_ONE * int(abs(end - right.start) < NEAR)
    return cost


def _meet(one: _Run, other: _Run) -> bool:
    room = BEND + NEAR
    return one.span[0] - room < other.span[1] and other.span[0] - room < one.span[1]


def path(start: float, end: float, line: float, to: float) -> str:
    """SVG path data of a thread from a column to the x of the next, by its upright line."""
    if start == end:
        return f"H{to:.1f}"
    bend = min(BEND, abs(end - start) / 2)
    down = bend if end > start else -bend
    return (
        f"H{line - bend:.1f}Q{line:.1f} {start:.1f} {line:.1f} {start + down:.1f}"
        f"V{end - down:.1f}Q{line:.1f} {end:.1f} {line + bend:.1f} {end:.1f}H{to:.1f}"
    )
