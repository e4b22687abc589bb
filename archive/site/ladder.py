"""The ladder of techniques: how many steps each stands up, and the drawing of it.

The prerequisites of the vocabulary form a graph without circles. A technique's step is the
length of the longest way to it. The drawing puts steps in columns (`ladder_layout`) and leads
threads between them (`ladder_threads`).
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from functools import cache
from graphlib import TopologicalSorter

from archive.site.ladder_layout import BOX_HEIGHT, lay_out
from archive.site.ladder_threads import LEAD, LINES_APART, path, threads_from
from archive.site.links import technique_link
from archive.site.pages import LadderPage, ListedTerm, Rung, Strand
from archive.vocabulary import techniques

BOX_WIDTH = 150.0
MARGIN = (12.0, 46.0)
FOOT = 16.0
LETTERS = 17
"""Letters that fit in one line of a box; one fewer where a number stands beside them."""
TONES = 4
"""Colours of thread; those that leave one column take them in turn, from the left."""


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
    drawing = _Drawing({one: _needed_for(one) for one in standing})
    by_step: dict[int, list[str]] = {}
    for technique in standing:
        by_step.setdefault(steps()[technique], []).append(technique)
    return LadderPage(
        width=drawing.width,
        height=drawing.height,
        box_height=BOX_HEIGHT,
        columns=tuple((f"Step {step + 1}", x) for step, x in enumerate(drawing.lefts)),
        rungs=tuple(drawing.rung(technique, patterns(technique)) for technique in drawing.order),
        strands=tuple(
            drawing.strand(lower, upper) for lower in standing for upper in _needed_for(lower)
        ),
        steps=tuple(
            tuple(_listed(technique, patterns(technique)) for technique in by_step[step])
            for step in sorted(by_step)
        ),
        apart=tuple(_listed(technique, patterns(technique)) for technique in apart),
    )


def _needed_for(lower: str) -> tuple[str, ...]:
    """What a technique is needed for.

    Where another prerequisite already asks for it, it is left out: it would only add threads.
    """
    return tuple(
        upper
        for upper in builds_on()[lower]
        if not any(lower in all_before(other) for other in _before()[upper])
    )


class _Drawing:
    """The boxes in their places and the threads between them.

    Attributes:
        lefts: the left edge of each column's boxes.
        order: the techniques column by column, from top to bottom.
    """

    def __init__(self, needed_for: Mapping[str, tuple[str, ...]]) -> None:
        layout = lay_out(needed_for, steps())
        self._y = layout.height
        self._threads = [threads_from(column, layout) for column in layout.columns]
        self.order = [
            node[0] for column in layout.columns for node in column if layout.is_box(node)
        ]
        self._tone: dict[str, int] = {}
        for threads in self._threads:
            own = [name for name, _ in sorted(threads.line, key=threads.line.__getitem__)]
            new = [name for name in own if name not in self._tone]
            self._tone.update((name, place % TONES) for place, name in enumerate(new))
        self.lefts = [MARGIN[0]]
        for threads in self._threads[:-1]:
            self.lefts.append(self.lefts[-1] + BOX_WIDTH + threads.width)

    @property
    def width(self) -> float:
        return self.lefts[-1] + BOX_WIDTH + MARGIN[0]

    @property
    def height(self) -> float:
        return MARGIN[1] + max(self._y.values()) + BOX_HEIGHT / 2 + FOOT

    def rung(self, technique: str, patterns: int) -> Rung:
        step = steps()[technique]
        name = techniques()[technique].name
        return Rung(
            technique=technique,
            link=technique_link(technique),
            x=self.lefts[step],
            y=round(MARGIN[1] + self._y[technique, step], 1),
            width=BOX_WIDTH,
            lines=tuple(textwrap.wrap(name, LETTERS - 1 if patterns else LETTERS)),
            patterns=patterns,
        )

    def strand(self, lower: str, upper: str) -> Strand:
        """From the right edge of the lower technique to the left edge of the upper."""
        first, last = steps()[lower], steps()[upper]
        y = MARGIN[1] + self._y[lower, first]
        data = f"M{self.lefts[first] + BOX_WIDTH:.1f} {y:.1f}"
        for step in range(first, last):
            threads = self._threads[step]
            here = (lower, step)
            there = (upper if step + 1 == last else lower, step + 1)
            line = self.lefts[step] + BOX_WIDTH + LEAD + LINES_APART * threads.line[here]
            end = MARGIN[1] + threads.end[here, there]
            data += path(y, end, line, self.lefts[step + 1])
            y = end
        return Strand(lower, upper, self._tone[lower], data)


def _listed(technique: str, patterns: int) -> ListedTerm:
    before = [techniques()[one].name for one in _before()[technique]]
    note = f"after {', '.join(before)}" if before else ""
    return ListedTerm(technique_link(technique), note, patterns)
