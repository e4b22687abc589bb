"""What a page is told: plain data, made only of fields that may be published.

Templates see nothing but these classes. A field that is not here cannot reach a page, which
is how the donor, the place on the shelf, the private notes, the letter of permission, the
state of the sheet and the names of files stay in the collection. Paths are relative to the
site's folder. Knows no records and no templates.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Link(NamedTuple):
    """A page of the site and the words that lead there; without a path, the words alone."""

    words: str
    path: str = ""
    note: str = ""


class Fact(NamedTuple):
    """One labelled fact."""

    label: str
    value: str
    note: str = ""


class Swatch(NamedTuple):
    """A drawn stand-in for a picture: bare net at the angle, with the facts in words."""

    path: str
    words: str


class Thumbnail(NamedTuple):
    """A small picture cropped to the lace, or a stand-in that is no picture of the pattern."""

    path: str
    width: int
    height: int
    stand_in: bool = False


class Layer(NamedTuple):
    """One thing the analyser found, as SVG path data over the sheet."""

    name: str
    words: str
    marks: int
    data: str


class Picture(NamedTuple):
    """A published picture of a sheet, with what was found on it.

    Sizes are those of the coordinates the layers are drawn in; `stroke` is the width of a
    drawn hole there. `ten_mm` is the length of ten millimetres, 0 where the scale is not known.
    """

    path: str
    role: str
    alternative: str
    caption: str
    width: float
    height: float
    layers: tuple[Layer, ...] = ()
    stroke: float = 0
    ten_mm: float = 0


class Card(NamedTuple):
    """A pattern in a list."""

    path: str
    shelfmark: str
    title: str
    kind: str
    families: str
    pairs: str
    level: int
    level_name: str
    width: str
    thumbnail: Thumbnail
    corrected: bool


class Listed(NamedTuple):
    """A pattern in a list, and what is said of it there."""

    card: Card
    note: str = ""


class CorrectionText(NamedTuple):
    """What is wrong on the sheet, how it is put right, and since when that is known."""

    fault: str
    remedy: str
    date: str


class Compared(NamedTuple):
    """A figure as stated and as measured or counted."""

    what: str
    stated: str
    measured: str
    differs: bool = False


class RightText(NamedTuple):
    """One right in plain words; without a statement, nobody has looked into it."""

    part: str
    statement: str
    plain: str
    uri: str
    holder: str
    basis: str
    by_permission: bool


class PatternPage(NamedTuple):
    """One pattern of the collection; `data` says it in schema.org's words.

    `net` says the measured net shortly; the patterns `measured_alike` have nearly the same.
    `cite` names all but the shelfmark.
    """

    path: str
    shelfmark: str
    title: str
    other_titles: tuple[str, ...]
    summary: str
    families: tuple[Link, ...]
    kind: str
    pictures: tuple[Picture, ...]
    stand_in: Swatch | None
    corrections: tuple[CorrectionText, ...]
    teaches: tuple[Link, ...]
    practises: tuple[Link, ...]
    optional: tuple[Link, ...]
    level: int
    level_name: str
    level_stated: str
    needed: tuple[Fact, ...]
    shape: tuple[Fact, ...]
    compared: tuple[Compared, ...]
    notes: tuple[Fact, ...]
    know_first: tuple[Link, ...]
    comes_next: tuple[Link, ...]
    related: tuple[tuple[str, Link], ...]
    alike: tuple[Listed, ...]
    measured_alike: tuple[Listed, ...]
    net: str
    origin: tuple[Fact, ...]
    rights: tuple[RightText, ...]
    cite: str
    data: Mapping[str, object]
    previous: Link | None
    following: Link | None


class ForeignNames(NamedTuple):
    """What a technique is called in another language."""

    language: str
    code: str
    words: tuple[str, ...]
    from_memory: bool


class TechniquePage(NamedTuple):
    """One technique: what it is, what to know first, where to practise it."""

    path: str
    name: str
    also: tuple[str, ...]
    definition: str
    moves: str
    sources: tuple[str, ...]
    from_memory: bool
    foreign: tuple[ForeignNames, ...]
    foreign_sources: tuple[str, ...]
    broader: Link | None
    narrower: tuple[Link, ...]
    part_of: Link | None
    families: tuple[Link, ...]
    know_first: tuple[Link, ...]
    builds_on_it: tuple[Link, ...]
    step: int
    taught_by: tuple[Listed, ...]
    used_by: tuple[Listed, ...]


class ListedTerm(NamedTuple):
    """A technique or family in a list, with how many patterns have it."""

    link: Link
    note: str
    patterns: int
    narrower: tuple[ListedTerm, ...] = ()


class FamilyPage(NamedTuple):
    """One family of lace and its patterns, from easy to hard."""

    path: str
    name: str
    also: tuple[str, ...]
    note: str
    made: str
    foreign: tuple[ForeignNames, ...]
    broader: Link | None
    narrower: tuple[Link, ...]
    techniques: tuple[Link, ...]
    patterns: tuple[Listed, ...]


class Rung(NamedTuple):
    """One technique on the ladder: a box at (x, y), its middle on the left edge."""

    technique: str
    link: Link
    x: float
    y: float
    width: float
    lines: tuple[str, ...]
    patterns: int


class Strand(NamedTuple):
    """A "must be known before" as SVG path data, from the lower technique to the upper."""

    lower: str
    upper: str
    tone: int
    data: str


class LadderPage(NamedTuple):
    """The techniques in order of learning, as a drawing and as a list by steps."""

    width: float
    height: float
    box_height: float
    columns: tuple[tuple[str, float], ...]
    rungs: tuple[Rung, ...]
    strands: tuple[Strand, ...]
    steps: tuple[tuple[ListedTerm, ...], ...]
    apart: tuple[ListedTerm, ...]


class LevelSection(NamedTuple):
    """The patterns of one level of difficulty."""

    level: int
    name: str
    patterns: tuple[Listed, ...]


class ShelfRow(NamedTuple):
    """A line of the shelf list."""

    link: Link
    title: str
    families: str
    kind: str
    pairs: str
    level: int
    level_name: str


class Bar(NamedTuple):
    """One bar of a chart."""

    label: str
    patterns: int
    x: float
    y: float
    width: float
    height: float
    href: str = ""


class Chart(NamedTuple):
    """A small bar chart; its numbers are also given as a table."""

    title: str
    unit: str
    width: float
    height: float
    bars: tuple[Bar, ...]
    note: str


class HomePage(NamedTuple):
    """The search page, which is also a table of contents."""

    counts: tuple[Fact, ...]
    families: tuple[ListedTerm, ...]
    levels: tuple[ListedTerm, ...]
    techniques: tuple[ListedTerm, ...]
    bundled: bool


class AboutPage(NamedTuple):
    """The collection in words and figures."""

    paragraphs: tuple[str, ...]
    facts: tuple[Fact, ...]
    charts: tuple[Chart, ...]
