"""Where the pages of techniques and families lie, and the words that lead there."""

from __future__ import annotations

from functools import cache

from archive.site.pages import Link
from archive.vocabulary import families, levels, techniques

NO_LEVEL = 0
"""The level of a pattern that nobody has graded."""


def technique_path(technique: str) -> str:
    """Where the page of a technique lies."""
    return f"techniques/{technique.replace('_', '-')}.html"


@cache
def technique_link(technique: str) -> Link:
    """A link to a technique by its preferred name."""
    return Link(techniques()[technique].name, technique_path(technique))


def family_path(family: str) -> str:
    """Where the page of a family lies."""
    return f"families/{family.replace('_', '-')}.html"


@cache
def family_link(family: str) -> Link:
    """A link to a family by its preferred name."""
    return Link(families()[family].name, family_path(family))


def level_name(level: int) -> str:
    """The name of a level; level 0 is a pattern that nobody has graded."""
    return levels()[str(level)].name if level else "not yet graded"
