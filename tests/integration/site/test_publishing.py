from __future__ import annotations

import csv
import hashlib
import io
import json
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urldefrag, urljoin, urlsplit

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from rdflib import SDO, Graph, Literal

from archive.errors import CollectionDamaged, StorageError, UsageError
from archive.records import Entry
from archive.site import ComesNext, NextPattern, NotASite, Shelved
from archive.site.ornament import NET_ANGLES, OUTLINES, drawings
from tests.integration.site.invented import (
    OPEN_RIGHTS,
    SETTINGS,
    Shelf,
    publish,
    scan_strip,
    small_shelf,
    strip_measurement,
    written,
)

CANARY = "canary-7f3a"
VOID = {"meta", "link", "img", "input", "br", "hr"}


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return small_shelf(tmp_path / "shelf")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Every file of a published site, by its path."""
    folder = tmp_path_factory.mktemp("site")
    publish(small_shelf(folder / "shelf"), folder / "site")
    return _files(folder / "site")


def _files(site: Path) -> dict[str, bytes]:
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in sorted(site.rglob("*"))
        if path.is_file()
    }


class _Reading(HTMLParser):
    """Reads a page strictly: what is opened must be closed, in order; ids are unique."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        assert len(told) == len(attrs), f"an attribute is said twice in <{tag}>"
        self.tags.append((tag, told))
        self.ids.extend([told["id"]] if told.get("id") else [])
        self.links.extend(told[key] or "" for key in ("href", "src") if key in told)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def _read(page: bytes) -> _Reading:
    reading = _Reading()
    reading.feed(page.decode("utf-8"))
    reading.close()
    assert reading.open == []
    return reading


def _target(path: str, link: str) -> str:
    """The file in the site to which a link on the page at `path` leads."""
    return unquote(urlsplit(urljoin(f"file:///{path}", link)).path).removeprefix("/")


def _pages(files: dict[str, bytes]) -> Iterator[tuple[str, _Reading]]:
    for path, data in files.items():
        if path.endswith(".html"):
            yield path, _read(data)


def test_every_page_is_well_formed_and_every_link_leads_somewhere(
    site: dict[str, bytes],
) -> None:
    read = dict(_pages(site))
    assert len(read) == 6 + 84 + 25 + 7
    for path, reading in read.items():
        assert len(set(reading.ids)) == len(reading.ids), path
        for link in reading.links:
            if link.startswith(("http://rightsstatements.org/", "https://creativecommons.org/")):
                continue
            found, fragment = _target(path, link), urldefrag(link)[1]
            assert found in site, f"{path} leads to {link}"
            if fragment and found.endswith(".html"):
                assert fragment in read[found].ids, f"{path} leads to {link}"


def test_no_page_has_a_script_or_a_style_of_its_own(
    site: dict[str, bytes],
) -> None:
    for path, reading in _pages(site):
        policies = [told for tag, told in reading.tags if tag == "meta" and "content" in told]
        assert any("default-src 'none'" in str(told["content"]) for told in policies), path
        for tag, told in reading.tags:
            assert tag != "style"
            # A block of data is no script: it is never run.
            assert tag != "script" or told.get("src") or told["type"] == "application/ld+json"
            assert not any(name == "style" or name.startswith("on") for name in told)


def test_every_page_has_a_title_a_language_and_one_main_heading(
    site: dict[str, bytes],
) -> None:
    titles = []
    for path, reading in _pages(site):
        tags = [tag for tag, _ in reading.tags]
        assert tags.count("h1") == tags.count("main") == tags.count("title") == 1, path
        assert next(told for tag, told in reading.tags if tag == "html")["lang"] == "en"
        text = site[path].decode()
        titles.append(re.findall(r"<title>(.*?)</title>", text)[0])
    assert len(set(titles)) == len(titles)


def test_every_pattern_is_three_clicks_away_without_a_script(
    site: dict[str, bytes],
) -> None:
    pages = {
        path: {_target(path, link) for link in reading.links} for path, reading in _pages(site)
    }
    reached = {"index.html"}
    for _ in range(3):
        reached |= {link for path in reached for link in pages.get(path, ())}
    patterns = {path for path in pages if path.startswith("patterns/")}
    assert len(patterns) == 6
    assert patterns <= reached


