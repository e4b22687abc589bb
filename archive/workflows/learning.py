"""Planning what to practise next from a collection."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from archive.learning import MOST_NEW, Stairs, Step, foundations, opened_by
from archive.records import Entry
from archive.store import Collection


@dataclass(frozen=True)
class Plan:
    """What to do next after some techniques.

    `opened` are the technique ids that can be begun now, `steps` the patterns to try, best
    first. `taken_as_known` says what else was taken as known: for each technique learnt, the
    easiest pattern that teaches it and the technique ids that it uses beside it.
    """

    opened: tuple[str, ...]
    steps: list[Step[Entry]]
    taken_as_known: list[tuple[Entry, tuple[str, ...]]]


def plan_next(collection: Collection, learnt: Sequence[str], *, most_new: int = MOST_NEW) -> Plan:
    """What to learn and to make after these techniques, given by id.

    Whoever has learnt a technique is taken to have learnt it from the easiest pattern of the
    collection that teaches it, and so to know what else that pattern uses.
    """
    stairs = Stairs(collection.entries())
    known = foundations(learnt)
    taken = []
    for technique in learnt:
        lesson = stairs.teaching(technique)
        beside = tuple(
            use.technique
            for use in (lesson.techniques if lesson else ())
            if use.role != "optional" and use.technique not in known
        )
        if lesson and beside:
            taken.append((lesson, beside))
    also_known = [technique for _, beside in taken for technique in beside]
    return Plan(
        opened_by(learnt, also_known=also_known, most_new=most_new),
        stairs.after(learnt, also_known=also_known, most_new=most_new),
        taken,
    )
