"""The larger part of a publication's work, cut into pieces that any process can do.

A piece is some dozens of patterns. What is done depends on nothing but what is told here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from archive.records import Written
from archive.site.following import NextPattern
from archive.site.pages import Thumbnail
from archive.site.pattern_pages import PatternPages
from archive.site.pictures import PicturesOfPattern
from archive.site.postings import Words, weighted_words
from archive.site.public_data import PublicLine, public_line
from archive.site.remembering import OfRecord
from archive.site.rendering import Renderer
from archive.site.shelved import shelve
from archive.site.swapping import Kept, NewFiles

PIECE = 96
"""Patterns in a piece: few enough that no process is left alone with much at the end."""

T = TypeVar("T")


def pieces(of: Sequence[T]) -> list[Sequence[T]]:
    """All of them, cut into pieces."""
    return [of[start : start + PIECE] for start in range(0, len(of), PIECE)]


def digest(parts: Iterable[str]) -> str:
    """A SHA-256 of words in their order."""
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


class ToShelve(NamedTuple):
    """A record to publish; `key` is a digest of it, its pictures and the name of its files."""

    key: str
    written: Written
    stem: str
    thumbnail: Thumbnail | None


class WorkedOut(NamedTuple):
    """What is to be known of a record by itself, its words, and what is public of it."""

    record: OfRecord
    words: Words
    public: PublicLine


def work_out(records: Sequence[ToShelve]) -> list[WorkedOut]:
    """What is made of records one by one."""
    found = []
    for key, written, stem, thumbnail in records:
        entry = written.read()
        shelved = shelve(entry, stem, thumbnail)
        record = OfRecord(key, digest([repr(shelved)]), shelved)
        found.append(WorkedOut(record, weighted_words(entry), public_line(entry)))
    return found


class NewPage(NamedTuple):
    """The page of the pattern at a place on the shelf, and the SHA-256 of the old page."""

    place: int
    path: str
    written: Written
    pictures: PicturesOfPattern
    following: Sequence[NextPattern]
    old_sha256: str


@dataclass(frozen=True)
class PageMaking:
    """Makes pages of patterns, and puts them into the new site where they are new."""

    patterns: PatternPages
    renderer: Renderer
    files: NewFiles

    def __call__(self, pages: Sequence[NewPage]) -> list[Kept]:
        """What the pages hold."""
        return [self._make(page) for page in pages]

    def _make(self, new: NewPage) -> Kept:
        page = self.patterns.page(new.place, new.written.read(), new.pictures, new.following)
        data = self.renderer.render("pattern.html", new.path, page=page)
        return self.files.write(new.path, data, unless=new.old_sha256)
