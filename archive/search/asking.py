"""What can be asked of the catalogue, and what comes back.

Plain data. Knows nothing of how an answer is found.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from archive.errors import UsageError

Sort = Literal["fit", "shelfmark", "title", "difficulty", "pairs", "width"]

_NUMBER = r"\d+(?:[.,]\d+)?"
_RANGE = re.compile(rf"(?P<low>{_NUMBER})?\s*(?P<dash>[-–])?\s*(?P<high>{_NUMBER})?")


@dataclass(frozen=True)
class Range:
    """Numbers from `low` to `high`, both included; None leaves that end open."""

    low: float | None = None
    high: float | None = None

    @property
    def ends(self) -> tuple[float, float]:
        """Both ends as numbers, an open one as infinity."""
        return (
            float("-inf") if self.low is None else self.low,
            float("inf") if self.high is None else self.high,
        )


def read_range(words: str) -> Range:
    """The range that `words` write: “10-20”, “-20”, “10-” or one number.

    Raises:
        UsageError: It is not a range, or its lower end lies above its upper one.

    >>> read_range("10-20")
    Range(low=10.0, high=20.0)
    >>> read_range("2,5")
    Range(low=2.5, high=2.5)
    """
    parts = _RANGE.fullmatch(words.strip())
    advice = "Write it as 10-20, -20 (at most), 10- (at least) or 18."
    if parts is None or not (parts["low"] or parts["high"]):
        raise UsageError(f"“{words}” is not a range of numbers.", advice)
    low, high = _number(parts["low"]), _number(parts["high"])
    if not parts["dash"]:
        if low is None or high is not None:
            raise UsageError(f"“{words}” is not a range of numbers.", advice)
        return Range(low, low)
    if low is not None and high is not None and low > high:
        raise UsageError(
            f"The range “{words}” ends below its beginning.", "Write the smaller number first."
        )
    return Range(low, high)


def _number(digits: str | None) -> float | None:
    return None if digits is None else float(digits.replace(",", "."))


@dataclass(frozen=True, kw_only=True)
class Question:
    """What somebody looks for. Every part that is given must hold.

    Techniques, families and kinds are ids of the vocabulary; a broader one includes every
    narrower one. What a record does not say matches no filter, and is excluded by none.

    Attributes:
        words: Words that must all occur; the last may be the beginning of a word.
        techniques: Techniques that must all be used.
        any_techniques: Techniques of which one at least must be used.
        without_techniques: Techniques of which none may be known to be used.
        families: Families of which one must be the pattern's.
        kinds: Kinds of which one must be the pattern's.
        pairs: Pairs needed: counted, else stated, else estimated.
        wraps: Wraps per cm of the main thread; what is only estimated need but overlap.
        difficulty: Level from 1 to 5.
        width_mm: Width of the finished lace in mm, else of the measured pricking.
        corner: Whether there is a corner.
        gimp: Whether a gimp is used.
        with_pricking: Whether a pricking is attached.
        place: Words that stand next to each other in the exact place of the sheet. Places
            are internal: they never stand in an answer.
        sort: Order of the hits. “fit” puts the best match of the words first; what is
            unknown comes last; the shelfmark decides among equals.
        limit: Most hits to return; the total counts them all.
    """

    words: str = ""
    techniques: tuple[str, ...] = ()
    any_techniques: tuple[str, ...] = ()
    without_techniques: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    pairs: Range | None = None
    wraps: Range | None = None
    difficulty: Range | None = None
    width_mm: Range | None = None
    corner: bool | None = None
    gimp: bool | None = None
    with_pricking: bool | None = None
    place: str = ""
    sort: Sort = "fit"
    limit: int | None = None


@dataclass(frozen=True)
class Hit:
    """A pattern that was found.

    `matched` says in words where the question met it: “title: rose”, “ground: honeycomb”,
    “pairs: 18 estimated (15–22)”. `score` is 0 where no words were asked.
    """

    shelfmark: str
    title: str
    families: tuple[str, ...]
    techniques: tuple[str, ...]
    pairs: int | None
    difficulty: int | None
    matched: tuple[str, ...]
    score: float


@dataclass(frozen=True)
class Nearly:
    """How many patterns have most of the words, where none has all: `words` of `asked`."""

    words: int
    asked: int
    patterns: int


Facets = dict[str, list[tuple[str, str, int]]]
"""Group → (id to ask for, name, number of patterns)."""


@dataclass(frozen=True)
class Answer:
    """What was found; `did_you_mean` holds whole questions in words, the best first."""

    total: int
    hits: tuple[Hit, ...]
    facets: Facets | None = None
    did_you_mean: tuple[str, ...] = ()
    nearly: Nearly | None = None
