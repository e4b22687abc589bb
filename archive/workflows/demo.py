"""Building the demo collection of an invented guild, to look around in and to try things on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from archive.errors import UsageError
from archive.progress import Progress, untold
from archive.records.settings import read_settings
from archive.resources import DEMO_COLLECTION
from archive.site import Published
from archive.store import Collection, create_collection, holds_collection, open_collection
from archive.wording import fold
from archive.workflows.attaching import attach_file
from archive.workflows.finding import refresh_index
from archive.workflows.importing import Imported, import_list
from archive.workflows.measuring import MeasuredAll, measure_all
from archive.workflows.publishing import publish_collection
from archive.workflows.reading import reading_room


@dataclass(frozen=True)
class DemoBuilt:
    """What was made, and where it lies."""

    collection: Path
    first_page: Path
    patterns: int
    imported: Imported
    attached: int
    measured: MeasuredAll
    published: Published


def build_demo(
    folder: Path,
    *,
    stage: Callable[[str], Progress] = lambda _label: untold,
) -> DemoBuilt:
    """Build the demo collection in `folder`/collection and its site in `folder`/site.

    What is there already and current is left as it is. `stage` is called with the name of each
    stage and returns the callback for its progress.

    Raises:
        UsageError: a collection that is not the demo's lies there.
    """
    home = folder / "collection"
    path = DEMO_COLLECTION / "collection.toml"
    settings = read_settings(path.read_text(encoding="utf-8"), path)
    if not holds_collection(home):
        create_collection(home, settings)
    with open_collection(home) as collection:
        if collection.settings.name != settings.name:
            raise UsageError(
                f"“{home}” holds another collection, “{collection.settings.name}”.",
                "Choose another folder for the demo; nothing has been changed.",
            )
        imported = import_list(
            collection, DEMO_COLLECTION / "list.xlsx", progress=stage("Reading the list")
        )
        attached = _attach_sheets(collection, progress=stage("Storing the sheets"))
        measured = measure_all(collection, progress=stage("Measuring the sheets"))
        refresh_index(collection, progress=stage("Indexing"))
        published = publish_collection(collection, folder / "site", progress=stage("Publishing"))
        return DemoBuilt(
            collection=home,
            first_page=folder / "site" / "index.html",
            patterns=len(collection.shelfmarks()),
            imported=imported,
            attached=attached,
            measured=measured,
            published=published,
        )


def _attach_sheets(collection: Collection, *, progress: Progress) -> int:
    """Attach each sheet to the record whose shelfmark is its file's name; returns how many."""
    by_name = {fold(entry.shelfmark): entry for entry in collection.entries()}
    sheets = sorted((DEMO_COLLECTION / "sheets").iterdir())
    attached = 0
    with reading_room() as room:
        for number, sheet in enumerate(sheets, start=1):
            entry = by_name.get(fold(sheet.stem))
            if entry is not None and sheet.name not in {a.file_name for a in entry.attachments}:
                attach_file(collection, entry.shelfmark, sheet, room=room)
                attached += 1
            progress(number, len(sheets))
    return attached
