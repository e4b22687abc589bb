"""Asking the catalogue: the index is made anew by itself whenever it does not fit."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from archive.errors import StorageError, UsageError
from archive.search import Answer, Question, Range, StaleIndex, build_index, open_index
from archive.store import Collection
from archive.threads import estimate_wraps_per_cm, read_label


def find_patterns(
    collection: Collection,
    question: Question,
    *,
    facets: bool = False,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> Answer:
    """Answer a question from an index that agrees with the catalogue.

    A collection that cannot be written to, such as one on a read-only stick, is indexed in a
    temporary folder.
    """
    own = collection.folder / "index"
    try:
        return _ask(own, collection, question, facets=facets)
    except StaleIndex:
        pass
    try:
        refresh_index(collection, own, progress=progress)
        return _ask(own, collection, question, facets=facets)
    except StorageError:
        with tempfile.TemporaryDirectory() as elsewhere:
            refresh_index(collection, Path(elsewhere), progress=progress)
            return _ask(Path(elsewhere), collection, question, facets=facets)


def refresh_index(
    collection: Collection,
    folder: Path,
    *,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
) -> None:
    """Make an index of the catalogue, as it is now, in a folder of its own."""
    build_index(folder, list(collection.entries()), state=collection.state(), progress=progress)


def _ask(folder: Path, collection: Collection, question: Question, *, facets: bool) -> Answer:
    with open_index(folder, state=collection.state()) as index:
        return index.ask(question, facets=facets)


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
