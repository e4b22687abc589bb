"""From a record to the page of a pattern: only what may be published, in a maker's words."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence

from archive.records import Entry
from archive.site import figures, pattern_facts
from archive.site.collected import Collected, stand_in
from archive.site.copying import citation, told_rights
from archive.site.following import NextPattern
from archive.site.ladder import steps
from archive.site.likeness import Places
from archive.site.linked_data import pattern_data
from archive.site.links import NO_LEVEL, family_link, level_name, technique_link
from archive.site.pages import (
    CorrectionText,
    Fact,
    Link,
    Listed,
    PatternPage,
    Swatch,
)
from archive.site.pictures import PicturesOfPattern
from archive.site.remembering import OfRecord
from archive.site.shelved import Shelved
from archive.vocabulary import kinds, techniques

MOST_SHARED = 3
"""Techniques named as shared with another pattern, the latest steps first."""

_NOTES = {
    "start": "How to start",
    "order": "",
    "easily wrong": "Easy to get wrong",
    "tip": "Tip",
}
_RELATIONS = {
    "companion insertion": ("Its companion insertion", "Companion to"),
    "companion edging": ("Its companion edging", "Companion to"),
    "corner for": ("A corner for", "Its corner"),
    "redraft of": ("Redrafted from", "Redrafted as"),
    "copy of": ("A copy of", "Copied as"),
    "same pricking in another thread": ("The same pricking in another thread",) * 2,
    "sample made from it": ("A sample made from it", "A sample of"),
    "see also": ("See also",) * 2,
}
"""What a relation is called on the page that states it, and on the other's."""
_SAME_HOLES = ("copy of", "redraft of", "same pricking in another thread")
"""Where one sheet has a fault the other may have it too."""


class PatternPages:
    """The pages of all patterns.

    Args:
        collected: the collection.
        collection_name: how the collection is cited.
        alike: for each place on the shelf, the places of the patterns like it, then -1.
        measured_alike: the same of those whose sheets measure nearly the same.
    """

    def __init__(
        self,
        collected: Collected,
        collection_name: str,
        alike: Places,
        measured_alike: Places,
    ) -> None:
        self._collected = collected
        self._name = collection_name
        self._alike = _without_nobody(alike)
        self._measured_alike = _without_nobody(measured_alike)
        self._named_by: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
        for pattern in collected.patterns:
            for kind, shelfmark in pattern.related:
                self._named_by[shelfmark].append((kind, pattern.shelfmark))

    def made_from(
        self, place: int, following: Sequence[NextPattern], records: Sequence[OfRecord]
    ) -> list[str]:
        """All that the page of a pattern depends on, beside the programs that make it."""
        pattern = self._collected.patterns[place]
        places = self._collected.places
        told = [records[place].key]
        for others in (self._alike[place], self._measured_alike[place], [place - 1, place + 1]):
            told += [records[other].listed for other in others if 0 <= other < len(records)]
            told.append("")
        for one in following:
            if one.shelfmark in places:
                told.append(records[places[one.shelfmark]].listed)
            told += one.new_techniques
        if pattern.related or pattern.shelfmark in self._named_by:
            for words, link in self._related(pattern):
                told += (words, *link)
        return told

    def page(
        self, place: int, entry: Entry, made: PicturesOfPattern, following: Sequence[NextPattern]
    ) -> PatternPage:
        """The page of the pattern at a place on the shelf.

        Args:
            place: from 0.
            entry: its record.
            made: its pictures.
            following: the patterns that may come next.
        """
        pattern = self._collected.patterns[place]
        before, after = self._collected.neighbours(place)
        pictures = made.shown
        level = entry.difficulty.level or NO_LEVEL
        return PatternPage(
            path=pattern.path,
            shelfmark=entry.shelfmark,
            title=entry.heading,
            other_titles=entry.other_titles,
            summary=_summary(entry),
            families=tuple(family_link(family) for family in entry.families),
            kind=kinds()[entry.kind].name if entry.kind else "",
            pictures=pictures,
            stand_in=None if pictures else _stand_in(pattern, entry, made),
            corrections=tuple(
                CorrectionText(found.fault, found.remedy, _date(found.date))
                for found in entry.corrections
            ),
            teaches=_uses(entry, "taught"),
            practises=_uses(entry, "practised"),
            optional=_uses(entry, "optional"),
            level=level,
            level_name=level_name(level),
            level_stated=entry.difficulty.stated,
            needed=tuple(pattern_facts.needed(entry)),
            shape=tuple(pattern_facts.shape(entry)),
            compared=tuple(pattern_facts.compared(entry)),
            notes=tuple(Fact(_NOTES[note.about], note.text) for note in entry.working_notes),
            know_first=_know_first(entry),
            comes_next=tuple(self._next(following)),
            related=tuple(self._related(pattern)),
            alike=tuple(self._alike_to(place)),
            measured_alike=tuple(self._measured_as(place)),
            net=_net(pattern),
            origin=tuple(pattern_facts.origin(entry)),
            rights=tuple(told_rights(entry)),
            cite=citation(entry, self._name),
            data=pattern_data(entry, pictures, self._name, "../"),
            previous=before,
            following=after,
        )

    def _alike_to(self, place: int) -> Iterator[Listed]:
        """The patterns like one by their techniques, and what they share."""
        patterns = self._collected.patterns
        latest = sorted(set(patterns[place].technique_ids), key=lambda one: (-steps()[one], one))
        for other in [patterns[one] for one in self._alike[place]]:
            shared = [one for one in latest if one in other.technique_ids]
            names = [technique_link(one).words for one in shared[:MOST_SHARED]]
            left = len(shared) - len(names)
            if left:
                names.append(f"{left} more")
            yield Listed(self._collected.card(other), f"shares {figures.listed(names)}")

    def _measured_as(self, place: int) -> Iterator[Listed]:
        """The patterns whose sheets measure nearly the same, and what they measure."""
        for one in self._measured_alike[place]:
            other = self._collected.patterns[one]
            yield Listed(self._collected.card(other), _net(other))

    def _next(self, following: Sequence[NextPattern]) -> Iterator[Link]:
        for one in following:
            yield self._collected.pattern_link(one.shelfmark, _news(one))

    def _related(self, pattern: Shelved) -> Iterator[tuple[str, Link]]:
        told = set()
        for kind, shelfmark in pattern.related:
            told.add(shelfmark)
            yield _RELATIONS[kind][0], self._related_link(kind, shelfmark)
        for kind, shelfmark in self._named_by.get(pattern.shelfmark, ()):
            if shelfmark not in told:
                yield _RELATIONS[kind][1], self._related_link(kind, shelfmark)

    def _related_link(self, kind: str, shelfmark: str) -> Link:
        """A link to a related pattern that warns of faults the two sheets may share."""
        other = self._collected.by_shelfmark.get(shelfmark)
        shared = kind in _SAME_HOLES and other is not None and other.corrected
        note = "has corrections: look whether they hold here too" if shared else ""
        return self._collected.pattern_link(shelfmark, note)


