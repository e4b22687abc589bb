"""Publishing a collection as a site."""

from __future__ import annotations

from pathlib import Path

from archive.progress import Progress, untold
from archive.site import ComesNext, Published, publish_site
from archive.store import Collection
from archive.workflows.following import NEXT_PATTERNS, Following
from archive.workflows.reading import draw_page
from archive.workflows.resting import collector_resting


def publish_collection(
    collection: Collection,
    into: Path,
    *,
    progress: Progress = untold,
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
