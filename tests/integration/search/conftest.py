"""Records in an index, to be asked."""

from collections.abc import Callable, Iterable
from typing import Any

import pytest

from archive.records import Entry
from archive.search import Answer, Index, Question, build_index, open_index

Indexed = Callable[[Iterable[Entry]], Index]
Ask = Callable[..., Answer]


@pytest.fixture(scope="session")
def indexed(tmp_path_factory: pytest.TempPathFactory) -> Indexed:
    """Puts records into an index on the disk and opens it."""
    folder = tmp_path_factory.mktemp("collection") / "index"

    def _indexed(entries: Iterable[Entry]) -> Index:
        build_index(folder, entries, state="now")
        with open_index(folder, state="now") as index:
            return index

    return _indexed


@pytest.fixture(scope="session")
def ask(indexed: Indexed) -> Ask:
    """Asks some records: `ask(records, words="rose", facets=True)`."""

    def _ask(entries: Iterable[Entry], *, facets: bool = False, **question: Any) -> Answer:
        return indexed(entries).ask(Question(**question), facets=facets)

    return _ask
