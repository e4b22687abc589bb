"""What may be done with a pattern and how it is named elsewhere, in plain words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from archive.records import Entry, Right
from archive.site import figures
from archive.site.pages import RightText
from archive.vocabulary import rights

_PARTS = {
    "design": "the design",
    "working_up": "the working-up",
    "pricking": "the pricking",
    "photograph": "the photograph",
}


def told_rights(entry: Entry) -> Iterator[RightText]:
    """Each right in plain words; parts of which the same is said stand together."""
    parts: defaultdict[Right | None, list[str]] = defaultdict(list)
    for part, words in _PARTS.items():
        parts[getattr(entry.rights, part)].append(words)
    for right, named in parts.items():
        yield _right(figures.sentence(figures.listed(named)), right)


def _right(part: str, right: Right | None) -> RightText:
    if right is None:
        return RightText(
            part, "", "Nobody has looked into this yet: treat it as protected.", "", "", "", False
        )
    statement = rights()[right.statement]
    return RightText(
        part=part,
        statement=statement.name,
        plain=statement.plain,
        uri=statement.uri,
        holder=right.holder,
        basis=right.basis,
        by_permission=statement.pictures == "with_permission" and right.allows_pictures,
    )


def citation(entry: Entry, collection_name: str) -> str:
    """How to name a pattern in print: maker, title, source and collection."""
    designer = entry.designer
    maker = designer.name if designer.status == "named" and designer.name else ""
    parts = [maker, f"“{entry.heading}”", figures.source(entry.source)]
    said = ", ".join(part for part in parts if part)
    return f"{said}. {collection_name}"
