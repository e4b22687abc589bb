"""What may be practised after a pattern, as the pages are told it. Knows not how it is found."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from archive.site.shelved import Shelved


class NextPattern(NamedTuple):
    """A pattern that may come next after another, and what would be new in it.

    `new_techniques` are ids of the vocabulary; none means that it practises what is known.
    """

    shelfmark: str
    new_techniques: tuple[str, ...] = ()


Finder = Callable[[Sequence[Shelved]], list[list[NextPattern]]]
"""Tells for each of some patterns what may follow it, the best first; it can be pickled."""


@dataclass(frozen=True)
class ComesNext:
    """Which patterns may follow each pattern; found only where it is needed.

    Attributes:
        made_from: all that they depend on beside the patterns, in words of any kind.
        among: a finder that chooses among patterns; it may ask for their techniques, levels
            and pairs.
    """

    made_from: str
    among: Callable[[Sequence[Shelved]], Finder]
