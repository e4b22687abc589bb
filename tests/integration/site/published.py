"""A published site as its files, and its pages as they are read."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urljoin, urlsplit

VOID = {"meta", "link", "img", "input", "br", "hr"}


class PageReading(HTMLParser):
    """Reads a page strictly: what is opened must be closed, in order; ids are unique."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take what a tag says; no attribute is said twice."""
        told = dict(attrs)
        assert len(told) == len(attrs), f"an attribute is said twice in <{tag}>"
        self.tags.append((tag, told))
        self.ids.extend([told["id"]] if told.get("id") else [])
        self.links.extend(told[key] or "" for key in ("href", "src") if key in told)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """As a tag that is closed at once."""
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Close the tag that was opened last."""
        assert self.open.pop() == tag


def read_page(page: bytes) -> PageReading:
    """A page, every tag of which is closed."""
    reading = PageReading()
    reading.feed(page.decode("utf-8"))
    reading.close()
    assert reading.open == []
    return reading


def target(path: str, link: str) -> str:
    """The file in the site to which a link on the page at `path` leads."""
    return unquote(urlsplit(urljoin(f"file:///{path}", link)).path).removeprefix("/")


def pages_of(files: dict[str, bytes]) -> Iterator[tuple[str, PageReading]]:
    """Every page of a site, by its path."""
    for path, data in files.items():
        if path.endswith(".html"):
            yield path, read_page(data)


def files_of(site: Path) -> dict[str, bytes]:
    """Every file of a site, by its path."""
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }
