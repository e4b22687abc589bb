"""The figures of all records side by side: what filters, orders and counts them.

`FiguresGathering` takes records one by one, `Figures` holds one row for each. What a record
does not say is NaN in a column and sets no bit. A technique, family or kind sets its own bit
and those of every broader one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from archive.records import Entry
from archive.records.thickness import estimated_wraps_per_cm, main_threads, stated_wraps_per_cm
from archive.search.searched import techniques_used
from archive.search.wordforms import words_of
from archive.vocabulary import families, kinds, techniques
from archive.wording import natural_key

PAIR_BANDS = ((0, 10), (11, 20), (21, 30), (31, 40), (41, 60), (61, None))
"""Bands in which pairs are counted, both ends included. Common practice, no source."""

MEASURED, BY_THE_SHEET, BY_ITS_NUMBER = range(3)
"""How the wraps per cm of a thread are known, the surest first."""

_ARRAYS = (
    "bits", "pairs", "level", "width_mm", "by_shelfmark", "by_title", "wraps_row", "wraps_low",
    "wraps_high", "wraps_how", "card_ends",
)  # fmt: skip


@dataclass(frozen=True)
class Figures:
    """Columns of N records.

    Attributes:
        bit_names: Names of the B bits, such as "technique:picot" or "corner:yes".
        bits: (B, ceil(N / 8)) one packed bit for each record.
        pairs: (N,) pairs needed.
        level: (N,) difficulty from 1 to 5.
        width_mm: (N,) width of the lace, else of the measured pricking.
        by_shelfmark: (N,) place of each record when ordered by shelfmark, its numbers by size.
        by_title: (N,) place when ordered by title; untitled ones last.
        wraps_row: (W,) record of each known thread thickness; a record may have several.
        wraps_low: (W,) wraps per cm at least.
        wraps_high: (W,) wraps per cm at most.
        wraps_how: (W,) MEASURED, BY_THE_SHEET or BY_ITS_NUMBER.
        cards: N JSON objects end to end, with the fields of `Card`.
        card_ends: (N,) where each card ends.
        places: The folded words of each record's place between blanks, a line for each.
    """

    bit_names: tuple[str, ...]
    bits: NDArray[np.uint8]
    pairs: NDArray[np.float64]
    level: NDArray[np.float64]
    width_mm: NDArray[np.float64]
    by_shelfmark: NDArray[np.int64]
    by_title: NDArray[np.int64]
    wraps_row: NDArray[np.int64]
    wraps_low: NDArray[np.float64]
    wraps_high: NDArray[np.float64]
    wraps_how: NDArray[np.int8]
    cards: bytes
    card_ends: NDArray[np.int64]
    places: str

    def saved(self) -> dict[str, NDArray[Any]]:
        """The figures as arrays alone."""
        arrays = {name: getattr(self, name) for name in _ARRAYS}
        texts = {"bit_names": "\n".join(self.bit_names).encode(), "places": self.places.encode()}
        texts["cards"] = self.cards
        return {
            **arrays,
            **{name: np.frombuffer(text, np.uint8) for name, text in texts.items()},
        }

    @classmethod
    def from_saved(cls, arrays: Mapping[str, NDArray[Any]]) -> Figures:
        """The figures that `saved` gave as arrays."""
        return cls(
            bit_names=tuple(arrays["bit_names"].tobytes().decode().split()),
            cards=arrays["cards"].tobytes(),
            places=arrays["places"].tobytes().decode(),
            **{name: arrays[name] for name in _ARRAYS},
        )

    def __len__(self) -> int:
        return len(self.card_ends)

    def having(self, bit: str) -> NDArray[np.bool_]:
        """(N,) whether each record has a bit; no record has a bit without a name."""
        if bit not in self.bit_names:
            return np.zeros(len(self), np.bool_)
        packed = self.bits[self.bit_names.index(bit)]
        return np.unpackbits(packed, count=len(self)).astype(np.bool_)

    def card(self, row: int) -> Card:
        """What an answer shows of a record."""
        start = int(self.card_ends[row - 1]) if row else 0
        return Card(**json.loads(self.cards[start : int(self.card_ends[row])]))


@dataclass(frozen=True)
class Card:
    """What an answer shows of a record; `estimated` says which figures are no more than that."""

    shelfmark: str
    title: str
    families: list[str]
    techniques: list[str]
    pairs: int | None
    difficulty: int | None
    estimated: dict[str, str]


class FiguresGathering:
    """Figures that grow record by record."""

    def __init__(self) -> None:
        self._rows_with: dict[str, list[int]] = {}
        self._columns: list[tuple[float, float, float]] = []
        self._shelf_keys: list[Any] = []
        self._title_keys: list[Any] = []
        self._wraps: list[tuple[int, float, float, int]] = []
        self._cards: list[bytes] = []
        self._places: list[str] = []

    def add(self, entry: Entry) -> None:
        """Take the figures of the next record."""
        row = len(self._cards)
        for name in _bits_of(entry):
            self._rows_with.setdefault(name, []).append(row)
        self._columns.append(
            (_known(entry.pairs.best), _known(entry.difficulty.level), _known(_width_mm(entry)))
        )
        shelf_key = natural_key(entry.shelfmark)
        self._shelf_keys.append(shelf_key)
        self._title_keys.append((not entry.title, natural_key(entry.title), shelf_key))
        self._wraps += ((row, *wraps) for wraps in _wraps_of(entry))
        self._cards.append(json.dumps(_card_of(entry), ensure_ascii=False).encode())
        self._places.append(f" {' '.join(words_of(entry.internal.location))} ")

    def figures(self) -> Figures:
        """The figures of all records taken."""
        names = tuple(sorted(self._rows_with))
        flags = np.zeros((len(names), len(self._cards)), np.bool_)
        for number, name in enumerate(names):
            flags[number, self._rows_with[name]] = True
        columns = np.array(self._columns, np.float64).reshape(-1, 3)
        wraps = np.array(self._wraps, np.float64).reshape(-1, 4)
        return Figures(
            bit_names=names,
            bits=np.packbits(flags, axis=1),
            pairs=columns[:, 0],
            level=columns[:, 1],
            width_mm=columns[:, 2],
            by_shelfmark=_places_in_order(self._shelf_keys),
            by_title=_places_in_order(self._title_keys),
            wraps_row=wraps[:, 0].astype(np.int64),
            wraps_low=wraps[:, 1],
            wraps_high=wraps[:, 2],
            wraps_how=wraps[:, 3].astype(np.int8),
            cards=b"".join(self._cards),
            card_ends=np.cumsum([len(card) for card in self._cards], dtype=np.int64),
            places="\n".join(self._places),
        )


def band_name(low: int, high: int | None) -> str:
    """A band of pairs as `--pairs` takes it."""
    return f"{low or ''}-{high or ''}"


def _bits_of(entry: Entry) -> Iterable[str]:
    for technique in _with_broader(techniques, techniques_used(entry)):
        yield f"technique:{technique}"
    for family in _with_broader(families, entry.families):
        yield f"family:{family}"
    for kind in _with_broader(kinds, [entry.kind] if entry.kind else []):
        yield f"kind:{kind}"
    for question, answer in (
        ("corner", entry.has_corner),
        ("gimp", entry.has_gimp),
        ("pricking", entry.has_pricking),
    ):
        if answer is not None:
            yield f"{question}:{'yes' if answer else 'no'}"
    if entry.difficulty.level is not None:
        yield f"level:{entry.difficulty.level}"
    pairs = entry.pairs.best
    for low, high in PAIR_BANDS:
        if pairs is not None and low <= pairs and (high is None or pairs <= high):
            yield f"pairs:{band_name(low, high)}"


def _with_broader(terms: Any, ids: Iterable[str]) -> set[str]:
    return {broader for term_id in ids for broader in terms().with_broader(term_id)}


def _known(figure: float | None) -> float:
    return np.nan if figure is None else figure


def _width_mm(entry: Entry) -> float | None:
    if entry.size.width_mm is None and entry.measured is not None:
        return entry.measured.width_mm
    return entry.size.width_mm


def _wraps_of(entry: Entry) -> list[tuple[float, float, int]]:
    """(low, high, how) for each thickness of the main thread, all known in the surest way."""
    threads = main_threads(entry)
    wraps = [stated for thread in threads if (stated := stated_wraps_per_cm(thread))]
    if wraps:
        return [(stated, stated, MEASURED) for stated in wraps]
    sheet = entry.measured
    if sheet and sheet.wraps_per_cm_low is not None and sheet.wraps_per_cm_high is not None:
        return [(sheet.wraps_per_cm_low, sheet.wraps_per_cm_high, BY_THE_SHEET)]
    estimates = [known for thread in threads if (known := estimated_wraps_per_cm(thread))]
    return [(known.low, known.high, BY_ITS_NUMBER) for known in estimates]


def _card_of(entry: Entry) -> dict[str, Any]:
    estimated = {}
    if entry.pairs.how == "estimated" and entry.pairs.estimated is not None:
        pairs = entry.pairs.estimated
        estimated["pairs"] = f"{pairs.value} estimated ({pairs.low}–{pairs.high})"
    if entry.size.width_mm is None and (width := _width_mm(entry)) is not None:
        estimated["width"] = f"{width:.0f} mm measured on the sheet"
    return {
        "shelfmark": entry.shelfmark,
        "title": entry.title,
        "families": entry.families,
        "techniques": entry.technique_ids,
        "pairs": entry.pairs.best,
        "difficulty": entry.difficulty.level,
        "estimated": estimated,
    }


def _places_in_order(keys: list[Any]) -> NDArray[np.int64]:
    """(N,) the place of each key when all are sorted; equal keys keep their order."""
    order = sorted(range(len(keys)), key=keys.__getitem__)
    places = np.empty(len(keys), np.int64)
    places[order] = np.arange(len(keys))
    return places
