"""A collection becomes a site: every page, picture and list, built beside and swapped in.

The same collection gives the same bytes. A file whose inputs have not changed is taken over
from the site before, so that a second build writes only what is new.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from archive.records import Entry, Finding
from archive.records.settings import CollectionSettings
from archive.site import ornament, overview_pages, search_index, term_pages
from archive.site.collected import Collected
from archive.site.ladder import ladder_page
from archive.site.pattern_pages import NextPattern, pattern_pages
from archive.site.pictures import (
    MeasurementOf,
    PathOf,
    PictureMaker,
    PicturesOfPattern,
)
from archive.site.public_records import records_file
from archive.site.readme import readme
from archive.site.rendering import Renderer, SiteFacts, asset_files
from archive.site.swapping import SiteFolder

Progress = Callable[[int, int], None]
"""Told how many patterns have their pictures, and how many there are."""


@dataclass(frozen=True)
class Published:
    """What a publication made.

    `written` files are new or changed and `unchanged` ones taken over; `withheld` says which
    pictures were not published, and why.
    """

    pages: int
    pictures: int
    written: int
    unchanged: int
    withheld: tuple[Finding, ...]


@dataclass(frozen=True)
class _Page:
    """A page to be rendered: its template, its path and what it is told."""

    template: str
    path: str
    told: Mapping[str, Any]


def publish_site(
    target: Path,
    entries: Sequence[Entry],
    settings: CollectionSettings,
    *,
    path_of: PathOf,
    measurement_of: MeasurementOf,
    cache: Path,
    comes_next: Mapping[str, Sequence[NextPattern]] | None = None,
    about: str = "",
    progress: Progress | None = None,
) -> Published:
    """Build the site of a collection and put it in the place of `target`.

    Args:
        target: the site's folder; new, empty, or a site that was published before.
        entries: the records to publish, in any order.
        settings: the collection's name, holder, language and rules for publishing.
        path_of: where an attachment's original lies.
        measurement_of: what was found on an attachment, if it was measured.
        cache: a folder for pictures made of originals; may be thrown away at any time.
        comes_next: for a shelfmark, the patterns that may follow, the best first.
        about: words about the collection; an empty line starts a paragraph.
        progress: told how far the pictures are.

    Raises:
        NotASite: the target holds something that is not a site.
        StorageError: there is no room or no permission; the old site is as it was.
    """
    maker = PictureMaker(cache, path_of, measurement_of)
    shows = settings.publishing.pictures == "where rights allow"
    done = 0

    def pictures_of(entry: Entry, stem: str) -> PicturesOfPattern:
        nonlocal done
        found = maker.pictures_of(entry, stem) if shows else PicturesOfPattern()
        done += 1
        if progress is not None:
            progress(done, len(entries))
        return found

    folder = SiteFolder(target)
    folder.begin()
    try:
        collected = Collected(entries, pictures_of)
        pages = _write_pages(folder, collected, settings, comes_next or {}, about)
        pictures = _write_pictures(folder, collected)
        _write_lists(folder, collected, settings)
        folder.finish()
    except BaseException:
        folder.give_up()
        raise
    return Published(
        pages=pages,
        pictures=pictures,
        written=folder.written,
        unchanged=folder.unchanged,
        withheld=tuple(
            finding
            for entry in collected.entries
            for finding in collected.pictures[entry.shelfmark].withheld
        ),
    )


def _write_pages(
    folder: SiteFolder,
    collected: Collected,
    settings: CollectionSettings,
    comes_next: Mapping[str, Sequence[NextPattern]],
    about: str,
) -> int:
    site = SiteFacts(
        settings.name, settings.holder, settings.language, settings.publishing.credit_line
    )
    renderer = Renderer(site)
    count = 0
    for page in _pages(collected, settings, comes_next, about):
        made_from = _fingerprint(renderer.fingerprint, page.template, repr(page.told))
        folder.put(
            page.path,
            made_from,
            lambda page=page: renderer.render(page.template, page.path, **page.told),  # type: ignore[misc]
        )
        count += 1
    return count


def _pages(
    collected: Collected,
    settings: CollectionSettings,
    comes_next: Mapping[str, Sequence[NextPattern]],
    about: str,
) -> Iterator[_Page]:
    def patterns(technique: str) -> int:
        return len(collected.by_technique.get(technique, ()))

    bundled = len(collected.entries) < search_index.BUNDLED_BELOW
    home = overview_pages.home_page(collected, bundled=bundled)
    yield _Page("home.html", "index.html", {"page": home})
    for pattern in pattern_pages(collected, settings.name, comes_next):
        yield _Page("pattern.html", pattern.path, {"page": pattern})
    yield _Page(
        "techniques.html", "techniques.html", {"terms": term_pages.technique_tree(collected)}
    )
    for technique in term_pages.technique_pages(collected):
        yield _Page("technique.html", technique.path, {"page": technique})
    yield _Page("families.html", "families.html", {"terms": term_pages.family_tree(collected)})
    for family in term_pages.family_pages(collected):
        yield _Page("family.html", family.path, {"page": family})
    yield _Page("ladder.html", "ladder.html", {"page": ladder_page(patterns)})
    sections = overview_pages.level_sections(collected)
    yield _Page("difficulty.html", "difficulty.html", {"sections": sections})
    yield _Page("shelf.html", "shelf.html", {"rows": overview_pages.shelf_rows(collected)})
    yield _Page("about.html", "about.html", {"page": overview_pages.about_page(collected, about)})


def _write_pictures(folder: SiteFolder, collected: Collected) -> int:
    count = 0
    for entry in collected.entries:
        for path, made in collected.pictures[entry.shelfmark].files.items():
            # The cached file is named for everything it was made from.
            folder.put(path, made.name, made.read_bytes)
        count += len(collected.pictures[entry.shelfmark].shown)
    for path, drawn in ornament.swatches().items():
        _put(folder, path, drawn.encode())
    _put(folder, "style/edging.svg", ornament.edging().encode())
    return count


def _write_lists(folder: SiteFolder, collected: Collected, settings: CollectionSettings) -> None:
    for path, script in search_index.search_files(collected).items():
        _put(folder, path, script)
    for path, asset in asset_files().items():
        _put(folder, path, asset.read_bytes())
    records = records_file(collected.entries, settings.name, settings.holder)
    _put(folder, "records.json", records)
    _put(folder, "README.txt", readme(settings, len(collected.entries)).encode())


def _put(folder: SiteFolder, path: str, data: bytes) -> None:
    folder.put(path, hashlib.sha256(data).hexdigest(), lambda: data)


def _fingerprint(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
