"""Taking a guild's list in: read it, merge it with the catalogue, save it batch by batch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from archive.errors import CollectionInUse
from archive.lists import ListReading, Refused, read_list
from archive.progress import Progress, untold
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


@collector_resting()
def import_list(
    collection: Collection,
    path: Path,
    *,
    columns: Mapping[str, str] | None = None,
    dry_run: bool = False,
    progress: Progress = untold,
) -> Imported:
    """Read the list at `path` into the collection; with `dry_run` only say what would happen.

    A record that is there already is merged with its row (`records.merging`). Reading the same
    list twice changes nothing. `progress` is told of the rows that are read, and then of the
    records that are saved.

    Raises:
        UnreadableFile, InputError: the file is no list that can be read.
        CollectionInUse: another program is writing, or has changed a record meanwhile.
    """
    reading = read_list(path, columns=columns, progress=progress)
    findings = list(reading.findings)
    news, added = [], 0
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
    if not dry_run:
        _save(collection, news, state=state, progress=progress)
    return Imported(
        read=reading.read,
        added=added,
        changed=len(news) - added,
        unchanged=len(reading.patterns) - len(news),
        refused=reading.refused,
        findings=findings,
        columns=reading.columns,
        suggestion=reading.suggestion,
    )


def _save(
    collection: Collection, news: Sequence[Pattern], *, state: str, progress: Progress
) -> None:
    """Save, batch by batch, what was made of the catalogue as it was in this state."""
    saved = 0
    while saved < len(news):
        batch = news[saved : saved + BATCH_ROWS]
        try:
            with collection.writing() as writer:
                if collection.state() != state:
                    raise CollectionInUse(collection.folder)
                writer.save(batch, how="imported")
                state = writer.state
        except CollectionInUse as refusal:
            if not saved:
                raise
            kept = f"{saved:,} of {len(news):,} records are saved"
            raise CollectionInUse(collection.folder, kept) from refusal
        saved += len(batch)
        progress(saved, len(news))


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
