"""Publishing a collection as a site."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from archive.learning import Stairs
from archive.site import ComesNext, NextPattern, Published, Shelved, publish_site
from archive.store import Collection
from archive.workflows.reading import draw_page
from archive.workflows.resting import collector_resting

NEXT_PATTERNS = 4
"""Patterns that a page names as possible next ones."""


def publish_collection(
    collection: Collection,
    into: Path,
    *,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Published:
    """Publish the collection's public side into the folder `into`, swapped in whole.

    Pictures made for the site are read apart from the program, under limits, and kept in
    the collection's cache.
    """
    with collector_resting():
        return publish_site(
            into,
            collection.written(),
            collection.settings,
            path_of=collection.path_of,
            measurement_of=lambda attachment: collection.get_measurement(attachment.sha256),
            draw_page=draw_page,
            cache=collection.folder / "cache",
            comes_next=ComesNext(f"{NEXT_PATTERNS} patterns", Following),
            progress=progress,
        )


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
