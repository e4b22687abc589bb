"""Makes the index from all records of the catalogue.

One process does: 10,000 records take seconds, and what made Whoosh quicker was to hand it the
words ready-made, each once (benchmarks/searching.py). A second process would have to be started
anew under Windows, with all of its imports.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from operator import length_hint
from pathlib import Path

from archive.progress import Progress, untold
from archive.records import Entry
from archive.search.figures import FiguresGathering
from archive.search.index import Index
from archive.search.searched import PARTS
from archive.search.wordindex import PartWords, sort_words

_TOLD_EVERY = 100


def build_index(
    folder: Path,
    entries: Iterable[Entry],
    *,
    state: str,
    progress: Progress = untold,
) -> None:
    """Put an index of `entries` into `folder`, in place of any older one.

    Args:
        folder: Holds the index and nothing else; is made where it is missing.
        entries: All records, each once.
        state: What `open_index` will be asked for: it changes whenever the catalogue does.
        progress: As for `make_index`.

    Raises:
        StorageError: There is no room or no permission.
    """
    make_index(entries, progress=progress).save(folder, state=state)


def make_index(
    entries: Iterable[Entry],
    *,
    progress: Progress = untold,
) -> Index:
    """An index of `entries` in memory, ready to be asked.

    Args:
        entries: All records, each once.
        progress: Told now and then how many records are done, of how many; 0 where `entries`
            does not say.
    """
    figures = FiguresGathering()
    expected = length_hint(entries)

    def rows() -> Iterator[PartWords]:
        for done, entry in enumerate(entries, start=1):
            figures.add(entry)
            yield [(part.weight, part.words(entry)) for part in PARTS]
            if done % _TOLD_EVERY == 0 or done == expected:
                progress(done, expected)

    postings = sort_words(rows())
    return Index({**postings.saved(), **figures.figures().saved()})
