"""How many records each choice would leave.

The number beside a technique says how many patterns of the present answer use it: asking for
it too would leave so many. In every other group one choice takes the place of another, so the
number beside it says how many patterns there would be with that choice instead: the group's
own filter is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

import numpy as np

from archive.search.asking import Facets
from archive.search.figures import PAIR_BANDS, Figures, band_name
from archive.search.filters import Rows, all_of
from archive.vocabulary import families, kinds, levels, techniques


def count_facets(figures: Figures, filters: Mapping[str, Rows]) -> Facets:
    """Group → (id, name, number) of every choice that leaves a pattern.

    Techniques, families and kinds stand in order of their number, the largest first; levels
    and bands of pairs in their own order.
    """
    counted: Facets = {}
    numbers = {bit: number for number, bit in enumerate(figures.bit_names)}
    for group, choices in _GROUPS.items():
        others = (rows for name, rows in filters.items() if name != group or group == "technique")
        left = np.packbits(all_of(others, rows=len(figures)))
        known = [
            (choice, name, numbers[f"{group}:{choice}"])
            for choice, name in choices()
            if f"{group}:{choice}" in numbers
        ]
        bits = figures.bits[[number for _, _, number in known]]
        counts = np.bitwise_count(bits & left).sum(axis=1, dtype=int).tolist()
        found = [
            (choice, name, count)
            for (choice, name, _), count in zip(known, counts, strict=True)
            if count
        ]
        if group in ("technique", "family", "kind"):
            found.sort(key=lambda one: -one[2])
        counted[group] = found
    return counted


def _bands() -> Iterator[tuple[str, str]]:
    for low, high in PAIR_BANDS:
        if high is None:
            yield band_name(low, high), f"{low} pairs and more"
        else:
            yield band_name(low, high), f"{low} to {high} pairs" if low else f"up to {high} pairs"


def _yes_or_no(thing: str) -> Callable[[], list[tuple[str, str]]]:
    return lambda: [("yes", f"with a {thing}"), ("no", f"without a {thing}")]


_GROUPS: dict[str, Callable[[], Iterable[tuple[str, str]]]] = {
    "technique": lambda: ((term.id, term.name) for term in techniques()),
    "family": lambda: ((term.id, term.name) for term in families()),
    "kind": lambda: ((term.id, term.name) for term in kinds()),
    "level": lambda: ((term.id, term.name) for term in levels()),
    "pairs": _bands,
    "corner": _yes_or_no("corner"),
    "gimp": _yes_or_no("gimp"),
    "pricking": _yes_or_no("pricking"),
}
