"""Where each page lies: a short, plain file name for every shelfmark and term.

A name holds only a-z, 0-9 and hyphens, so that it is the same on every file system, needs no
escaping in a link and can be read aloud. Knows nothing of templates or files.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable

from archive.wording import fold

LONGEST_STEM = 48
"""Letters of a shelfmark or term kept in its file name; long names trouble old file systems."""

_WINDOWS_DEVICES = {"con", "prn", "aux", "nul"} | {
    f"{port}{number}" for port in ("com", "lpt") for number in range(10)
}
"""Names that Windows keeps for devices, whatever the ending.

Source: Microsoft, Naming Files, Paths, and Namespaces.
"""


def file_stems(marks: Iterable[str]) -> dict[str, str]:
    """A file name without ending for each mark, no two alike.

    A mark whose plain form is empty, taken by another or kept by Windows gets six figures of
    its own hash behind it; so a name never depends on the order of the marks.
    """
    plain = {mark: _plain(mark) for mark in marks}
    taken = Counter(plain.values())
    return {
        mark: stem
        if stem and taken[stem] == 1 and stem not in _WINDOWS_DEVICES
        else f"{stem or 'sheet'}-{hashlib.sha256(mark.encode()).hexdigest()[:6]}"
        for mark, stem in plain.items()
    }


def _plain(mark: str) -> str:
    words = re.sub(r"[^a-z0-9]+", "-", fold(mark)).strip("-")
    return words[:LONGEST_STEM].rstrip("-")


def shelf_order(shelfmark: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts shelfmarks as a person would: B 2 before B 10.

    >>> sorted(["B 10", "b 2", "A 30"], key=shelf_order)
    ['A 30', 'b 2', 'B 10']
    """
    parts = re.findall(r"[0-9]+|[^0-9]+", fold(shelfmark))
    key = tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts)
    return (*key, (-1, 0, shelfmark))
