"""Planning what to practise next from a collection."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from archive.learning import MOST_NEW, Stairs, Step, opened_by
from archive.store import Collection


@dataclass(frozen=True)
class Plan:
    """The technique ids that can be begun now, and the patterns to try, best first."""

    opened: tuple[str, ...]
    steps: list[Step]


def plan_next(collection: Collection, learnt: Sequence[str], *, most_new: int = MOST_NEW) -> Plan:
    """What to learn and to make after these techniques, given by id."""
    return Plan(
        opened_by(learnt, most_new=most_new),
        Stairs(collection.entries()).after(learnt, most_new=most_new),
    )
