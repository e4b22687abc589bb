"""A collection becomes a site: every page, picture and list, built beside and swapped in.

The same collection gives the same bytes. A file whose inputs have not changed is taken over
from the site before, so that a second build makes only what is new; where nothing is new, it
touches nothing.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import chain
from pathlib import Path

import jinja2
import numpy as np

from archive.helping import Helpers
from archive.records import Finding, Written
from archive.records.settings import CollectionSettings
from archive.resources import SCHEMA, SITE_TEMPLATES
from archive.site.addresses import file_stems, shelf_order
from archive.site.collected import Collected
from archive.site.contents import Content, Contents
from archive.site.derivatives import PageDrawer
from archive.site.following import ComesNext, NextPattern
from archive.site.likeness import Likeness
from archive.site.making import NewPage, PageMaking, ToShelve, digest, pieces, work_out
from archive.site.pattern_pages import PatternPages
from archive.site.pictures import MeasurementOf, PathOf, PictureMaker, PicturesOfPattern
from archive.site.postings import Postings, updated
from archive.site.public_data import PublicLine, old_lines, write_public_data
from archive.site.remembering import (
    Last,
    OfFile,
    OfRecord,
    Remembered,
    recall,
    recall_last,
    remember,
)
from archive.site.rendering import Renderer, SiteFacts
from archive.site.shelved import Shelved
from archive.site.swapping import SiteFolder

NO_PICTURES = PicturesOfPattern()
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


def publish_site(
    target: Path,
    records: Iterable[Written],
    settings: CollectionSettings,
    *,
    path_of: PathOf,
    measurement_of: MeasurementOf,
    draw_page: PageDrawer,
    cache: Path,
    comes_next: ComesNext | None = None,
    about: str = "",
    progress: Progress | None = None,
) -> Published:
    """Build the site of a collection and put it in the place of `target`.

    Args:
        target: the site's folder; new, empty, or a site that was published before.
        records: the records to publish, in any order; each is read only where it is needed.
        settings: the collection's name, holder, language and rules for publishing.
        path_of: where an attachment's original lies.
        measurement_of: what was found on an attachment, if it was measured.
        draw_page: draws a page of a document; one of a module's own functions, since it is
            called in another process.
        cache: a folder for pictures made of originals; may be thrown away at any time.
        comes_next: which patterns may follow each.
        about: words about the collection; an empty line starts a paragraph.
        progress: told how far the pictures are.

    Raises:
        NotASite: the target holds something that is not a site.
        CollectionDamaged: a record is not as it was written; the old site is as it was.
        StorageError: there is no room or no permission; the old site is as it was.
    """
    folder = SiteFolder(target)
    shelf = sorted(records, key=lambda record: shelf_order(record.shelfmark))
    stems = file_stems(record.shelfmark for record in shelf)
    pictures: dict[str, PicturesOfPattern] = {}
    with PictureMaker(cache, path_of, measurement_of, draw_page=draw_page) as maker:
        shows = settings.publishing.pictures == "where rights allow"
        for done, record in enumerate(shelf, start=1):
            if shows and record.attachments:
                made = maker.pictures_of(record.read(), stems[record.shelfmark])
                pictures[record.shelfmark] = made
            if progress is not None:
                progress(done, len(shelf))
    comes_next = comes_next or ComesNext("", lambda _: _nothing_follows)
    new = [_to_shelve(record, stems[record.shelfmark], pictures) for record in shelf]
    makers = _makers(_facts(settings))
    told = json.dumps([about, comes_next.made_from])
    whole = digest([makers, told, *(record.key for record in new)])
    last = recall_last(cache)
    if last.whole == whole and folder.is_as_left(last.manifest_sha256):
        return _published(pictures, folder)
    before = recall(cache) if last.makers == makers else Remembered()
    folder.begin()
    try:
        with Helpers() as helpers:
            known, postings, files = _one_by_one(folder, before, new, settings, helpers)
            now = _together(before, known, postings, comes_next, helpers)
            files |= _build(folder, before, now, new, pictures, settings, about, helpers)
        manifest_sha256 = folder.finish()
    except BaseException:
        folder.give_up()
        raise
    remember(cache, Last(makers, whole, manifest_sha256), dataclasses.replace(now, files=files))
    return _published(pictures, folder)


def _to_shelve(record: Written, stem: str, pictures: Mapping[str, PicturesOfPattern]) -> ToShelve:
    told = [record.record, stem]
    made = pictures.get(record.shelfmark)
    if record.attachments:
        told.append(repr((record.attachments, record.measured, made)))
    return ToShelve(digest(told), record, stem, made.thumbnail if made else None)


def _one_by_one(
    folder: SiteFolder,
    before: Remembered,
    shelf: Sequence[ToShelve],
    settings: CollectionSettings,
    helpers: Helpers,
) -> tuple[list[OfRecord], Postings, dict[str, OfFile]]:
    """What is known of each record by itself, as far as possible by heart; and all their words.

    Meanwhile the public data are put into the new site.
    """
    with old_lines(folder, before.files) as old:
        known = Remembered() if old is None else before
        places = {record.key: place for place, record in enumerate(known.records)}
        by_heart = [places.get(record.key) for record in shelf]
        fresh = [place for place, was in enumerate(by_heart) if was is None]
        found = helpers.begin(work_out, pieces([shelf[place] for place in fresh])).results()
        records, words = [], []

        def told() -> Iterator[PublicLine]:
            news, lines = chain.from_iterable(found), enumerate(old or ())
            for was in by_heart:
                if was is None:
                    new = next(news)
                    records.append(new.record)
                    words.append(new.words)
                    yield new.public
                else:  # those that stay are in the same order as before
                    records.append(known.records[was])
                    yield next(line for place, line in lines if place == was)

        files = write_public_data(folder, told(), settings)
    moved = np.full(len(known.records), -1, dtype=np.int32)
    for place, was in enumerate(by_heart):
        if was is not None:
            moved[was] = place
    return records, updated(known.postings, moved, dict(zip(fresh, words, strict=True))), files


def _together(
    before: Remembered,
    records: Sequence[OfRecord],
    postings: Postings,
    comes_next: ComesNext,
    helpers: Helpers,
) -> Remembered:
    """What is known of all records together, as far as possible by heart."""
    patterns = [record.shelved for record in records]
    leading_on = _leading_on(patterns, comes_next)
    following = None
    if before.leading_on != leading_on:
        following = helpers.begin(comes_next.among(patterns), pieces(patterns))
    likeness = Likeness(patterns)
    known = before.likeness == likeness.made_from
    return Remembered(
        records=records,
        postings=postings,
        likeness=likeness.made_from,
        alike=before.alike if known else likeness.find_alike(),
        measured_alike=before.measured_alike if known else likeness.find_measured_alike(),
        leading_on=leading_on,
        comes_next=list(chain.from_iterable(following.results()))
        if following
        else before.comes_next,
    )


def _nothing_follows(patterns: Sequence[Shelved]) -> list[list[NextPattern]]:
    return [[] for _ in patterns]


def _leading_on(patterns: Sequence[Shelved], comes_next: ComesNext) -> str:
    """A digest of all that may decide which patterns come next."""
    asked = [
        (one.shelfmark, one.level, one.best_pairs, one.technique_ids, one.roles) for one in patterns
    ]
    return digest([comes_next.made_from, json.dumps(asked)])


def _build(
    folder: SiteFolder,
    before: Remembered,
    now: Remembered,
    shelf: Sequence[ToShelve],
    pictures: Mapping[str, PicturesOfPattern],
    settings: CollectionSettings,
    about: str,
    helpers: Helpers,
) -> dict[str, OfFile]:
    """Put every file into the new site; helpers make pages of patterns meanwhile."""
    collected = Collected(record.shelved for record in now.records)
    renderer = Renderer(_facts(settings))
    patterns = PatternPages(collected, settings.name, now.alike, now.measured_alike)

    def made_from(place: int) -> str:
        return digest(patterns.made_from(place, now.comes_next[place], now.records))

    files: dict[str, OfFile] = {}
    due = []
    for place, (record, following) in enumerate(zip(shelf, now.comes_next, strict=True)):
        path = collected.patterns[place].path
        old = before.files.get(path)
        if old and old.made_from == made_from(place) and folder.take_over(path, old.sha256):
            files[path] = old
        else:
            made = pictures.get(record.written.shelfmark, NO_PICTURES)
            old_sha256 = folder.sha256_of_old(path)
            due.append(NewPage(place, path, record.written, made, following, old_sha256))
    making = helpers.begin(PageMaking(patterns, renderer, folder.new_files), pieces(due))
    contents = Contents(collected, now.records, pictures, renderer)
    for part in (
        contents.pages(about),
        contents.pictures(),
        contents.lists(now.postings, settings),
    ):
        files.update(_put(folder, before.files, part))
    digests = [made_from(page.place) for page in due]  # while helpers are still at work
    made_pages = chain.from_iterable(making.results())
    for page, told, kept in zip(due, digests, made_pages, strict=True):
        folder.accept(page.path, kept)
        files[page.path] = OfFile(told, kept.sha256)
    return files


def _put(
    folder: SiteFolder, before: Mapping[str, OfFile], contents: Iterable[Content]
) -> Iterator[tuple[str, OfFile]]:
    """Put files into the new site; one is only made where what it is made from is new."""
    for path, told, make in contents:
        made_from = digest([told])
        old = before.get(path)
        if old and old.made_from == made_from and folder.take_over(path, old.sha256):
            yield path, old
        else:
            yield path, OfFile(made_from, folder.put(path, make()))


def _published(pictures: Mapping[str, PicturesOfPattern], folder: SiteFolder) -> Published:
    return Published(
        pages=sum(1 for path in folder.paths if path.endswith(".html")),
        pictures=sum(len(found.shown) for found in pictures.values()),
        written=folder.written,
        unchanged=len(folder.paths) - folder.written,
        withheld=tuple(finding for found in pictures.values() for finding in found.withheld),
    )


def _facts(settings: CollectionSettings) -> SiteFacts:
    return SiteFacts(
        settings.name, settings.holder, settings.language, settings.publishing.credit_line
    )


def _makers(facts: SiteFacts) -> str:
    """A digest of everything but the collection that a site is made from: programs and words."""
    sha256 = hashlib.sha256(json.dumps([asdict(facts), jinja2.__version__]).encode())
    for path in _programs():
        sha256.update(path.name.encode() + b"\0" + path.read_bytes())
    return sha256.hexdigest()


def _programs() -> list[Path]:
    package = Path(__file__).parents[1]
    folders = [package / name for name in ("site", "records", "threads", "learning")]
    programs = [path for folder in folders for path in sorted(folder.rglob("*.py"))]
    templates = [path for path in sorted(SITE_TEMPLATES.rglob("*")) if path.is_file()]
    words = sorted((SCHEMA / "vocabulary").glob("*.yaml"))
    return [package / "vocabulary.py", package / "wording.py", *programs, *templates, *words]
