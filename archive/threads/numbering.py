"""How threads are numbered, and how one number becomes another.

Knows the systems of `schema/vocabulary/thread_systems.yaml`. A thread that is written n/p is
p plies of a single thread of number n. Knows nothing of labels, patterns or records.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import yaml

from archive.errors import UnknownTerm
from archive.resources import SCHEMA
from archive.threads.amounts import require_positive
from archive.wording import nearest

_METRES_OF_TEX = 1000
"""Tex are grams per 1000 m. Source: ISO 1144."""

_TURKISH_I = str.maketrans("İı", "ii")


@dataclass(frozen=True)
class NumberingSystem:
    """One way of numbering threads.

    `mass_g` and `length_m` define it: in a `direct` system the number counts masses per
    length, in an `indirect` one lengths per mass. `fibres` is empty where any will do.
    """

    id: str
    name: str
    labels: tuple[str, ...]
    kind: Literal["direct", "indirect"]
    mass_g: float
    length_m: float
    fibres: tuple[str, ...]
    definition: str
    source: tuple[str, ...]

    @property
    def tex_of_one(self) -> float:
        """Linear density in tex of number 1; in an indirect system also number times tex."""
        return _METRES_OF_TEX * self.mass_g / self.length_m

    def to_tex(self, count: float) -> float:
        """Linear density in tex of a single thread numbered `count`.

        Raises:
            InputError: If `count` is not a number above zero.
        """
        require_positive("thread number", count)
        return self.tex_of_one * count if self.kind == "direct" else self.tex_of_one / count

    def from_tex(self, tex: float) -> float:
        """Number that a thread of `tex` has in this system.

        Raises:
            InputError: If `tex` is not a number above zero.
        """
        require_positive("linear density in tex", tex)
        return tex / self.tex_of_one if self.kind == "direct" else self.tex_of_one / tex


@dataclass(frozen=True)
class Fibre:
    """What a thread is made of, and the words for it in several languages."""

    id: str
    words: tuple[str, ...]


def linear_density_tex(count: float, plies: int, system: str) -> float:
    """Linear density in tex of a thread of `plies` singles, each numbered `count`.

    The take-up of the twist is neglected: a real plied thread is a few per cent heavier.

    Args:
        count: Number of the single thread.
        plies: How many singles are twisted together; 1 for a single thread.
        system: Id or any label of the numbering system.

    Raises:
        UnknownTerm: If there is no such system.
        InputError: If `count` or `plies` is not above zero.

    >>> linear_density_tex(80, 2, "Nm")
    25.0
    """
    require_positive("number of plies", plies)
    return plies * get_system(system).to_tex(count)


def convert(count: float, source: str, target: str) -> float:
    """Number in the system `target` of a thread numbered `count` in the system `source`.

    Raises:
        UnknownTerm: If there is no such system.
        InputError: If `count` is not above zero.

    >>> convert(50, "tex", "denier")
    450.0
    """
    return get_system(target).from_tex(get_system(source).to_tex(count))


def get_system(name: str) -> NumberingSystem:
    """The numbering system that `name` means: its id, name or a label, in any case.

    Raises:
        UnknownTerm: If there is no such system; names the nearest.
    """
    found = _by_label().get(plain(name))
    if found is None:
        known = [label for system in systems() for label in (system.id, *system.labels)]
        raise UnknownTerm(name, "thread numbering system", nearest(name, dict.fromkeys(known)))
    return found


@cache
def systems() -> tuple[NumberingSystem, ...]:
    """Every numbering system, in the order of the vocabulary file."""
    content = _read_file()
    return tuple(
        NumberingSystem(
            id=entry["id"],
            name=entry["name"],
            labels=tuple(entry["labels"]),
            kind=entry["kind"],
            mass_g=_quantity(entry["mass"], content["units"]["mass_g"]),
            length_m=_quantity(entry["length"], content["units"]["length_m"]),
            fibres=tuple(entry["fibres"]),
            definition=entry["definition"],
            source=tuple(entry["source"]),
        )
        for entry in content["systems"]
    )


@cache
def fibres() -> tuple[Fibre, ...]:
    """Every fibre, in the order of the vocabulary file."""
    return tuple(Fibre(entry["id"], tuple(entry["words"])) for entry in _read_file()["fibres"])


@cache
def _by_label() -> dict[str, NumberingSystem]:
    return {
        plain(label): system
        for system in systems()
        for label in (system.id, system.name, *system.labels)
    }


def plain(label: str) -> str:
    """The form in which two spellings of a label are equal: without case and spaces.

    A dotless or dotted Turkish i counts as i, as it does where regular expressions ignore case.
    """
    return "".join(label.translate(_TURKISH_I).casefold().split())


def _quantity(text: str, units: dict[str, float]) -> float:
    value, unit = text.split()
    return float(value) * units[unit]


@cache
def _read_file() -> dict[str, Any]:
    text = (SCHEMA / "vocabulary" / "thread_systems.yaml").read_text(encoding="utf-8")
    content: dict[str, Any] = yaml.safe_load(text)
    return content
