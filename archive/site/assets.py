"""What pages need to look and work as they do: style sheets, scripts and fonts.

The script of the search page and the style are written in rooms and published as one file each,
since every file on a stick is waited for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from archive.resources import SITE_TEMPLATES

SEARCH = SITE_TEMPLATES / "scripts" / "search"
SEARCH_ROOMS = (
    "loading",
    "coding",
    "sets",
    "words",
    "threads",
    "phrases",
    "state",
    "facets",
    "lexicon",
    "searcher",
    "elements",
    "panel",
    "results",
    "advice",
    "page",
)
"""The rooms of the search page's script in the order in which they are joined."""
STYLE = SITE_TEMPLATES / "style"
STYLE_ROOMS = ("site", "print")
"""The rooms of the style, what holds for paper last."""


def assets() -> dict[str, Callable[[], bytes]]:
    """What gives each file, by its path in the site."""
    whole = {
        f"{folder}/{asset.name}": asset.read_bytes
        for folder in ("scripts", "fonts")
        for asset in sorted((SITE_TEMPLATES / folder).iterdir())
        if asset.is_file()
    }
    return {
        **whole,
        "scripts/search.js": lambda: _joined(SEARCH / f"{room}.js" for room in SEARCH_ROOMS),
        "style/site.css": lambda: _joined(STYLE / f"{room}.css" for room in STYLE_ROOMS),
    }


def _joined(rooms: Iterable[Path]) -> bytes:
    return b"\n".join(room.read_bytes() for room in rooms)