def _without_nobody(alike: Places) -> list[list[int]]:
    return [[place for place in row if place >= 0] for row in alike.tolist()]


def _net(pattern: Shelved) -> str:
    """The measured net in short words; empty where there is none."""
    found = pattern.measured
    if found is None or found.ground_angle_deg is None or found.foot_pitch_mm is None:
        return ""
    angle, pitch = figures.number(found.ground_angle_deg), figures.number(found.foot_pitch_mm)
    return f"{angle}°, pins {pitch}{figures.NBSP}mm apart"


def _date(date: dt.date | None) -> str:
    return f"{date.day} {date:%B} {date.year}" if date else ""


def _summary(entry: Entry) -> str:
    """One sentence for search engines and screen readers."""
    kind = kinds()[entry.kind].name if entry.kind else "pattern"
    families = figures.listed([family_link(family).words for family in entry.families])
    pairs = figures.pairs_needed(entry.pairs)
    begun = figures.sentence(f"{families} {kind}".strip())
    return f"{begun}{', ' + pairs if pairs else ''}."


def _stand_in(pattern: Shelved, entry: Entry, made: PicturesOfPattern) -> Swatch:
    angle = entry.measured.ground_angle_deg if entry.measured else None
    if any(finding.code == "picture-unreadable" for finding in made.withheld):
        words = "The picture of this pattern could not be read; ask the guild for it."
    elif entry.attachments:
        words = "No picture of this pattern is published; see “May it be copied?”."
    else:
        words = "The collection has no picture of this pattern."
    kind = f" {_with_article(kinds()[entry.kind].name)}" if entry.kind else ""
    if angle is not None:
        words += f" Drawn here is{kind or ' lace'} of bare net"
        words += f" at its measured angle, {figures.number(angle)}°."
    elif kind:
        words += f" Drawn here is the outline of{kind}."
    return Swatch(stand_in(pattern).path, words)


def _with_article(noun: str) -> str:
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def _uses(entry: Entry, role: str) -> tuple[Link, ...]:
    return tuple(technique_link(use.technique) for use in entry.techniques if use.role == role)


def _know_first(entry: Entry) -> tuple[Link, ...]:
    """What its techniques build on and it does not itself use, first steps first."""
    own = set(entry.technique_ids)
    asked_for = [use.technique for use in entry.techniques if use.role != "optional"]
    needed = {
        before for technique in asked_for for before in techniques()[technique].prerequisites
    } - own
    return tuple(
        technique_link(technique)
        for technique in sorted(needed, key=lambda found: (steps()[found], found))
    )


def _news(following: NextPattern) -> str:
    if not following.new_techniques:
        return "nothing new, more practice"
    names = [technique_link(technique).words for technique in following.new_techniques]
    return f"new: {figures.listed(names)}"
