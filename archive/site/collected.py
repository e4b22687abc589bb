"""The collection as the pages need it: in shelf order, by technique, family and level.

Built once for a publication. Hands out cards and links, so that one pattern looks the same
wherever it is listed. Knows nothing of templates.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import cache, cached_property
from itertools import chain
from typing import TypeVar

from archive.site.links import NO_LEVEL, level_name
from archive.site.ornament import HIGH, WIDE, stand_in_path
from archive.site.pages import Card, Link, Thumbnail
from archive.site.shelved import Shelved
from archive.vocabulary import Term, Terms, families, kinds, techniques

T = TypeVar("T", bound=Term)


class Collected:
    """All patterns of a publication, in shelf order, and the lists they stand in."""

    def __init__(self, patterns: Iterable[Shelved]) -> None:
        self.patterns = tuple(patterns)
        self.by_shelfmark = {pattern.shelfmark: pattern for pattern in self.patterns}
        self.places = {pattern.shelfmark: place for place, pattern in enumerate(self.patterns)}
        self._cards: dict[str, Card] = {}
        self._links: dict[str, Link] = {}

    def __reduce__(self) -> tuple[object, ...]:
        """Another process is told the patterns alone, and lists them anew."""
        return Collected, (self.patterns,)

    def pattern_link(self, shelfmark: str, note: str = "") -> Link:
        """A link to a pattern; its shelfmark alone where the collection does not have it."""
        pattern = self.by_shelfmark.get(shelfmark)
        if pattern is None:
            return Link(shelfmark, note=note)
        link = self._links.get(shelfmark)
        if link is None:
            link = Link(f"{pattern.heading} ({shelfmark})", pattern.path)
            self._links[shelfmark] = link
        return Link(link.words, link.path, note) if note else link

    def card(self, pattern: Shelved) -> Card:
        """The pattern as it stands in a list."""
        card = self._cards.get(pattern.shelfmark)
        if card is None:
            card = self._cards[pattern.shelfmark] = _make_card(pattern)
        return card

    @cached_property
    def from_easy_to_hard(self) -> list[int]:
        """The places of all patterns by level, then by pairs; what is not known comes last."""
        return sorted(range(len(self.patterns)), key=lambda place: _ease(self.patterns[place]))

    @cached_property
    def by_technique(self) -> dict[str, list[int]]:
        """The places of patterns that use a technique or a narrower one, from easy to hard."""
        return self._by_term(techniques(), lambda pattern: pattern.technique_ids)

    @cached_property
    def by_family(self) -> dict[str, list[int]]:
        """The places of patterns of a family or of one under it, from easy to hard."""
        return self._by_term(families(), lambda pattern: pattern.families)

    def _by_term(
        self, terms: Terms[T], own: Callable[[Shelved], Sequence[str]]
    ) -> dict[str, list[int]]:
        found: defaultdict[str, list[int]] = defaultdict(list)
        above = cache(terms.with_broader)
        for place in self.from_easy_to_hard:
            ids = own(self.patterns[place])
            for term in dict.fromkeys(chain.from_iterable(map(above, ids))):
                found[term].append(place)
        return dict(found)

    def neighbours(self, place: int) -> tuple[Link | None, Link | None]:
        """The patterns before and after a place on the shelf."""
        before = self.patterns[place - 1] if place else None
        after = self.patterns[place + 1] if place + 1 < len(self.patterns) else None
        return (
            self.pattern_link(before.shelfmark) if before else None,
            self.pattern_link(after.shelfmark) if after else None,
        )


def _make_card(pattern: Shelved) -> Card:
    level = pattern.level or NO_LEVEL
    return Card(
        path=pattern.path,
        shelfmark=pattern.shelfmark,
        title=pattern.heading,
        kind=kinds()[pattern.kind].name if pattern.kind else "",
        families=", ".join([families()[family].name for family in pattern.families]),
        pairs=pattern.pairs_words,
        level=level,
        level_name=level_name(level),
        width=pattern.width_words,
        thumbnail=pattern.thumbnail or stand_in(pattern),
        corrected=pattern.corrected,
    )


def stand_in(pattern: Shelved) -> Thumbnail:
    """A drawing of what it makes with bare net in it, which is no picture of the pattern."""
    angle = pattern.measured.ground_angle_deg if pattern.measured else None
    return _drawn(stand_in_path(pattern.kind, angle))


@cache
def _drawn(path: str) -> Thumbnail:
    return Thumbnail(path, WIDE, HIGH, stand_in=True)


def _ease(pattern: Shelved) -> tuple[int, int]:
    return (
        pattern.level if pattern.level is not None else 99,
        pattern.best_pairs if pattern.best_pairs is not None else 9999,
    )
