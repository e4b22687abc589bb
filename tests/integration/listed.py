"""What the demo guild's list says, read plainly and apart from the product.

The drawn prickings come from `index.json`, which gives ids; everything else from the librarian's
own words in `list.yaml`. Words are looked up in the vocabulary's file as it is written. No code
of `archive` is used.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo_collection"
VOCABULARY = ROOT / "schema" / "vocabulary"
MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4}


@dataclass(frozen=True)
class Listed:
    """One row of the list; `at_least` are its techniques but for the optional ones."""

    shelfmark: str
    title: str
    families: frozenset[str]
    kind: str | None
    techniques: frozenset[str]
    at_least: frozenset[str]
    pairs: int | None
    gimp: bool
    says_no_gimp: bool
    thread: str
    width_mm: float | None
    corner: bool
    designer: str
    box: str
    goes_with: str
    material: str
    level: str
    rights: tuple[str | None, str | None, str | None]
    is_drawn: bool


@cache
def rows() -> dict[str, Listed]:
    """Every row that is no second one of its shelfmark, by shelfmark."""
    source = _yaml(DEMO / "list.yaml")
    said = {row["Ref."]: row for row in source["drawn"]}
    found: dict[str, Listed] = {}
    for entry in json.loads((DEMO / "index.json").read_text(encoding="utf-8")):
        row = source["drawn_unless_said"] | said[entry["shelfmark"]]
        found[entry["shelfmark"]] = _drawn(entry, row)
    for row in source["others"]:
        found.setdefault(row["Ref."], _other(row, source["spelt"]))
    return found


def truth() -> list[dict[str, Any]]:
    """What is really on each sheet."""
    entries: list[dict[str, Any]] = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
    return entries


@cache
def narrower(term: str) -> frozenset[str]:
    """A technique and all that the vocabulary calls kinds of it."""
    below = {term}
    while True:
        more = {one["id"] for one in _terms("techniques") if one.get("broader") in below}
        if more <= below:
            return frozenset(below)
        below |= more


@cache
def terms_before(term: str) -> frozenset[str]:
    """All that a technique builds on, near and far."""
    entry = next(one for one in _terms("techniques") if one["id"] == term)
    direct = {*entry.get("prerequisites", ()), entry.get("broader")} - {None}
    return frozenset(direct).union(*(terms_before(one) for one in direct))


def needs_something(term: str) -> bool:
    """Whether the vocabulary says what to know before a technique."""
    return any(one["id"] == term and one.get("prerequisites") for one in _terms("techniques"))


def names_of(term: str) -> dict[str, list[str]]:
    """The names of a technique by language."""
    entry = next(one for one in _terms("techniques") if one["id"] == term)
    other: dict[str, list[str]] = entry.get("other_languages", {})
    return {"en": [entry["name"], *entry.get("also", ())], **other}


def _drawn(entry: dict[str, Any], row: dict[str, Any]) -> Listed:
    return Listed(
        shelfmark=entry["shelfmark"],
        title=entry["title"],
        families=frozenset(entry["families"]),
        kind=entry["kind"],
        techniques=frozenset(use["id"] for use in entry["techniques"]),
        at_least=frozenset(use["id"] for use in entry["techniques"] if use["role"] != "optional"),
        pairs=entry["pairs"]["max"] - entry["pairs"]["corner_extra"],
        gimp=entry["gimps"] > 0,
        # nobody noted the gimps of plaited lace
        says_no_gimp=entry["gimps"] == 0 and not entry["shelfmark"].startswith("L"),
        thread=entry["thread"],
        width_mm=entry["width_mm"],
        corner=entry["corner"],
        level=str(entry["difficulty"]),
        is_drawn=True,
        **_said(row),
    )


def _other(row: dict[str, Any], spelt: dict[str, str]) -> Listed:
    pairs, stitches = str(row.get("Pairs", "")), str(row.get("Stitches", ""))
    techniques = frozenset(_techniques(stitches, spelt))
    return Listed(
        shelfmark=row["Ref."],
        title=row.get("Name of pattern", ""),
        families=frozenset(_ids("families", str(row.get("Lace", "")))),
        kind=next(iter(_ids("kinds", str(row.get("Form", "")))), None),
        techniques=techniques,
        at_least=techniques,
        pairs=_pairs(pairs),
        gimp="gimp" in techniques or bool(re.search(r"\d gimps?", pairs)),
        says_no_gimp="no gimp" in pairs,
        thread=str(row.get("Thread", "")),
        width_mm=_width_mm(str(row.get("Size", ""))),
        corner="corner" in str(row.get("Form", "")),
        level=str(row.get("Level", "")),
        is_drawn=False,
        **_said(row),
    )


def _said(row: dict[str, Any]) -> dict[str, Any]:
    parts = ("Rights in design", "Rights in working up", "Rights in pricking")
    return {
        "designer": str(row.get("Designer", "")),
        "box": str(row.get("Box", "")),
        "goes_with": str(row.get("Goes with", "")),
        "material": str(row.get("Pricking made of", "")),
        "rights": tuple(row.get(part) for part in parts),
    }


def _techniques(cell: str, spelt: dict[str, str]) -> set[str]:
    known = {words: term for term, words in spelt.items()} | _words("techniques")
    words = re.split(r"[;,]", re.sub(r"\b(teaches|uses):", ";", cell))
    return {term for word in words if (term := _meant(word, known))}


def _ids(called: str, cell: str) -> list[str]:
    known = _words(called)
    return [term for word in cell.split(";") if (term := _meant(word, known))]


def _meant(words: str, known: dict[str, str]) -> str | None:
    word = words.strip().lower()
    return known.get(word) or known.get(word.removesuffix("s"))


@cache
def _words(called: str) -> dict[str, str]:
    return {
        re.sub(r"\s*\(.*?\)", "", word).lower(): term["id"]
        for term in reversed(_terms(called))
        for word in (*term.get("also", ()), term["name"])
    }


def _pairs(cell: str) -> int | None:
    numbers = [int(number) for number in re.findall(r"\d+", re.sub(r"\(.*|\+.*", "", cell))]
    if re.fullmatch(r"\d{4}-\d\d-\d\d", cell) or not numbers:
        return None
    return max(numbers) // (2 if "bobbins" in cell else 1)


def _width_mm(cell: str) -> float | None:
    found = re.match(r"(?:Ø )?(\d+)(½)?(?:,(\d))?(?: x .*?)? (mm|cm|in)", cell)
    if found is None:
        return None
    number = int(found[1]) + (0.5 if found[2] else 0) + int(found[3] or 0) / 10
    return number * MM_PER[found[4]]


@cache
def _terms(called: str) -> list[dict[str, Any]]:
    content = _yaml(VOCABULARY / f"{called}.yaml")
    terms: list[dict[str, Any]] = content["terms" if called == "techniques" else called]
    return terms


@cache
def _yaml(path: Path) -> dict[str, Any]:
    content: dict[str, Any] = yaml.load(
        path.read_text(encoding="utf-8"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    )
    return content