def test_publishing_twice_writes_nothing_the_second_time(shelf: Shelf, tmp_path: Path) -> None:
    first = publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    second = publish(shelf, tmp_path / "site")
    assert (second.written, second.unchanged) == (0, first.written)
    assert _files(tmp_path / "site") == before


def test_the_same_collection_gives_the_same_bytes_in_whatever_order(
    shelf: Shelf, tmp_path: Path
) -> None:
    publish(shelf, tmp_path / "one")
    shelf.entries.reverse()
    shelf.folder = tmp_path / "other-cache"
    publish(shelf, tmp_path / "two")
    assert _files(tmp_path / "one") == _files(tmp_path / "two")


def test_a_changed_record_rewrites_its_page_and_leaves_most_others(
    shelf: Shelf, tmp_path: Path
) -> None:
    first = publish(shelf, tmp_path / "site")
    shelf.entries[0] = shelf.entries[0].model_copy(update={"period": "about 1900"})
    second = publish(shelf, tmp_path / "site")
    # The page, the records twice, the search index; the index of files is written every time.
    assert second.written == 4
    assert second.unchanged == first.written - 4
    assert b"about 1900" in (tmp_path / "site" / "patterns" / "b-2.html").read_bytes()


def test_where_nothing_has_changed_nothing_is_touched(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    places = [tmp_path, *(path for path in (tmp_path / "site").rglob("*") if path.is_dir())]
    before = [path.stat().st_mtime_ns for path in places]
    publish(shelf, tmp_path / "site")
    assert [path.stat().st_mtime_ns for path in places] == before


def test_a_change_in_private_words_alone_writes_nothing(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    told = shelf.entries[0].model_dump()
    told["internal"] = {"donor": CANARY}
    shelf.entries[0] = Entry.model_validate(told)
    assert publish(shelf, tmp_path / "site").written == 0
    assert _files(tmp_path / "site") == before


def _edited(entry: Entry, what: str, value: int) -> Entry:
    told = entry.model_dump()
    told.update(
        {
            "title": {"title": f"Edge {value}"},
            "level": {"difficulty": {"level": value}},
            "technique": {"techniques": [{"technique": "gimp", "role": "taught"}]},
            "pairs": {"pairs": {"stated": {"start": 4 * value}}},
            "rights": {"rights": {} if value > 2 else OPEN_RIGHTS},
            "correction": {"corrections": [{"fault": f"hole {value} is missing"}]},
            "related": {"related": [{"kind": "see also", "shelfmark": ("T 1", "B 2")[value % 2]}]},
            "words": {"working_notes": [{"text": f"word{value} and\u2028another"}]},
            "private": {"internal": {"donor": f"donor {value}"}},
            "family": {"families": [("torchon", "bucks")[value % 2]]},
            "shelfmark": {"shelfmark": f"{entry.shelfmark[:6]} {value}"},
        }[what]
    )
    return Entry.model_validate(told)


def test_other_processes_help_to_make_the_same_site(
    shelf: Shelf, site: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("archive.helping.ENOUGH", 2)
    monkeypatch.setattr("archive.site.making.PIECE", 1)
    monkeypatch.setattr("os.cpu_count", lambda: 3)
    # Nothing is left for this process, so that all is done by others.
    monkeypatch.setattr("archive.helping.Shared._do_one", lambda _: time.sleep(0.01))
    publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == site
    shelf.entries[3] = _edited(shelf.entries[3], "title", 4)
    shelf.entries[4] = _edited(shelf.entries[4], "level", 4)
    monkeypatch.undo()
    publish(shelf, tmp_path / "site")
    shutil.rmtree(shelf.folder / "cache")
    publish(shelf, tmp_path / "clean")
    assert _files(tmp_path / "site") == _files(tmp_path / "clean")


@pytest.mark.parametrize("path", ["records.json", "records.csv"])
def test_lines_of_an_old_site_that_somebody_changed_are_not_taken_over(
    shelf: Shelf, tmp_path: Path, path: str
) -> None:
    """The size is the same, by which a file is otherwise known."""
    publish(shelf, tmp_path / "site")
    changed = tmp_path / "site" / path
    changed.write_bytes(changed.read_bytes().replace(b"torchon", b"TORCHON"))
    shelf.entries[3] = _edited(shelf.entries[3], "title", 4)
    publish(shelf, tmp_path / "site")
    shutil.rmtree(shelf.folder / "cache")
    publish(shelf, tmp_path / "clean")
    assert _files(tmp_path / "site") == _files(tmp_path / "clean")


def test_a_record_that_is_not_as_it_was_written_leaves_the_old_site(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    title = shelf.entries[3].title
    monkeypatch.setattr(
        "tests.integration.site.invented.written",
        lambda entry: written(entry)._replace(
            record=written(entry).record.replace(title, title + '"')
        ),
    )
    with pytest.raises(CollectionDamaged, match="the record “T 2” is not as it was written"):
        publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def _said(comes_next: dict[str, list[NextPattern]]) -> ComesNext:
    def find(patterns: Sequence[Shelved]) -> list[list[NextPattern]]:
        return [comes_next.get(pattern.shelfmark, []) for pattern in patterns]

    return ComesNext(repr(sorted(comes_next.items())), lambda _: find)


_edits = st.lists(
    st.tuples(
        st.sampled_from(
            ["title", "level", "technique", "pairs", "rights", "correction", "related", "words",
             "private", "family", "shelfmark", "remove", "add", "next", "publish"]
        ),
        st.integers(0, 5),
        st.integers(1, 5),
    ),
    min_size=1,
    max_size=8,
)  # fmt: skip


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits=_edits)
def test_building_on_the_old_site_equals_building_anew(
    edits: list[tuple[str, int, int]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("edits")
    shelf = small_shelf(folder / "shelf")
    comes_next: dict[str, list[NextPattern]] = {}
    publish(shelf, folder / "site")
    for what, which, value in edits:
        place = which % len(shelf.entries)
        marks = {entry.shelfmark for entry in shelf.entries}
        if what == "publish":
            publish(shelf, folder / "site", comes_next=_said(comes_next))
        elif what == "next":
            comes_next[shelf.entries[place].shelfmark] = [
                NextPattern("T 1", ("gimp",)[value % 2 :])
            ]
        elif what == "remove" and len(marks) > 1:
            del shelf.entries[place]
        elif what == "add" and f"N {value}" not in marks:
            shelf.add(f"N {value}", title="New", techniques=[{"technique": "plait"}])
        elif what not in ("remove", "add"):
            edited = _edited(shelf.entries[place], what, value)
            if edited.shelfmark not in marks - {shelf.entries[place].shelfmark}:
                shelf.entries[place] = edited
    publish(shelf, folder / "site", comes_next=_said(comes_next))
    shelf.folder = folder / "nothing-is-remembered-here"
    publish(shelf, folder / "clean", comes_next=_said(comes_next))
    assert _files(folder / "site") == _files(folder / "clean")


def test_what_is_remembered_may_be_damaged_or_lost(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    remembered = tmp_path / "shelf" / "cache" / "site.npz"
    data = bytearray(remembered.read_bytes())
    for damage in (data[:100], data[:-50], b"", bytes(len(data))):
        remembered.write_bytes(damage)
        assert publish(shelf, tmp_path / "site").written == 0
        assert _files(tmp_path / "site") == before
    data[len(data) // 2] ^= 1
    remembered.write_bytes(data)
    publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == before


def test_what_another_version_remembers_is_left_alone(shelf: Shelf, tmp_path: Path) -> None:
    remembered = tmp_path / "shelf" / "cache" / "site.npz"
    remembered.parent.mkdir()
    last = b"another version\nits whole\nits manifest\n"
    np.savez(remembered, last=np.frombuffer(last, np.uint8), head=np.zeros(7))
    assert publish(shelf, tmp_path / "site").written > 100
    assert publish(shelf, tmp_path / "site").written == 0


def test_the_index_of_files_names_every_file_with_its_hash(
    site: dict[str, bytes],
) -> None:
    told = dict(
        reversed(line.split("  ", 1)) for line in site["files.sha256"].decode().splitlines()
    )
    assert set(told) == set(site) - {"files.sha256", "manifest.json"}
    for path, sha256 in told.items():
        assert hashlib.sha256(site[path]).hexdigest() == sha256


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs GNU coreutils")
def test_the_index_of_files_is_what_a_common_program_checks(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    command = ["sha256sum", "--check", "--strict", "--quiet", "files.sha256"]
    assert subprocess.run(command, cwd=tmp_path / "site", check=False).returncode == 0
    page = tmp_path / "site" / "patterns" / "b-2.html"
    page.write_bytes(page.read_bytes() + b" ")
    found = subprocess.run(command, cwd=tmp_path / "site", check=False, capture_output=True)
    assert found.returncode == 1
    assert found.stdout.startswith(b"patterns/b-2.html: FAILED")


def test_a_picture_is_shown_only_where_design_and_sheet_allow_it(
    shelf: Shelf, tmp_path: Path
) -> None:
    published = publish(shelf, tmp_path / "site")
    files = _files(tmp_path / "site")
    assert {path for path in files if path.startswith("pictures/b-2-")}
    assert not {path for path in files if path.startswith("pictures/b-10-")}
    assert [(one.code, one.shelfmark) for one in published.withheld] == [
        ("picture-withheld", "B 10")
    ]
    page = files["patterns/b-10.html"].decode()
    assert "No picture of this pattern is published" in page
    assert "<image" not in page


def test_the_pins_of_a_sheet_that_may_not_be_shown_are_not_drawn_either(
    site: dict[str, bytes],
) -> None:
    """A drawing of the pins would be a copy of the pricking."""
    assert site["patterns/b-2.html"].count(b"h0M") > 300
    assert b"h0M" not in site["patterns/b-10.html"]


def test_taking_a_right_back_takes_the_picture_out_of_the_site(
    shelf: Shelf, tmp_path: Path
) -> None:
    publish(shelf, tmp_path / "site")
    told = shelf.entries[0].model_dump()
    shelf.entries[0] = Entry.model_validate({**told, "rights": {}})
    publish(shelf, tmp_path / "site")
    assert not [path for path in _files(tmp_path / "site") if path.startswith("pictures/b-2-")]


def test_a_collection_that_shows_no_pictures_has_none(shelf: Shelf, tmp_path: Path) -> None:
    never = SETTINGS.model_copy(
        update={"publishing": SETTINGS.publishing.model_copy(update={"pictures": "never"})}
    )
    published = publish(shelf, tmp_path / "site", settings=never)
    assert published.pictures == 0
    pictures = [path for path in _files(tmp_path / "site") if path.startswith("pictures/")]
    assert set(pictures) <= set(drawings(f"pictures/{kind}-{net}.svg" for kind in OUTLINES
                                         for net in (*NET_ANGLES, "no-net")))  # fmt: skip


def test_a_damaged_picture_becomes_a_finding_and_the_rest_is_published(
    shelf: Shelf, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.png"
    scan_strip(broken)
    broken.write_bytes(broken.read_bytes()[:900])
    shelf.add("X 1", broken, rights=OPEN_RIGHTS)
    published = publish(shelf, tmp_path / "site")
    assert ("picture-unreadable", "X 1") in {
        (one.code, one.shelfmark) for one in published.withheld
    }
    assert (tmp_path / "site" / "patterns" / "x-1.html").exists()


def test_a_second_publication_opens_no_original(shelf: Shelf, tmp_path: Path) -> None:
    first = publish(shelf, tmp_path / "one")
    for original in shelf.paths.values():
        original.unlink()
    second = publish(shelf, tmp_path / "two")
    assert second.pictures == first.pictures == 2
    assert _files(tmp_path / "one") == _files(tmp_path / "two")


def test_a_page_of_a_document_is_shown_as_it_was_scanned(tmp_path: Path) -> None:
    """The same picture as a scan and as a document that another program, Pillow, wrote."""
    shelf = Shelf(tmp_path / "shelf")
    shelf.folder.mkdir()
    scan = scan_strip(shelf.folder / "scan.png")
    with Image.open(scan) as picture:
        picture.save(shelf.folder / "scan.pdf", resolution=150)
    for number, sheet in enumerate((scan, shelf.folder / "scan.pdf")):
        shelf.add(f"D {number}", sheet, rights=OPEN_RIGHTS)
    assert publish(shelf, tmp_path / "site").pictures == 2
    pictures = []
    for number in (0, 1):
        with Image.open(tmp_path / "site" / "pictures" / f"d-{number}-1.webp") as shown:
            pictures.append(np.asarray(shown.convert("L").resize((250, 700)), dtype=float))
    assert np.corrcoef(pictures[0].ravel(), pictures[1].ravel())[0, 1] > 0.95


def test_the_page_that_was_measured_is_the_one_that_is_shown(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path / "shelf")
    shelf.folder.mkdir()
    sheet = shelf.folder / "two.tif"
    pages = [Image.new("L", (400, 300), tone) for tone in (250, 90)]
    pages[0].save(sheet, save_all=True, append_images=pages[1:])
    entry = shelf.add("D 1", sheet, rights=OPEN_RIGHTS)
    publish(shelf, tmp_path / "site")
    sha256 = entry.attachments[0].sha256
    found = strip_measurement(sha256, 60.0)
    assert found.source is not None
    source = found.source.model_copy(update={"page": 2, "width_px": 400.0, "height_px": 300.0})
    shelf.measurements[sha256] = found.model_copy(update={"source": source})
    publish(shelf, tmp_path / "later")
    tones = []
    for site in ("site", "later"):
        with Image.open(tmp_path / site / "pictures" / "d-1-1.webp") as shown:
            tones.append(np.asarray(shown.convert("L")).mean())
    assert tones == pytest.approx([250, 90], abs=3)


def test_layers_fit_a_scan_whose_pixels_are_longer_than_wide(tmp_path: Path) -> None:
    """A telefax has 204 to the inch by 98 (ITU-T T.4): half as many rows as a square scan."""
    shelf = Shelf(tmp_path / "shelf")
    shelf.folder.mkdir()
    sheet = shelf.folder / "fax.tif"
    Image.new("RGB", (400, 538), "white").save(sheet, dpi=(204, 98))
    entry = shelf.add("D 1", sheet, rights=OPEN_RIGHTS)
    sha256 = entry.attachments[0].sha256
    found = strip_measurement(sha256, 60.0)
    assert found.source is not None
    source = found.source.model_copy(update={"width_px": 400.0, "height_px": 1120.0})
    shelf.measurements[sha256] = found.model_copy(update={"source": source})
    publish(shelf, tmp_path / "site")
    with Image.open(tmp_path / "site" / "pictures" / "d-1-1.webp") as shown:
        assert shown.size == (400, 1120)
    page = (tmp_path / "site" / "patterns" / "d-1.html").read_text(encoding="utf-8")
    assert 'viewBox="0 0 400.0 1120.0"' in page
    assert 'class="layer holes off"' in page


def test_the_public_records_are_plain_data_in_shelf_order(
    site: dict[str, bytes],
) -> None:
    told = json.loads(site["records.json"])
    assert told["collection"] == SETTINGS.name
    assert [record["shelfmark"] for record in told["records"]] == [
        "B 2", "B 10", "K/3", "k-3", "T 1", "T 2",
    ]  # fmt: skip
    first = told["records"][0]
    assert first["pairs"]["stated"] == {"start": 16, "most": 18}
    assert first["measured"]["ground_angle_deg"] == 60.0
    assert "sha256" not in json.dumps(told)


# rdflib's own reader of JSON-LD uses what rdflib warns of.
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_a_page_tells_programs_what_it_shows(site: dict[str, bytes]) -> None:
    """Read by rdflib, with the part of schema.org's context that the page needs."""
    (told,) = re.findall(
        r'<script type="application/ld\+json">(.*?)</script>', site["patterns/b-2.html"].decode()
    )
    data = json.loads(told)
    assert data["@context"] == "https://schema.org"
    assert data["@type"] in SDO
    assert [name for name in data if name[0] != "@" and name not in SDO] == []
    address = {"@type": "@id"}
    data["@context"] = {"@vocab": str(SDO), "image": address, "license": address}
    base = "file:///patterns/b-2.html"
    graph = Graph().parse(data=json.dumps(data), format="json-ld", base=base)
    (work,) = graph.subjects(SDO.identifier, Literal("B 2"))
    (picture,) = graph.objects(work, SDO.image)
    assert str(picture).removeprefix("file:///") in site
    assert [str(name) for name in graph.objects(work, SDO.teaches)] == ["picot"]
    (designer,) = graph.objects(work, SDO.creator)
    assert graph.value(designer, SDO.name) == Literal("A. Invented")


def test_the_table_has_a_row_for_every_record(site: dict[str, bytes]) -> None:
    rows = list(csv.reader(io.StringIO(site["records.csv"].decode("utf-8-sig"), newline="")))
    assert [row[0] for row in rows[1:]] == ["B 2", "B 10", "K/3", "k-3", "T 1", "T 2"]


def test_an_empty_collection_is_a_site_too(tmp_path: Path) -> None:
    published = publish(Shelf(tmp_path / "shelf"), tmp_path / "site")
    assert published.pages == 84 + 25 + 7
    for _, reading in _pages(_files(tmp_path / "site")):
        assert reading.ids


@pytest.mark.parametrize("name", ["letter.txt", "patterns/letter.html", ".hidden"])
def test_a_folder_with_other_things_in_it_is_left_alone(
    name: str, shelf: Shelf, tmp_path: Path
) -> None:
    publish(shelf, tmp_path / "site")
    (tmp_path / "site" / name).write_text("mine", encoding="utf-8")
    before = _files(tmp_path / "site")
    shelf.entries.pop()
    with pytest.raises(NotASite) as refusal:
        publish(shelf, tmp_path / "site")
    assert name in refusal.value.problem
    assert _files(tmp_path / "site") == before


def test_a_folder_that_is_no_site_is_left_alone(shelf: Shelf, tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / "index.html").write_text("mine", encoding="utf-8")
    with pytest.raises(NotASite):
        publish(shelf, tmp_path / "home")
    assert (tmp_path / "home" / "index.html").read_text(encoding="utf-8") == "mine"


def test_files_that_desktops_leave_are_no_obstacle(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    for name in (".DS_Store", "pictures/Thumbs.db"):
        (tmp_path / "site" / name).write_bytes(b"0")
    assert publish(shelf, tmp_path / "site").written == 0


def test_a_file_that_was_lost_from_the_site_is_made_again(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    (tmp_path / "site" / "patterns" / "b-2.html").unlink()
    (tmp_path / "site" / "style" / "site.css").write_bytes(b"")
    publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == before


def test_a_build_that_fails_leaves_the_old_site(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")

    def broken(*_: object) -> bytes:
        raise RuntimeError("a bug")

    monkeypatch.setattr("archive.site.public_data.records_file", broken)
    shelf.entries.pop()
    with pytest.raises(RuntimeError):
        publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]


def test_a_whole_disk_is_not_taken_for_a_folder(shelf: Shelf) -> None:
    with pytest.raises(UsageError) as refusal:
        publish(shelf, Path(Path.cwd().anchor))
    assert "a whole disk" in refusal.value.problem


def test_when_the_new_site_cannot_take_its_place_the_old_one_goes_back(
    shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    publish(shelf, tmp_path / "site")
    before = _files(tmp_path / "site")
    rename = Path.rename

    def locked(path: Path, target: Path) -> Path:
        if path.name == ".site.building":
            raise PermissionError(13, "in use")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", locked)
    shelf.entries.pop()
    with pytest.raises(StorageError):
        publish(shelf, tmp_path / "site")
    assert _files(tmp_path / "site") == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]


_BUILDING = """
import sys
from pathlib import Path
from tests.integration.site.invented import publish, small_shelf
shelf = small_shelf(Path(sys.argv[1]))
print("ready", flush=True)
for turn in range(1000):
    shelf.entries[0] = shelf.entries[0].model_copy(update={"title": f"Edge {turn % 2}"})
    publish(shelf, Path(sys.argv[2]))
    print(turn, flush=True)
"""


def test_a_killed_build_leaves_a_whole_site_or_one_that_the_next_build_puts_back(
    tmp_path: Path,
) -> None:
    shelf = small_shelf(tmp_path / "shelf")
    site = tmp_path / "site"
    whole = []
    for title in ("Edge 0", "Edge 1"):
        shelf.entries[0] = shelf.entries[0].model_copy(update={"title": title})
        publish(shelf, site)
        whole.append(_files(site))
    root = Path(__file__).parents[3]
    seed = random.randrange(1_000_000)
    print(f"seed {seed}")
    chance = random.Random(seed)
    for _ in range(15):
        building = subprocess.Popen(
            [sys.executable, "-c", _BUILDING, str(tmp_path / "shelf"), str(site)],
            cwd=root,
            stdout=subprocess.PIPE,
        )
        assert building.stdout is not None
        building.stdout.readline()
        building.stdout.readline()
        time.sleep(chance.uniform(0, 0.15))
        building.send_signal(signal.SIGTERM if sys.platform == "win32" else signal.SIGKILL)
        building.wait()
        building.stdout.close()
        place = site if site.exists() else tmp_path / ".site.before"
        assert _files(place) in whole
    publish(shelf, site)
    assert _files(site) == whole[1]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["shelf", "site"]
