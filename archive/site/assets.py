"""What pages need to look and work as they do: style sheets, scripts and fonts.

The script of the search page is written in rooms and published as one file, since every file
on a stick is waited for.
"""

from __future__ import annotations

from collections.abc import Callable

from archive.resources import SITE_TEMPLATES

SEARCH = SITE_TEMPLATES / "scripts" / "search"
SEARCH_ROOMS = (
    "loading",
    "coding",
    "sets",
    "words",
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


def assets() -> dict[str, Callable[[], bytes]]:
    """What gives each file, by its path in the site."""
    whole = {
        f"{folder}/{asset.name}": asset.read_bytes
        for folder in ("style", "scripts", "fonts")
        for asset in sorted((SITE_TEMPLATES / folder).iterdir())
        if asset.is_file()
    }
    return {**whole, "scripts/search.js": _search_script}


def _search_script() -> bytes:
    return b"\n".join((SEARCH / f"{room}.js").read_bytes() for room in SEARCH_ROOMS)
