"""The collection as the pages need it: in shelf order, by technique, family and level.

Built once for a publication. Hands out cards and links, so that one pattern looks the same
wherever it is listed. Knows nothing of templates.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from functools import cache, cached_property

from archive.records import Entry
from archive.site import figures
from archive.site.addresses import file_stems, shelf_order
from archive.site.links import NO_LEVEL, level_name
from archive.site.ornament import HIGH, WIDE, stand_in_path
from archive.site.pages import Card, Link, Thumbnail
from archive.site.pictures import PicturesOfPattern
from archive.vocabulary import families, kinds, techniques


class Collected:
    """All patterns of a publication and the lists they stand in."""

    def __init__(
        self,
        entries: Iterable[Entry],
        pictures_of: Callable[[Entry, str], PicturesOfPattern],
    ) -> None:
        self.entries = tuple(sorted(entries, key=lambda entry: shelf_order(entry.shelfmark)))
        self.by_shelfmark = {entry.shelfmark: entry for entry in self.entries}
        self._stems = file_stems(self.by_shelfmark)
        self.pictures = {
            entry.shelfmark: pictures_of(entry, self._stems[entry.shelfmark])
            for entry in self.entries
        }
        self.places = {entry.shelfmark: place for place, entry in enumerate(self.entries)}
        self._cards: dict[str, Card] = {}
        self._links: dict[str, Link] = {}

    def stem(self, entry: Entry) -> str:
        """What the files of a pattern are called, without an ending."""
        return self._stems[entry.shelfmark]

    def pattern_path(self, shelfmark: str) -> str:
        """Where the page of a pattern lies."""
        return f"patterns/{self._stems[shelfmark]}.html"

    def pattern_link(self, shelfmark: str, note: str = "") -> Link:
        """A link to a pattern; its shelfmark alone where the collection does not have it."""
        entry = self.by_shelfmark.get(shelfmark)
        if entry is None:
            return Link(shelfmark, note=note)
        if note:
            return Link(self.pattern_link(shelfmark).words, self.pattern_path(shelfmark), note)
        link = self._links.get(shelfmark)
        if link is None:
            link = Link(f"{entry.heading} ({shelfmark})", self.pattern_path(shelfmark))
            self._links[shelfmark] = link
        return link

    def card(self, entry: Entry) -> Card:
        """The pattern as it stands in a list."""
        card = self._cards.get(entry.shelfmark)
        if card is None:
            card = self._cards[entry.shelfmark] = self._make_card(entry)
        return card

    def _make_card(self, entry: Entry) -> Card:
        level = entry.difficulty.level or NO_LEVEL
        return Card(
            path=self.pattern_path(entry.shelfmark),
            shelfmark=entry.shelfmark,
            title=entry.heading,
            kind=kinds()[entry.kind].name if entry.kind else "",
            families=", ".join(families()[family].name for family in entry.families),
            pairs=figures.pairs_needed(entry.pairs),
            level=level,
            level_name=level_name(level),
            width=width_in_words(entry),
            thumbnail=self.pictures[entry.shelfmark].thumbnail or stand_in(entry),
            corrected=bool(entry.corrections),
        )

    @cached_property
    def from_easy_to_hard(self) -> tuple[Entry, ...]:
        """All patterns by level, then by pairs; what is not known comes last."""
        return tuple(sorted(self.entries, key=_ease))  # already in shelf order

    @cached_property
    def by_technique(self) -> dict[str, tuple[Entry, ...]]:
        """The patterns that use a technique or a narrower one, from easy to hard."""
        found: defaultdict[str, list[Entry]] = defaultdict(list)
        above = cache(techniques().with_broader)
        for entry in self.from_easy_to_hard:
            for technique in _with_broader(entry.technique_ids, above):
                found[technique].append(entry)
        return {technique: tuple(patterns) for technique, patterns in found.items()}

    @cached_property
    def by_family(self) -> dict[str, tuple[Entry, ...]]:
        """The patterns of a family or of one under it, from easy to hard."""
        found: defaultdict[str, list[Entry]] = defaultdict(list)
        above = cache(families().with_broader)
        for entry in self.from_easy_to_hard:
            for family in _with_broader(entry.families, above):
                found[family].append(entry)
        return {family: tuple(patterns) for family, patterns in found.items()}

    def neighbours(self, place: int) -> tuple[Link | None, Link | None]:
        """The patterns before and after a place on the shelf."""
        before = self.entries[place - 1] if place else None
        after = self.entries[place + 1] if place + 1 < len(self.entries) else None
        return (
            self.pattern_link(before.shelfmark) if before else None,
            self.pattern_link(after.shelfmark) if after else None,
        )


def width_in_words(entry: Entry) -> str:
    """The width as stated, else as measured on the sheet, which is then said."""
    if entry.size.width_mm is not None:
        return figures.millimetres(entry.size.width_mm)
    if entry.measured is not None and entry.measured.width_mm is not None:
        return f"{figures.millimetres(entry.measured.width_mm)} (measured)"
    return ""


def stand_in(entry: Entry) -> Thumbnail:
    """A drawing of what it makes with bare net in it, which is no picture of the pattern."""
    angle = entry.measured.ground_angle_deg if entry.measured else None
    return _drawn(stand_in_path(entry.kind, angle))


@cache
def _drawn(path: str) -> Thumbnail:
    return Thumbnail(path, WIDE, HIGH, stand_in=True)


def _ease(entry: Entry) -> tuple[int, int]:
    level, pairs = entry.difficulty.level, entry.pairs.best
    return level if level is not None else 99, pairs if pairs is not None else 9999


def _with_broader(ids: Sequence[str], chain: Callable[[str], tuple[str, ...]]) -> list[str]:
    return list(dict.fromkeys(term for own in ids for term in chain(own)))
