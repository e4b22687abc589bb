"""What may be practised after each pattern of a collection.

Processes that help with a publication read this room: it needs neither the store nor the
analyser, which take longer to import than their share of the work.
"""

from __future__ import annotations

from collections.abc import Sequence

from archive.learning import Stairs
from archive.site import NextPattern, Shelved

NEXT_PATTERNS = 4
"""Patterns that a page names as possible next ones."""


class Following:
    """Finds what may follow patterns among all of them."""

    def __init__(self, patterns: Sequence[Shelved]) -> None:
        self._stairs = Stairs(patterns)

    def __call__(self, learnt: Sequence[Shelved]) -> list[list[NextPattern]]:
        """What may follow each of some of them, the best first."""
        return [
            [
                NextPattern(step.entry.shelfmark, step.new)
                for step in self._stairs.after(pattern.technique_ids, most=NEXT_PATTERNS)
            ]
            if pattern.techniques
            else []
            for pattern in learnt
        ]
