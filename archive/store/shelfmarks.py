"""How a slightly different spelling of a shelfmark is recognised."""

from __future__ import annotations

from collections.abc import Iterable

from archive.errors import UnknownShelfmark
from archive.wording import natural_key, nearest, runs_of


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
    runs = runs_of(mark)
    alike = [candidate for candidate in known if runs_of(candidate) == runs]
    if len(alike) == 1:
        return alike[0]
    raise UnknownShelfmark(mark, sorted(alike, key=natural_key)[:3] or nearest(mark, known))
