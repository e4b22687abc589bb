"""What may be practised after a pattern, as the pages are told it. Knows not how it is found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class NextPattern:
    """A pattern that may come next after another, and what would be new in it.

    `new_techniques` are ids of the vocabulary; none means that it practises what is known.
    """

    shelfmark: str
    new_techniques: tuple[str, ...] = ()


@dataclass(frozen=True)
class ComesNext:
    """Which patterns may follow each pattern, the best first; found only where it is needed.

    Attributes:
        made_from: all that they depend on, in words of any kind.
        find: tells them for each shelfmark that has any.
    """

    made_from: str
    find: Callable[[], Mapping[str, Sequence[NextPattern]]]
