"""Which files a site has, and what each of them is made from.

What a file is made from can be told without making it. A file whose makers and inputs are the
same is the same: that lets a publication leave alone what has not changed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from archive.records.settings import CollectionSettings
from archive.site import ornament, overview_pages, search_index, term_pages
from archive.site.assets import assets
from archive.site.collected import Collected, stand_in
from archive.site.ladder import ladder_page
from archive.site.linked_data import techniques_file
from archive.site.links import family_path, technique_path
from archive.site.pictures import PicturesOfPattern
from archive.site.postings import Postings
from archive.site.readme import readme
from archive.site.remembering import OfRecord
from archive.site.rendering import Renderer
from archive.vocabulary import families, techniques


class Content(NamedTuple):
    """A file of the site: its path, what it is made from, and how."""

    path: str
    made_from: str
    make: Callable[[], bytes]


class Contents:
    """Every file of a site but the pages of patterns.

    Args:
        collected: the collection.
        records: what was worked out of each record, in shelf order.
        pictures: those of the patterns that have any, by shelfmark.
        renderer: writes the pages.
    """

    def __init__(
        self,
        collected: Collected,
        records: Sequence[OfRecord],
        pictures: Mapping[str, PicturesOfPattern],
        renderer: Renderer,
    ) -> None:
        self._collected = collected
        self._records = records
        self._pictures = pictures
        self._renderer = renderer

    def pages(self, about: str) -> Iterator[Content]:
        """Every page but those of patterns, the search page first."""
        collected = self._collected
        bundled = len(collected.patterns) < search_index.BUNDLED_BELOW
        yield self._told("home", "index", overview_pages.home_page(collected, bundled=bundled))
        yield self._told("techniques", "techniques", term_pages.technique_tree(collected))
        for technique in techniques():
            yield self._page(
                "technique",
                technique_path(technique.id),
                self._listed(collected.by_technique.get(technique.id, ())),
                lambda technique=technique: term_pages.technique_page(collected, technique),  # type: ignore[misc]
            )
        yield self._told("families", "families", term_pages.family_tree(collected))
        for family in families():
            yield self._page(
                "family",
                family_path(family.id),
                self._listed(collected.by_family.get(family.id, ())),
                lambda family=family: term_pages.family_page(collected, family),  # type: ignore[misc]
            )
        used = {technique: len(found) for technique, found in collected.by_technique.items()}
        yield self._page(
            "ladder",
            "ladder.html",
            repr(sorted(used.items())),
            lambda: ladder_page(lambda technique: used.get(technique, 0)),
        )
        yield self._page(
            "difficulty",
            "difficulty.html",
            self._listed(collected.from_easy_to_hard),
            lambda: overview_pages.level_sections(collected),
        )
        yield self._page(
            "shelf",
            "shelf.html",
            self._listed(range(len(collected.patterns))),
            lambda: overview_pages.shelf_rows(collected),
        )
        yield self._told("about", "about", overview_pages.about_page(collected, about))

    def _listed(self, places: Iterable[int]) -> str:
        return "\n".join([self._records[place].listed for place in places])

    def _told(self, template: str, name: str, page: object) -> Content:
        """A page of which all that it says is soon known."""
        return self._page(template, f"{name}.html", repr(page), lambda: page)

    def _page(
        self, template: str, path: str, made_from: str, page: Callable[[], object]
    ) -> Content:
        return Content(
            path, made_from, lambda: self._renderer.render(f"{template}.html", path, page=page())
        )

    def pictures(self) -> Iterator[Content]:
        """Every picture, and what is drawn for the site itself."""
        for pictures in self._pictures.values():
            for path, made in pictures.files.items():
                # The cached file is named for everything it was made from.
                yield Content(path, made.name, made.read_bytes)
        stand_ins = {
            stand_in(pattern).path
            for pattern in self._collected.patterns
            if pattern.thumbnail is None
        }
        for path, draw in ornament.drawings(stand_ins).items():
            yield Content(path, "", lambda draw=draw: draw().encode())  # type: ignore[misc]

    def lists(self, postings: Postings, settings: CollectionSettings) -> Iterator[Content]:
        """The index of the search page, and what the pages need to look well."""
        for found in search_index.parts(self._collected, self._records, postings):
            yield Content(*found)
        for path, read in assets().items():
            yield Content(path, "", read)
        yield Content("techniques.ttl", "", techniques_file)
        count = len(self._records)
        yield Content("README.txt", str(count), lambda: readme(settings, count).encode())
