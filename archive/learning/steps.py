"""From what a lacemaker knows to the patterns that add only a little to it.

Works on the vocabulary's prerequisites and on records alone; reads and writes nothing.
Common practice, no source: a lesson adds one or two techniques and leans on those before it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from archive.records import Entry
from archive.vocabulary import techniques

MOST_NEW = 2


@dataclass(frozen=True)
class Step:
    """A pattern that can be tried next, and what would be new in it.

    `new` are the technique ids not yet known, `leads_on` those of them that build directly
    on what was just learnt.
    """

    entry: Entry
    new: tuple[str, ...]
    leads_on: tuple[str, ...]


def foundations(known: Iterable[str]) -> frozenset[str]:
    """Everything a person who knows these techniques knows: they and all they build on.

    Whoever knows a narrower technique knows the broader one; what needs nothing before it
    (a pin, a footside, a pillow) counts as known to everyone.
    """
    everything = techniques()
    gathered = set(known)
    waiting = list(gathered)
    while waiting:
        term = everything[waiting.pop()]
        below = {*term.prerequisites, *([term.broader] if term.broader else [])} - gathered
        gathered |= below
        waiting.extend(below)
    gathered.update(term.id for term in everything if not term.prerequisites)
    return frozenset(gathered)


def opened_by(learnt: Iterable[str], *, most_new: int = MOST_NEW) -> tuple[str, ...]:
    """The techniques that build directly on one just learnt and are within reach.

    Within reach means that, with all they need, at most `most_new` techniques are new.
    In vocabulary order.
    """
    just = set(learnt)
    known = foundations(just)
    return tuple(
        term.id
        for term in techniques()
        if term.id not in known
        and just & {*term.prerequisites, term.broader}
        and len(foundations([term.id]) - known) <= most_new
    )


def next_steps(
    entries: Iterable[Entry], learnt: Iterable[str], *, most_new: int = MOST_NEW
) -> list[Step]:
    """The patterns to try after `learnt`: at least one and at most `most_new` new techniques.

    What a new technique needs beforehand counts as new too, whether the record names it or
    not; techniques marked optional do not count. Patterns whose new techniques build directly
    on what was learnt come first, then those with fewer new techniques, the easier ones, those
    with fewer pairs; an unknown level or number of pairs comes last.
    """
    just = set(learnt)
    known = foundations(just)
    opened = set(opened_by(just, most_new=most_new))
    order = {term.id: place for place, term in enumerate(techniques())}
    steps = []
    for entry in entries:
        used = [use.technique for use in entry.techniques if use.role != "optional"]
        new = sorted(foundations(used) - known, key=order.__getitem__)
        if 1 <= len(new) <= most_new:
            leads_on = tuple(technique for technique in new if technique in opened)
            steps.append(Step(entry, tuple(new), leads_on))
    return sorted(steps, key=_easiest_first)


def _easiest_first(step: Step) -> tuple[bool, int, float, float, str]:
    level, pairs = step.entry.difficulty.level, step.entry.pairs.best
    return (
        not step.leads_on,
        len(step.new),
        level if level is not None else float("inf"),
        pairs if pairs is not None else float("inf"),
        step.entry.shelfmark,
    )
