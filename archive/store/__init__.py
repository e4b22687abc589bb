"""The collection on the disk: catalogue, history, stored files and kept measurements.

The only room that knows SQLite, its tables and its migrations, and where files lie. Gives
and takes records; knows nothing of searching, measuring or publishing.
"""

from archive.store.collection import (
    Collection,
    create_collection,
    holds_collection,
    open_collection,
)
from archive.store.files import check_kept
from archive.store.saving import SaveCounts
from archive.store.writer import Writer

__all__ = [
    "Collection",
    "SaveCounts",
    "Writer",
    "check_kept",
    "create_collection",
    "holds_collection",
    "open_collection",
]
