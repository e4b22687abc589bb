"""What the catalogue knows of one pattern.

Validated, unchanging models without any reading or writing. A field that is not known is
None, "" or empty, never a guess. Lengths are in millimetres. Everything that must not leave
the collection lies under `internal` and `unparsed`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, StringConstraints

from archive.records.base import Record
from archive.records.rights import Rights
from archive.vocabulary import Terms, families, kinds, techniques

LONGEST_LINE, LONGEST_TEXT, LONGEST_SHELFMARK = 500, 20_000, 80
"""Characters."""
MOST_PAIRS, MOST_WRAPS_PER_CM = 5000, 500
"""More is a slip of the pen. Common practice, no source."""

Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=LONGEST_LINE)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, max_length=LONGEST_TEXT)]
Shelfmark = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=LONGEST_SHELFMARK),
    AfterValidator(lambda mark: _without_control_characters(mark)),
]
Count = Annotated[int, Field(ge=0, le=MOST_PAIRS)]
LengthMm = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]


def _without_control_characters(mark: str) -> str:
    if not mark.isprintable():
        raise ValueError("has a line break or another invisible character in it")
    return mark


def _id_among(terms: Callable[[], Terms[Any]]) -> AfterValidator:
    def known(term_id: str) -> str:
        if term_id not in terms():
            near = ", ".join(terms().nearest(term_id))
            raise ValueError(
                f"“{term_id}” is not a {terms().called} of the vocabulary"
                + (f" (nearest: {near})" if near else "")
            )
        return term_id

    return AfterValidator(known)


TechniqueId = Annotated[str, _id_among(techniques)]
FamilyId = Annotated[str, _id_among(families)]
KindId = Annotated[str, _id_among(kinds)]


class TechniqueUse(Record):
    """A technique of the pattern and the part it plays in learning."""

    technique: TechniqueId
    role: Literal["taught", "practised", "optional"] = "practised"


class PairCount(Record):
    """A number of pairs as somebody states or counted it."""

    start: Count | None = Field(None, description="pairs hung on at the start")
    most: Count | None = Field(None, description="pairs on the pillow at most")
    corner_extra: Count | None = Field(None, description="pairs more for a corner")
    about: bool = Field(False, description="the number is given as approximate")
    words: Line = Field("", description="as written, where it says more than the numbers")

    @property
    def needed(self) -> int | None:
        """The pairs a maker must wind for straight work, or None if unknown."""
        return self.most if self.most is not None else self.start


class PairEstimate(Record):
    """A number of pairs estimated from a measured sheet, with its range and reasons."""

    value: Count
    low: Count
    high: Count
    reasons: tuple[Line, ...] = ()


class Pairs(Record):
    """Pairs of bobbins: what is stated, what was counted, what was estimated, kept apart."""

    stated: PairCount | None = None
    counted: PairCount | None = None
    estimated: PairEstimate | None = None

    @property
    def best(self) -> int | None:
        """The most trustworthy number of pairs: counted, else stated, else estimated."""
        for count in (self.counted, self.stated):
            if count is not None and count.needed is not None:
                return count.needed
        return self.estimated.value if self.estimated else None

    @property
    def how(self) -> Literal["counted", "stated", "estimated"] | None:
        """Where `best` comes from."""
        if self.counted is not None and self.counted.needed is not None:
            return "counted"
        if self.stated is not None and self.stated.needed is not None:
            return "stated"
        return "estimated" if self.estimated else None


class Gimps(Record):
    """Thick outline threads, counted apart from the pairs."""

    singles: Count = Field(0, description="gimps worked as single threads")
    pairs: Count = Field(0, description="gimps worked in pairs")

    @property
    def any(self) -> bool:
        """Whether there is a gimp at all."""
        return self.singles + self.pairs > 0


class Thread(Record):
    """A thread, with its label kept as printed."""

    label: Line = Field(description="as printed or written")
    system: Line | None = Field(None, description="numbering system, only where it is stated")
    count: Annotated[float, Field(gt=0, le=100_000)] | None = Field(
        None, description="number of the single thread in its system"
    )
    plies: Annotated[int, Field(ge=1, le=100)] | None = None
    fibre: Line | None = None
    use: Line | None = Field(None, description="what it is for: ground, gimp, outline …")
    wraps_per_cm: Annotated[float, Field(gt=0, le=MOST_WRAPS_PER_CM)] | None = Field(
        None, description="measured on a ruler"
    )


class Difficulty(Record):
    """Difficulty as stated, and the level from 1 (first steps) to 5 (very hard)."""

    stated: Line = ""
    level: Annotated[int, Field(ge=1, le=5)] | None = None


class Size(Record):
    """Sizes of the finished lace in millimetres."""

    width_mm: LengthMm | None = None
    length_mm: LengthMm | None = None
    repeat_mm: LengthMm | None = None


class Designer(Record):
    """Who drew the pattern, or that nobody knows."""

    status: Literal["named", "traditional", "unknown"] = "unknown"
    name: Line = ""
    evidence: Line = ""


class Source(Record):
    """Where the pattern was printed or comes from."""

    title: Line = Field("", description="book, magazine or course")
    edition: Line = ""
    page: Line = ""
    issue: Line = ""


class Relation(Record):
    """How this pattern stands to another of the collection."""

    kind: Literal[
        "companion insertion", "companion edging", "corner for", "redraft of", "copy of",
        "same pricking in another thread", "sample made from it", "see also",
    ]  # fmt: skip
    shelfmark: Shelfmark


class WorkingNote(Record):
    """One step or warning for the maker; notes stand in the order of work."""

    about: Literal["start", "order", "easily wrong", "tip"] = "order"
    text: Text


class Correction(Record):
    """What is wrong on the sheet and how it is put right."""

    fault: Text
    remedy: Text = ""
    date: dt.date | None = None


class Condition(Record):
    """The state of the sheet and when somebody last looked."""

    state: Line = ""
    checked: dt.date | None = None


class Internal(Record):
    """What never leaves the collection in anything published."""

    provenance: Text = ""
    donor: Line = ""
    location: Line = Field("", description="exact place: box, folder, drawer")
    valuation: Line = ""
    private_notes: Text = ""


class UnparsedNote(Record):
    """Words of a list that could not be understood, kept as they were."""

    field: Line
    words: Text


class Pattern(Record):
    """One pattern of the collection."""

    shelfmark: Shelfmark = Field(description="unique, as written on the box or folder")
    title: Line = ""
    other_titles: tuple[Line, ...] = ()
    families: tuple[FamilyId, ...] = ()
    kind: KindId | None = None
    techniques: tuple[TechniqueUse, ...] = ()
    pairs: Pairs = Pairs()
    gimps: Gimps | None = Field(None, description="None where nobody has said")
    threads: tuple[Thread, ...] = ()
    difficulty: Difficulty = Difficulty()
    size: Size = Size()
    corner: bool | None = Field(None, description="None where nobody has said")
    designer: Designer = Designer()
    source: Source = Source()
    period: Line = Field("", description="date or period in words")
    material: Line = Field("", description="what the sheet is: parchment, card, paper copy")
    related: tuple[Relation, ...] = ()
    working_notes: tuple[WorkingNote, ...] = ()
    corrections: tuple[Correction, ...] = ()
    rights: Rights = Rights()
    condition: Condition = Condition()
    internal: Internal = Internal()
    unparsed: tuple[UnparsedNote, ...] = ()

    @property
    def heading(self) -> str:
        """The title, or what stands in for one on a sheet with nothing written on it."""
        return self.title or "Untitled"

    @property
    def technique_ids(self) -> tuple[str, ...]:
        """The techniques in the order of the record, whatever their role."""
        return tuple(use.technique for use in self.techniques)

    @property
    def level(self) -> int | None:
        """The level of difficulty; None where nobody has graded it."""
        return self.difficulty.level

    @property
    def best_pairs(self) -> int | None:
        """The most trustworthy number of pairs; None where nothing is known."""
        return self.pairs.best

    @property
    def has_corner(self) -> bool | None:
        """Whether there is a corner, by what is said of one, else by the kind or the techniques.

        None where none of them tells.
        """
        if self.corner is not None:
            return self.corner
        if self.kind in kinds().with_narrower("corner_edging"):
            return True
        return True if techniques().with_narrower("corner") & set(self.technique_ids) else None

    @property
    def has_gimp(self) -> bool | None:
        """Whether a gimp is used, by the gimps or the techniques; None where nobody has said."""
        if self.gimps is not None:
            return self.gimps.any
        return True if techniques().with_narrower("gimp") & set(self.technique_ids) else None
