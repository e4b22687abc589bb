"""Taking a guild's list in: read it, merge it with the catalogue, save it batch by batch."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from archive.errors import CollectionInUse
from archive.lists import ListReading, Refused, read_list
from archive.records import Finding, Pattern
from archive.records.merging import Clash, merge_listed
from archive.store import Collection
from archive.workflows.resting import collector_resting

BATCH_ROWS = 5000
"""Rows saved in one transaction: a killed import keeps whole batches, never a part of one."""


@dataclass(frozen=True)
class Imported:
    """What an import did, or would do: counts of rows, and what needs a person.

    `columns` maps each recognised heading to its field; `suggestion` proposes a field for
    headings that were not recognised.
    """

    read: int
    added: int
    changed: int
    unchanged: int
    refused: list[Refused]
    findings: list[Finding]
    columns: Mapping[str, str]
    suggestion: Mapping[str, str]


def import_list(
    collection: Collection,
    path: Path,
    *,
    columns: Mapping[str, str] | None = None,
    dry_run: bool = False,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Imported:
    """Read the list at `path` into the collection; with `dry_run` only say what would happen.

    A record that is there already is merged with its row (`records.merging`). Reading the same
    list twice changes nothing.

    Raises:
        UnreadableFile, InputError: the file is no list that can be read.
        CollectionInUse: another program is writing, or has changed a record meanwhile.
    """
    with collector_resting():
        return _import(collection, path, columns or {}, dry_run=dry_run, progress=progress)


def _import(
    collection: Collection,
    path: Path,
    columns: Mapping[str, str],
    *,
    dry_run: bool,
    progress: Callable[[int, int], None],
) -> Imported:
    reading = read_list(path, columns=columns)
    findings = list(reading.findings)
    news, added, changed = [], 0, 0
    state = collection.state()
    known = _known(collection, reading)
    for row, listed in reading.patterns:
        current, before = known.get(listed.shelfmark, (None, None))
        if current is None:
            news.append(listed)
            added += 1
            continue
        merged, clashes = merge_listed(current, listed, before=before)
        findings.extend(_told(clash, row, listed.shelfmark) for clash in clashes)
        if merged != current:
            news.append(merged)
            changed += 1
    if not dry_run:
        for start in range(0, len(news), BATCH_ROWS):
            with collection.writing() as writer:
                if start == 0 and collection.state() != state:
                    raise CollectionInUse(collection.folder)
                writer.save(news[start : start + BATCH_ROWS], how="imported")
            progress(min(start + BATCH_ROWS, len(news)), len(news))
    return Imported(
        read=reading.read,
        added=added,
        changed=changed,
        unchanged=len(reading.patterns) - len(news),
        refused=reading.refused,
        findings=findings,
        columns=reading.columns,
        suggestion=reading.suggestion,
    )


def _known(
    collection: Collection, reading: ListReading
) -> dict[str, tuple[Pattern, Pattern | None]]:
    """The listed records that are in the catalogue: as they are, and as last imported."""
    listed = {pattern.shelfmark for _, pattern in reading.patterns}
    if listed.isdisjoint(collection.shelfmarks()):
        return {}
    before = collection.last_imported()
    return {
        entry.shelfmark: (entry.pattern, before.get(entry.shelfmark))
        for entry in collection.entries()
        if entry.shelfmark in listed
    }


def _told(clash: Clash, row: int, shelfmark: str) -> Finding:
    return Finding(
        code="changed-on-both-sides",
        shelfmark=shelfmark,
        row=row,
        column=clash.field,
        found=f"the catalogue said {clash.catalogue!r}, the list now says {clash.listed!r}",
        advice=(
            "The list was taken. “prickings history” shows the other value, and "
            "“prickings edit --back-to” brings it back."
        ),
    )
