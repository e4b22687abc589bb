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
from pathlib import Path

import jinja2
import numpy as np

from archive.records import Entry, Finding
from archive.records.settings import CollectionSettings
from archive.resources import SCHEMA, SITE_TEMPLATES
from archive.site.collected import Collected
from archive.site.contents import Content, Contents
from archive.site.derivatives import PageDrawer
from archive.site.following import ComesNext
from archive.site.likeness import Likeness
from archive.site.pattern_pages import PatternPages
from archive.site.pictures import (
    MeasurementOf,
    PathOf,
    PictureMaker,
    PicturesOfPattern,
)
from archive.site.postings import updated
from archive.site.public_records import record_line
from archive.site.public_table import table_row
from archive.site.remembering import OfFile, OfRecord, Remembered, recall, remember
from archive.site.rendering import Renderer, SiteFacts
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


def publish_site(
    target: Path,
    entries: Sequence[Entry],
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
        entries: the records to publish, in any order.
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
        StorageError: there is no room or no permission; the old site is as it was.
    """
    shows = settings.publishing.pictures == "where rights allow"
    folder = SiteFolder(target)
    with PictureMaker(cache, path_of, measurement_of, draw_page=draw_page) as maker:
        done = 0

        def pictures_of(entry: Entry, stem: str) -> PicturesOfPattern:
            nonlocal done
            found = maker.pictures_of(entry, stem) if shows else PicturesOfPattern()
            done += 1
            if progress is not None:
                progress(done, len(entries))
            return found

        collected = Collected(entries, pictures_of)
    facts = SiteFacts(
        settings.name, settings.holder, settings.language, settings.publishing.credit_line
    )
    before = recall(cache)
    makers = _makers(facts)
    if before.makers != makers:
        before = Remembered()
    keys = [_key(collected, entry) for entry in collected.entries]
    comes_next = comes_next or ComesNext("", dict)
    leading_on = _digest([comes_next.made_from])
    whole = _digest([makers, json.dumps([about, leading_on]), *keys])
    if before.whole == whole and folder.is_as_left(before.manifest_sha256):
        return _published(collected, before.files, folder)
    folder.begin()
    try:
        now = dataclasses.replace(
            _work_out(before, collected, keys),
            makers=makers,
            whole=whole,
            leading_on=leading_on,
            comes_next=(
                before.comes_next if before.leading_on == leading_on else comes_next.find()
            ),
        )
        patterns = PatternPages(
            collected, settings.name, now.comes_next, now.alike, now.measured_alike
        )
        contents = Contents(collected, now.records, Renderer(facts))
        for part in (
            contents.pages(patterns, about),
            contents.pictures(),
            contents.lists(now.postings, settings),
        ):
            now.files.update(_put(folder, before.files, part))
        manifest_sha256 = folder.finish()
    except BaseException:
        folder.give_up()
        raise
    remember(cache, dataclasses.replace(now, manifest_sha256=manifest_sha256))
    return _published(collected, now.files, folder)


def _published(collected: Collected, files: Mapping[str, OfFile], folder: SiteFolder) -> Published:
    pictures = [collected.pictures[entry.shelfmark] for entry in collected.entries]
    return Published(
        pages=sum(1 for path in files if path.endswith(".html")),
        pictures=sum(len(found.shown) for found in pictures),
        written=folder.written,
        unchanged=len(files) - folder.written,
        withheld=tuple(finding for found in pictures for finding in found.withheld),
    )


def _put(
    folder: SiteFolder, before: Mapping[str, OfFile], contents: Iterable[Content]
) -> Iterator[tuple[str, OfFile]]:
    """Put files into the new site; one is only made where what it is made from is new."""
    for path, told, make in contents:
        made_from = _digest([told])
        old = before.get(path)
        if old is not None and old.made_from == made_from and folder.take_over(path, old.sha256):
            yield path, old
        else:
            yield path, OfFile(made_from, folder.put(path, make()))


def _work_out(before: Remembered, collected: Collected, keys: Sequence[str]) -> Remembered:
    """What is known of each record by itself and of their likeness, as far as possible by heart."""
    places = {record.key: place for place, record in enumerate(before.records)}
    moved = np.full(len(before.records), -1, dtype=np.int32)
    fresh: dict[int, Entry] = {}
    records = []
    for place, (key, entry) in enumerate(zip(keys, collected.entries, strict=True)):
        was = places.get(key)
        if was is None:
            fresh[place] = entry
            records.append(_of_record(collected, entry, key))
        else:
            moved[was] = place
            records.append(before.records[was])
    likeness = Likeness(collected.entries)
    known = before.likeness == likeness.made_from
    return Remembered(
        records=records,
        postings=updated(before.postings, moved, fresh),
        likeness=likeness.made_from,
        alike=before.alike if known else likeness.find_alike(),
        measured_alike=before.measured_alike if known else likeness.find_measured_alike(),
    )


def _of_record(collected: Collected, entry: Entry, key: str) -> OfRecord:
    uses = [(use.technique, use.role) for use in entry.techniques]
    card = _digest([repr(collected.card(entry)), repr(uses)])
    return OfRecord(key, card, record_line(entry), table_row(entry))


def _key(collected: Collected, entry: Entry) -> str:
    """A digest of a record, its pictures and the name of its files."""
    pictures = collected.pictures[entry.shelfmark]
    told = [entry.model_dump_json(), collected.stem(entry)]
    if entry.attachments:
        told.append(repr(pictures))
    return _digest(told)


def _makers(facts: SiteFacts) -> str:
    """A digest of everything but the collection that a site is made from: programs and words."""
    digest = hashlib.sha256(json.dumps([asdict(facts), jinja2.__version__]).encode())
    for path in _programs():
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def _programs() -> list[Path]:
    package = Path(__file__).parents[1]
    folders = [package / name for name in ("site", "records", "threads", "learning")]
    programs = [path for folder in folders for path in sorted(folder.rglob("*.py"))]
    templates = [path for path in sorted(SITE_TEMPLATES.rglob("*")) if path.is_file()]
    words = sorted((SCHEMA / "vocabulary").glob("*.yaml"))
    return [package / "vocabulary.py", package / "wording.py", *programs, *templates, *words]


def _digest(parts: Iterable[str]) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
