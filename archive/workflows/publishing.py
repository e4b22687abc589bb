"""Publishing a collection as a site."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

from archive.learning import Stairs
from archive.records import Entry
from archive.site import ComesNext, NextPattern, Published, publish_site
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
        entries = list(collection.entries())
        return publish_site(
            into,
            entries,
            collection.settings,
            path_of=collection.path_of,
            measurement_of=lambda attachment: collection.get_measurement(attachment.sha256),
            draw_page=draw_page,
            cache=collection.folder / "cache",
            comes_next=ComesNext(_leading_on(entries), lambda: _find_next(entries)),
            progress=progress,
        )


def _leading_on(entries: Sequence[Entry]) -> str:
    """All that `_find_next` depends on."""
    told = [
        (
            entry.shelfmark,
            entry.difficulty.level,
            entry.pairs.best,
            [(use.technique, use.role) for use in entry.techniques],
        )
        for entry in entries
    ]
    return json.dumps([NEXT_PATTERNS, told])


def _find_next(entries: Sequence[Entry]) -> dict[str, list[NextPattern]]:
    stairs = Stairs(entries)
    return {
        entry.shelfmark: [
            NextPattern(step.entry.shelfmark, step.new)
            for step in stairs.after(entry.technique_ids, most=NEXT_PATTERNS)
        ]
        for entry in entries
        if entry.techniques
    }
