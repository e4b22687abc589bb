"""The same patterns as a site of Hugo's, with the pages that ours has, word for word.

`hugo/` holds its settings and templates. Hugo is told what we work out of the records (what comes
next, what is alike, what to know first, and how it is said), so that it has only to build. It
makes the pages of patterns as ours are, those of techniques, families and levels, the shelf list,
and the records as data; it is spared the notes in lists, the index of words, the table, the
ladder, the charts and the list of files.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from archive.records import Entry
from archive.site.collected import Collected
from archive.site.likeness import Likeness
from archive.site.links import technique_path
from archive.site.pages import PatternPage
from archive.site.pattern_pages import PatternPages
from archive.site.pictures import PicturesOfPattern
from archive.site.shelved import Shelved, shelve
from archive.vocabulary import families, techniques
from archive.workflows.following import Following


def write_hugo_site(folder: Path, entries: Sequence[Entry], name: str) -> None:
    """Everything that Hugo reads; the entries are in the order of the shelf."""
    shutil.copytree(Path(__file__).with_name("hugo"), folder)
    terms = {one.id: {"words": one.name, "path": technique_path(one.id)} for one in techniques()}
    _write(folder / "data" / "techniques.json", terms)
    _write(folder / "data" / "families.json", {family.id: family.name for family in families()})
    shelf = [shelve(entry, f"b-{number}") for number, entry in enumerate(entries)]
    collected, likeness = Collected(shelf), Likeness(shelf)
    pages = PatternPages(
        collected,
        name,
        likeness.find_alike(),
        likeness.find_measured_alike(),
    )
    for place, (entry, next_ones) in enumerate(zip(entries, Following(shelf)(shelf), strict=True)):
        page = pages.page(place, entry, PicturesOfPattern(), next_ones)
        told = _front_matter(page, shelf[place], collected)
        _write(folder / "content" / "patterns" / f"b-{place}.md", told | {"weight": place + 1})


def _write(path: Path, told: object) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(told) + "\n", encoding="utf-8")


def _front_matter(page: PatternPage, pattern: Shelved, collected: Collected) -> dict[str, Any]:
    card = collected.card(pattern)
    known = {technique_path(one.id): one.id for one in techniques()}
    assert page.stand_in is not None
    return {
        "title": page.title,
        "mark": page.shelfmark,
        "summary": page.summary,
        "families": pattern.families,
        "family_names": card.families,
        "kind": page.kind,
        "made": page.stand_in.words.rpartition("outline of ")[2].rstrip("."),
        "drawing": page.stand_in.path,
        "level": page.level,
        "level_name": page.level_name,
        "levels": [str(page.level)],
        "pairs": card.pairs,
        "gimp": bool(pattern.has_gimp),
        "width": card.width,
        "ease": 1000 * page.level + (pattern.best_pairs or 999),
        "techniques": pattern.technique_ids,
        "teaches": [known[link.path] for link in page.teaches],
        "practises": [known[link.path] for link in page.practises],
        "know_first": [known[link.path] for link in page.know_first],
        "notes": [note.value for note in page.notes],
        "comes_next": [{"page": _page(link.path), "note": link.note} for link in page.comes_next],
        "alike": [{"page": _page(card.path), "note": note} for card, note in page.alike],
    }


def _page(path: str) -> str:
    """What Hugo calls a page."""
    return f"/{path.removesuffix('.html')}"
