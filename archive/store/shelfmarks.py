"""How shelfmarks are ordered and how a slightly different spelling is recognised."""

from __future__ import annotations

import re
from collections.abc import Iterable

from archive.errors import UnknownShelfmark
from archive.wording import fold, nearest

SortKey = tuple[list[tuple[int, int, str]], str]
_RUNS = re.compile(r"[0-9]+|[^\W0-9_]+|[^\w\s]")


def _runs(mark: str) -> list[str]:
    """The words, numbers and signs of a mark, without case, spaces and dashes."""
    return _RUNS.findall(fold(mark))


def natural_key(mark: str) -> SortKey:
    """A key that puts P 2 before P 10, whatever the spaces and dashes between."""
    runs = [(0, int(run), "") if run[0] in "0123456789" else (1, 0, run) for run in _runs(mark)]
    return runs, mark


def get_same(mark: str, known: Iterable[str]) -> str:
    """The known shelfmark that `mark` means: itself, or the only one that is spelt alike.

    Spellings are alike if they differ in case, spaces and dashes alone, and no number is
    thereby put together or taken apart: “p-12” is P 12, but “P 1-2” is not.

    Raises:
        UnknownShelfmark: no known shelfmark is alike, or several are; names the nearest.
    """
    known = list(known)
    if mark in known:
        return mark
    runs = _runs(mark)
    alike = [candidate for candidate in known if _runs(candidate) == runs]
    if len(alike) == 1:
        return alike[0]
    raise UnknownShelfmark(mark, sorted(alike, key=natural_key)[:3] or nearest(mark, known))
