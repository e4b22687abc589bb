"""How thick the threads of a record are, as far as it says. Knows no sheets."""

from __future__ import annotations

from archive.errors import UnknownTerm
from archive.records.pattern import Pattern, Thread
from archive.threads import Estimate, ThreadLabel, estimate_wraps_per_cm, read_label
from archive.wording import runs_of

_OUTLINING = frozenset({"gimp", "gimps", "outline", "outlines", "outlining"})


def main_threads(pattern: Pattern) -> list[Thread]:
    """The threads of which the lace itself is worked, those that outline it left out."""
    return [
        thread for thread in pattern.threads if _OUTLINING.isdisjoint(runs_of(thread.use or ""))
    ]


def stated_wraps_per_cm(thread: Thread) -> float | None:
    """Wraps per cm as the record or the label states them."""
    return thread.wraps_per_cm or read_label(thread.label).wraps_per_cm


def estimated_wraps_per_cm(thread: Thread) -> Estimate | None:
    """Wraps per cm to expect by the thread's number; None where its density is in doubt."""
    tex = _density_tex(thread)
    return None if tex is None else estimate_wraps_per_cm(tex)


def _density_tex(thread: Thread) -> float | None:
    """Linear density in tex where the record or the label leaves no doubt of it."""
    if thread.count is None:
        return read_label(thread.label).linear_density_tex
    label = ThreadLabel(thread.label, thread.system, thread.count, thread.plies)
    try:
        return label.linear_density_tex
    except UnknownTerm:
        return None
