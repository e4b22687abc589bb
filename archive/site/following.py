"""What may be practised after a pattern, as the pages are told it. Knows not how it is found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from archive.site.shelved import Shelved


class NextPattern(NamedTuple):
    """A pattern that may come next after another, and what would be new in it.

    `new_techniques` are ids of the vocabulary; none means that it practises what is known.
    """

    shelfmark: str
    new_techniques: tuple[str, ...] = ()


@dataclass(frozen=True)
class ComesNext:
    """Which patterns may follow each pattern, the best first; found only where it is needed.

    Attributes:
        made_from: all that they depend on beside the patterns, in words of any kind.
        find: tells them for each shelfmark that has any; it may ask for the techniques, the
            level and the pairs of all patterns.
    """

    made_from: str
    find: Callable[[Sequence[Shelved]], Mapping[str, Sequence[NextPattern]]]
