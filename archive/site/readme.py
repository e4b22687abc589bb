"""The text for whoever finds the site in thirty years, without any program to open it."""

from __future__ import annotations

import textwrap

from archive.records.settings import CollectionSettings

WIDTH = 72


def readme(settings: CollectionSettings, patterns: int) -> str:
    """What this folder is, how to look at it, and what each part of it holds."""
    holder = f"In the care of: {settings.holder}"
    parts = [
        _wrapped(settings.name),
        *([_wrapped(holder)] if settings.holder else ()),
        _wrapped(
            f"This folder describes {patterns} patterns for bobbin lace. The pattern of such a "
            "lace is a pricking: a sheet pierced with the holes in which the lacemaker sets her "
            "pins."
        ),
        _wrapped(
            "To look at it, open the file index.html with a web browser. Nothing has to be "
            "installed and no network is needed. If a browser no longer runs the search, the "
            "lists of techniques, families, difficulty and shelfmarks lead to every page."
        ),
        "What lies here:",
        "\n".join(
            (
                "  index.html         the way in",
                "  patterns/          a page for each pattern",
                "  techniques/        what each technique is and what to know before it",
                "  families/          the families of lace",
                "  pictures/          pictures, as far as the rights allow (WebP and SVG)",
                "  records.json       all records as plain data: UTF-8, JSON (RFC 8259)",
                "  records.csv        the same as a table: UTF-8, CSV (RFC 4180)",
                "  techniques.ttl     the techniques and their names: SKOS, Turtle",
                "  data/              the index of the search page, made from the records",
                "  style/, scripts/, fonts/   what makes the pages look and work as they do",
                "  files.sha256       the SHA-256 of every file, to see whether one is damaged",
                "  manifest.json      notes of the program that made this folder",
            )
        ),
        _wrapped(
            "The pages are plain HTML and can be read with any text editor. In records.json "
            "lengths are in millimetres and angles are measured from the footside, the straight "
            "edge of the lace. A field that is missing was not known."
        ),
        _wrapped(
            "Each pattern says what its rights are. Where nothing is said, nobody had looked "
            "into them when this was made: treat such a pattern as protected."
        ),
        _wrapped(
            "The typeface in fonts/ is under the SIL Open Font License 1.1, whose text lies "
            "beside it."
        ),
    ]
    return "\n\n".join(parts) + "\n"


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH)
