"""From a record to the page of a pattern: only what may be published, in a maker's words."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence

from archive.records import Entry, Right, Thread
from archive.records.measurement import SYMMETRIES
from archive.records.thickness import estimated_wraps_per_cm, stated_wraps_per_cm
from archive.site import figures
from archive.site.collected import Collected, stand_in
from archive.site.following import NextPattern
from archive.site.ladder import steps
from archive.site.likeness import Places
from archive.site.linked_data import pattern_data
from archive.site.links import NO_LEVEL, family_link, level_name, technique_link
from archive.site.pages import (
    Compared,
    CorrectionText,
    Fact,
    Link,
    Listed,
    PatternPage,
    RightText,
    Swatch,
)
from archive.site.pictures import PicturesOfPattern
from archive.site.remembering import OfRecord
from archive.site.shelved import Shelved
from archive.vocabulary import kinds, rights, techniques

UNKNOWN = "not known"
MEASURED = "measured on the sheet"
MOST_SHARED = 3
"""Techniques named as shared with another pattern, the latest steps first."""
WIDTH_AGREES = 0.05
"""A stated width and a measured one that differ by no more than this part are called equal."""

_NOTES = {
    "start": "How to start",
    "order": "",
    "easily wrong": "Easy to get wrong",
    "tip": "Tip",
}
_PARTS = {
    "design": "the design",
    "working_up": "the working-up",
    "pricking": "the pricking",
    "photograph": "the photograph",
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
            needed=tuple(_needed(entry)),
            shape=tuple(_shape(entry)),
            compared=tuple(_compared(entry)),
            notes=tuple(Fact(_NOTES[note.about], note.text) for note in entry.working_notes),
            know_first=_know_first(entry),
            comes_next=tuple(self._next(following)),
            related=tuple(self._related(pattern)),
            alike=tuple(self._alike_to(place)),
            measured_alike=tuple(self._measured_as(place)),
            net=_net(pattern),
            origin=tuple(_origin(entry)),
            rights=tuple(_rights(entry)),
            cite=_cite(entry, self._name),
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
    begun = _sentence(f"{families} {kind}".strip())
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


def _needed(entry: Entry) -> Iterator[Fact]:
    best = figures.pairs_needed(entry.pairs)
    how = {"counted": "counted on the sheet", "stated": "as stated"}.get(entry.pairs.how or "", "")
    yield Fact("Pairs", best or UNKNOWN, how)
    stated = entry.pairs.counted or entry.pairs.stated
    if stated is not None and stated.start is not None and stated.most not in (None, stated.start):
        yield Fact("Pairs at the start", str(stated.start))
    if stated is not None and stated.corner_extra:
        yield Fact("More for the corner", figures.counted(stated.corner_extra, "pair"))
    if entry.gimps is not None:
        yield Fact("Gimp", figures.gimps(entry.gimps))
    elif entry.has_gimp:
        yield Fact("Gimp", "yes, how many is not known")
    for place, thread in enumerate(entry.threads):
        yield Fact(
            "Thread" if place == 0 else "and", figures.thread(thread), _expected_wraps(thread)
        )
    if not entry.threads:
        yield Fact("Thread", UNKNOWN, _thread_advice(entry))


def _shape(entry: Entry) -> Iterator[Fact]:
    found = entry.measured
    width = found and found.width_mm
    if entry.size.width_mm is None and width:
        yield Fact("Width", figures.millimetres(width), f"from pin to pin, {MEASURED}")
    else:
        yield Fact("Width", figures.millimetres(entry.size.width_mm) or UNKNOWN)
    repeat = entry.size.repeat_mm or (found and found.repeat_mm)
    if repeat:
        note = "" if entry.size.repeat_mm else MEASURED
        yield Fact("One repeat", figures.millimetres(repeat), note)
    if found is not None and found.symmetry is not None:
        yield Fact("Symmetry", SYMMETRIES[found.symmetry], MEASURED)
    if found is not None and found.scallops is not None and found.head_pins is not None:
        yield Fact("Headside", figures.headside(found.scallops, found.head_pins), MEASURED)
    if found is not None and found.like_parts is not None:
        yield Fact("About its centre", f"{found.like_parts} like parts", MEASURED)
    if entry.size.length_mm:
        yield Fact("Length", figures.millimetres(entry.size.length_mm))
    if entry.corner is not None:
        yield Fact("Corner", "yes" if entry.corner else "no")


def _expected_wraps(thread: Thread) -> str:
    """What the number of a thread lets expect, where its wraps are not stated."""
    expected = estimated_wraps_per_cm(thread)
    if stated_wraps_per_cm(thread) or expected is None:
        return ""
    span = figures.span(expected.low, expected.high)
    return f"{span} wraps per cm, estimated from its number"


def _thread_advice(entry: Entry) -> str:
    found = entry.measured
    if found is None or found.wraps_per_cm_low is None or found.wraps_per_cm_high is None:
        return ""
    wraps = figures.span(found.wraps_per_cm_low, found.wraps_per_cm_high)
    return f"by the distance of its pins perhaps {wraps} wraps per cm (estimate); try a sample"


def _compared(entry: Entry) -> Iterator[Compared]:
    found = entry.measured
    pairs = entry.pairs
    if pairs.counted or pairs.estimated:
        stated = figures.pair_count(pairs.stated)
        counted = figures.pair_count(pairs.counted)
        estimate = figures.pair_estimate(pairs.estimated)
        best = (pairs.counted or pairs.stated) and pairs.best
        differs = bool(
            best and pairs.estimated and not pairs.estimated.low <= best <= pairs.estimated.high
        ) or bool(
            pairs.stated and pairs.counted and pairs.stated.needed is not None
            and pairs.stated.needed != pairs.counted.needed
        )  # fmt: skip
        found_pairs = "; ".join(
            part for part in (f"{counted} counted" if counted else "", estimate) if part
        )
        yield Compared("Pairs", stated, found_pairs, differs)
    if found is None:
        return
    for what, said, seen in (
        ("Width", entry.size.width_mm, found.width_mm),
        ("One repeat", entry.size.repeat_mm, found.repeat_mm),
    ):
        if seen is not None:
            differs = said is not None and abs(said - seen) > max(1.0, WIDTH_AGREES * seen)
            yield Compared(what, figures.millimetres(said), figures.millimetres(seen), differs)
    low, high = found.wraps_per_cm_low, found.wraps_per_cm_high
    if low is not None and high is not None:
        said = next((thread.wraps_per_cm for thread in entry.threads if thread.wraps_per_cm), None)
        yield Compared(
            "Thread, wraps per cm",
            figures.number(said) if said else "",
            f"{figures.span(low, high)} (estimate)",
            said is not None and not low <= said <= high,
        )
    if found.ground_angle_deg is not None:
        yield Compared("Angle of the ground", "", figures.angle(found))
    if found.foot_pitch_mm is not None:
        yield Compared(
            "Distance of footside pins", "", f"{figures.number(found.foot_pitch_mm, places=2)} mm"
        )
    yield Compared("Pinholes on the sheet", "", str(found.pins))
    if found.pins_per_10cm is not None:
        yield Compared("Pins in 10 cm of lace", "", f"{found.pins_per_10cm:.0f}")
    if found.doubts:
        yield Compared("Holes to look at", "", str(found.doubts))


def _origin(entry: Entry) -> Iterator[Fact]:
    designer = entry.designer
    if designer.status == "named" and designer.name:
        yield Fact("Designer", designer.name, designer.evidence)
    else:
        said = "traditional" if designer.status == "traditional" else UNKNOWN
        yield Fact("Designer", said, designer.evidence)
    source = figures.source(entry.source)
    if source:
        yield Fact("Printed in", source)
    if entry.period:
        yield Fact("Period", entry.period)
    if entry.material:
        yield Fact("The sheet", entry.material)


def _rights(entry: Entry) -> Iterator[RightText]:
    """Each right in plain words; parts of which the same is said stand together."""
    parts: defaultdict[Right | None, list[str]] = defaultdict(list)
    for part, words in _PARTS.items():
        parts[getattr(entry.rights, part)].append(words)
    for right, named in parts.items():
        yield _right(_sentence(figures.listed(named)), right)


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _right(part: str, right: Right | None) -> RightText:
    if right is None:
        return RightText(
            part, "", "Nobody has looked into this yet: treat it as protected.", "", "", "", False
        )
    statement = rights()[right.statement]
    return RightText(
        part=part,
        statement=statement.name,
        plain=statement.plain,
        uri=statement.uri,
        holder=right.holder,
        basis=right.basis,
        by_permission=statement.pictures == "with_permission" and right.allows_pictures,
    )


def _cite(entry: Entry, collection_name: str) -> str:
    designer = entry.designer
    maker = designer.name if designer.status == "named" and designer.name else ""
    parts = [maker, f"“{entry.heading}”", figures.source(entry.source)]
    said = ", ".join(part for part in parts if part)
    return f"{said}. {collection_name}, shelfmark {entry.shelfmark}."
