"""What lists, counts and the pages of others ask of a pattern: a small part of its record.

A publication holds this of every pattern, and reads whole records only where something is made
of them. Nothing here is private. It is remembered from one publication to the next.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from archive.records import Entry, Measured
from archive.records.thickness import estimated_wraps_per_cm, main_threads, stated_wraps_per_cm
from archive.site import figures
from archive.site.pages import Thumbnail
from archive.vocabulary import rights


class Use(NamedTuple):
    """A technique that a pattern uses, and whether it is taught, practised or optional."""

    technique: str
    role: str


class Net(NamedTuple):
    """The figures of a measured sheet; None where unknown."""

    pins: int
    ground_angle_deg: float | None
    foot_pitch_mm: float | None
    width_mm: float | None
    repeat_mm: float | None


class Shelved(NamedTuple):
    """A pattern as it stands on the shelf.

    Attributes:
        stem: what its files are called, without an ending.
        best_pairs: the most trustworthy number of pairs.
        width_mm: as stated, else as measured; `width_words` says which.
        wraps_per_cm: the range that suits, as a thread states, else as the pins suggest or the
            number of a thread lets expect; zeros where nothing tells.
        copying: “free”, “ask” or “open”, where nobody has looked into it.
        related: what it says of others, each as the kind of relation and the shelfmark.
        thumbnail: its small picture, if one is published.
    """

    shelfmark: str
    stem: str
    heading: str
    kind: str | None
    families: tuple[str, ...]
    technique_ids: tuple[str, ...]
    roles: tuple[str, ...]
    level: int | None
    best_pairs: int | None
    pairs_words: str
    width_mm: float | None
    width_words: str
    wraps_per_cm: tuple[float, float]
    has_gimp: bool | None
    corner: bool | None
    has_pricking: bool
    copying: str
    corrected: bool
    related: tuple[tuple[str, str], ...]
    measured: Net | None
    thumbnail: Thumbnail | None

    @property
    def techniques(self) -> tuple[Use, ...]:
        """The techniques in the order of the record, each with its role."""
        return tuple(map(Use, self.technique_ids, self.roles))

    @property
    def path(self) -> str:
        """Where its page lies."""
        return f"patterns/{self.stem}.html"


def shelve(entry: Entry, stem: str, thumbnail: Thumbnail | None = None) -> Shelved:
    """A record as it stands on the shelf."""
    found = entry.measured
    stated, measured = entry.size.width_mm, found.width_mm if found else None
    width_words = figures.millimetres(stated)
    if stated is None and measured is not None:
        width_words = f"{figures.millimetres(measured)} (measured)"
    return Shelved(
        shelfmark=entry.shelfmark,
        stem=stem,
        heading=entry.heading,
        kind=entry.kind,
        families=entry.families,
        technique_ids=entry.technique_ids,
        roles=tuple([use.role for use in entry.techniques]),
        level=entry.difficulty.level,
        best_pairs=entry.pairs.best,
        pairs_words=figures.pairs_needed(entry.pairs),
        width_mm=stated if stated is not None else measured,
        width_words=width_words,
        wraps_per_cm=_wraps(entry),
        has_gimp=entry.has_gimp,
        corner=entry.has_corner,
        has_pricking=entry.has_pricking,
        copying=_copying(entry),
        corrected=bool(entry.corrections),
        related=tuple([(relation.kind, relation.shelfmark) for relation in entry.related]),
        measured=_net(found) if found else None,
        thumbnail=thumbnail,
    )


def restored(told: list[Any]) -> Shelved:
    """A pattern that was kept as JSON, which knows no tuples."""
    found = Shelved(*told)
    return found._replace(
        families=tuple(found.families),
        technique_ids=tuple(found.technique_ids),
        roles=tuple(found.roles),
        wraps_per_cm=(found.wraps_per_cm[0], found.wraps_per_cm[1]),
        related=tuple([(kind, shelfmark) for kind, shelfmark in found.related]),
        measured=found.measured and Net(*found.measured),
        thumbnail=found.thumbnail and Thumbnail(*found.thumbnail),
    )


def _net(found: Measured) -> Net:
    return Net(
        found.pins,
        found.ground_angle_deg,
        found.foot_pitch_mm,
        found.width_mm,
        found.repeat_mm,
    )


def _copying(entry: Entry) -> str:
    """What the rights in design and pricking together say about copying the sheet."""
    found = [
        "no" if right is None else rights()[right.statement].pictures
        for right in (entry.rights.design, entry.rights.pricking)
    ]
    if "no" in found:
        return "open"
    return "ask" if "with_permission" in found else "free"


def _wraps(entry: Entry) -> tuple[float, float]:
    """The range of wraps per cm that suits, known in the surest way.

    As the threads of the lace itself state, else as its pins suggest, else as the numbers of the
    threads let expect.
    """
    threads = main_threads(entry)
    stated = [wraps for thread in threads if (wraps := stated_wraps_per_cm(thread))]
    if stated:
        return min(stated), max(stated)
    found = entry.measured
    if found and found.wraps_per_cm_low is not None and found.wraps_per_cm_high is not None:
        return found.wraps_per_cm_low, found.wraps_per_cm_high
    expected = [one for thread in threads if (one := estimated_wraps_per_cm(thread))]
    if expected:
        return min(one.low for one in expected), max(one.high for one in expected)
    return 0.0, 0.0
