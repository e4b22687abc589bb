"""Publishing a collection as a site."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from archive.site import Published, publish_site
from archive.store import Collection


def publish_collection(
    collection: Collection,
    into: Path,
    *,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Published:
    """Publish the collection's public side into the folder `into`, swapped in whole.

    Pictures made for the site are kept in the collection's cache.
    """
    return publish_site(
        into,
        list(collection.entries()),
        collection.settings,
        path_of=collection.path_of,
        measurement_of=lambda attachment: collection.get_measurement(attachment.sha256),
        cache=collection.folder / "cache",
        progress=progress,
    )
