"""Asking the catalogue: the index is made anew by itself whenever it does not fit."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from archive.errors import StorageError, UsageError
from archive.progress import Progress, untold
from archive.search import Answer, Question, Range, StaleIndex, build_index, make_index, open_index
from archive.store import Collection
from archive.threads import estimate_wraps_per_cm, read_label


def find_patterns(
    collection: Collection,
    question: Question,
    *,
    facets: bool = False,
    progress: Progress = untold,
) -> Answer:
    """Answer a question from an index that agrees with the catalogue.

    A collection that cannot be written to, such as one on a read-only stick, is answered from
    an index that is not kept.
    """
    state = collection.state()
    try:
        with open_index(_folder(collection), state=state) as index:
            return index.ask(question, facets=facets)
    except StaleIndex:
        pass
    index = make_index(list(collection.entries()), progress=progress)
    with suppress(StorageError):
        index.save(_folder(collection), state=state)
    return index.ask(question, facets=facets)


def refresh_index(collection: Collection, *, progress: Progress = untold) -> None:
    """See to it that the collection's index agrees with the catalogue.

    The state is asked first: should somebody write meanwhile, the index is older than what it
    holds and is made anew, never the other way round.
    """
    state = collection.state()
    with suppress(StaleIndex), open_index(_folder(collection), state=state):
        return
    entries = list(collection.entries())
    build_index(_folder(collection), entries, state=state, progress=progress)


def _folder(collection: Collection) -> Path:
    return collection.folder / "index"


def wraps_of_thread(label: str) -> Range:
    """The wraps per cm that a thread makes: as its label states, or an estimated span.

    Raises:
        UsageError: the label leaves open how thick the thread is.
    """
    thread = read_label(label)
    if thread.wraps_per_cm is not None:
        return Range(thread.wraps_per_cm, thread.wraps_per_cm)
    if thread.linear_density_tex is None:
        open_question = thread.doubt.advice if thread.doubt else ""
        raise UsageError(
            f"“{label}” does not say how thick the thread is.",
            f"{open_question} Or count its wraps on a ruler and give --wraps.".strip(),
        )
    estimate = estimate_wraps_per_cm(thread.linear_density_tex)
    return Range(estimate.low, estimate.high)
