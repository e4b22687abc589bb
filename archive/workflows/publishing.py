"""Publishing a collection as a site."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from archive.geometry import draw_page
from archive.learning import Stairs
from archive.site import NextPattern, Published, publish_site
from archive.store import Collection

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
    entries = list(collection.entries())
    stairs = Stairs(entries)
    comes_next = {
        entry.shelfmark: [
            NextPattern(step.entry.shelfmark, step.new)
            for step in stairs.after(entry.technique_ids, most=NEXT_PATTERNS)
        ]
        for entry in entries
        if entry.techniques
    }
    return publish_site(
        into,
        entries,
        collection.settings,
        path_of=collection.path_of,
        measurement_of=lambda attachment: collection.get_measurement(attachment.sha256),
        draw_page=draw_page,
        cache=collection.folder / "cache",
        comes_next=comes_next,
        progress=progress,
    )
