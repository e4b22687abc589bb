"""What is private stays at home: looked for in every byte that is published, packed or not.

A canary stands in every field that must not leave the collection, in the names of files and in
everything that picture files can say of themselves. A second word stands in a public field and
must be found by the same search, or the search would prove nothing.
"""

from __future__ import annotations

import base64
import binascii
import csv
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageCms, PngImagePlugin, TiffImagePlugin

from archive.records import Attachment, Entry, Pattern
from archive.records.pattern import Condition, Internal, UnparsedNote
from archive.records.rights import Right
from archive.site.images import srgb_profile
from tests.integration.site.invented import Shelf, draw_strip, publish, scan_strip
from tests.pdf_writing import one_page

CANARY = "zqcanary"
PUBLIC = "zqspoken"
FORMS = [CANARY.encode(encoding) for encoding in ("utf-8", "utf-16-le", "utf-16-be")]

INTERNAL = dict.fromkeys(Internal.model_fields, CANARY)
CONDITION = {"state": CANARY, "checked": "1907-11-23"}
RIGHT = {"statement": "inc", "permission_letter": CANARY}


def _exif() -> Image.Exif:
    exif = Image.Exif()
    for tag in (0x010E, 0x013B, 0x8298, 0x9C9C):  # description, artist, copyright, comment
        exif[tag] = CANARY
    exif.get_ifd(0x8769)[0xA430] = CANARY  # the camera's owner
    exif.get_ifd(0x8825)[29] = CANARY  # the day by satellite
    return exif


def _profile() -> bytes:
    """A profile that is sRGB by another name."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    spot = profile.find("sRGB built-in".encode("utf-16-be"))
    assert spot > 0
    name = CANARY.encode("utf-16-be")
    profile[spot : spot + len(name)] = name
    return bytes(profile)


def _sheets(folder: Path) -> Iterator[Path]:
    """A sheet of each kind that says the canary wherever its format has a place for it."""
    text = PngImagePlugin.PngInfo()
    for kind in ("Comment", "Author", "XML:com.adobe.xmp"):
        text.add_itxt(kind, CANARY)
    text.add_text("Title", CANARY, zip=True)
    xmp = f"<x:xmpmeta>{CANARY}</x:xmpmeta>".encode()
    tags = TiffImagePlugin.ImageFileDirectory_v2()
    tags[270] = tags[315] = tags[33432] = CANARY  # description, artist, copyright
    tags[700] = xmp
    usual: dict[str, Any] = {"exif": _exif(), "icc_profile": _profile()}
    saved: dict[str, dict[str, Any]] = {
        "png": {**usual, "pnginfo": text},
        "jpeg": {**usual, "comment": CANARY.encode(), "xmp": xmp},
        "webp": {**usual, "xmp": xmp},
        "tiff": {"tiffinfo": tags, "icc_profile": _profile()},
        "gif": {"comment": CANARY.encode()},
        "pdf": {"title": CANARY, "author": CANARY, "subject": CANARY, "keywords": CANARY},
    }
    for ending, told in saved.items():
        yield scan_strip(folder / f"{CANARY}.{ending}", **told)
    yield draw_strip(
        folder / f"{CANARY}.svg",
        extra=f"<title>{CANARY}</title><desc>{CANARY}</desc><metadata>{CANARY}</metadata>"
        f"<!-- {CANARY} --><?{CANARY} {CANARY}?>"
        f'<g id="{CANARY}" class="{CANARY}" data-x="{CANARY}" aria-label="{CANARY}">'
        f'<circle r="1" id="{CANARY}-2"/></g>',
    )
    noted = folder / "noted.pdf"
    noted.write_bytes(
        one_page(
            b"10 10 4 4 re f",
            b"/Annots[<</Type/Annot/Subtype/Text/Rect[9 9 30 30]/Contents(%s)>>]" % FORMS[0],
        )
    )
    yield noted


def _collection(folder: Path) -> Shelf:
    shelf = Shelf(folder)
    folder.mkdir()
    for number, sheet in enumerate(_sheets(folder)):
        if sheet.suffix not in (".gif", ".pdf", ".svg"):
            assert FORMS[0] in sheet.read_bytes()  # or the test would prove nothing
        shelf.add(
            f"P {number}",
            sheet,
            title=f"Plain {PUBLIC}",
            techniques=[{"technique": "gimp"}],
            working_notes=[{"text": f"Hang in at the {PUBLIC}."}],
            rights=dict.fromkeys(("design", "working_up", "pricking", "photograph"), RIGHT),
            internal=INTERNAL,
            condition=CONDITION,
            unparsed=[{"field": CANARY, "words": CANARY}],
        )
    return shelf


@pytest.fixture(scope="module", params=[0, 400], ids=["bundled", "in parts"])
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A published site, with its search data in one file or, with more patterns, in parts."""
    folder = tmp_path_factory.mktemp("private")
    shelf = _collection(folder / "shelf")
    for number in range(request.param):
        shelf.add(f"Q {number}", title=f"Edge {PUBLIC}", internal=INTERNAL, condition=CONDITION)
    published = publish(shelf, folder / "site")
    assert published.pictures == 8
    assert not published.withheld
    return folder / "site"


def _files(site: Path) -> dict[str, bytes]:
    return {
        path.relative_to(site).as_posix(): path.read_bytes()
        for path in site.rglob("*")
        if path.is_file()
    }


def _unpacked(text: str) -> Iterator[str | bytes]:
    """What a string of the search data holds: itself, words told by beginnings, base64."""
    yield text
    words, before = [], ""
    for line in text.split("\n"):
        before = before[: max(0, ord(line[0]) - 48)] + line[1:] if line else ""
        words.append(before)
    yield "\n".join(words)
    for packed in re.split("[!]", text.lstrip("bd")):
        try:
            yield base64.b64decode(packed, validate=True)
        except (binascii.Error, ValueError):
            continue


def _strings(told: object) -> Iterator[str]:
    if isinstance(told, str):
        yield told
    elif isinstance(told, dict):
        for name, value in told.items():
            yield from (name, *_strings(value))
    elif isinstance(told, list):
        for value in told:
            yield from _strings(value)


def _search_data(files: dict[str, bytes]) -> Iterator[str | bytes]:
    for path, data in files.items():
        if path.startswith("data/"):
            for line in data.decode().splitlines():
                told = json.loads("[" + line.removeprefix("takePart(").removesuffix(");") + "]")
                for text in _strings(told):
                    yield from _unpacked(text)


def test_the_canary_stands_in_every_private_field() -> None:
    """A new field of a record is public or private: whoever adds one decides it here."""
    assert set(INTERNAL) == {"provenance", "donor", "location", "valuation", "private_notes"}
    assert set(CONDITION) == set(Condition.model_fields)
    assert set(UnparsedNote.model_fields) == {"field", "words"}
    assert set(Right.model_fields) - {"statement", "holder", "basis"} == {"permission_letter"}
    public = set(Pattern.model_fields) - {"internal", "condition", "unparsed"}
    assert len(public) == 20
    assert set(Entry.model_fields) - set(Pattern.model_fields) == {"attachments", "measured"}
    assert "file_name" in Attachment.model_fields


def test_nothing_private_is_in_any_published_byte(site: Path) -> None:
    for path, data in _files(site).items():
        assert CANARY not in path
        for form in FORMS:
            assert form not in data, path
        for day in (b"1907-11-23", b"23 November 1907", b"1907, 11, 23"):
            assert day not in data, path  # when somebody last looked at the sheet


def test_nothing_private_is_in_the_search_data_once_unpacked(site: Path) -> None:
    texts = list(_search_data(_files(site)))
    for text in texts:
        forms: list[Any] = [CANARY] if isinstance(text, str) else FORMS
        assert not any(form in text for form in forms)
    assert any(PUBLIC in text for text in texts if isinstance(text, str))


def test_what_is_public_is_found_by_the_same_search(site: Path) -> None:
    files = _files(site)
    for path in ("patterns/p-0.html", "records.json", "records.csv", "shelf.html"):
        assert PUBLIC.encode() in files[path], path
    assert json.loads(files["records.json"])["records"][0]["title"] == f"Plain {PUBLIC}"
    rows = list(csv.reader(io.StringIO(files["records.csv"].decode("utf-8-sig"), newline="")))
    assert rows[1][1] == f"Plain {PUBLIC}"


def test_a_published_picture_holds_pixels_and_the_profile_of_srgb(site: Path) -> None:
    """Source: WebP Container Specification: what is neither pixels nor size has its own chunk."""
    pictures = [path for path in (site / "pictures").iterdir() if path.suffix == ".webp"]
    assert len(pictures) == 2 * 7
    for path in pictures:
        data = path.read_bytes()
        chunks, at = {}, 12
        while at < len(data):
            size = int.from_bytes(data[at + 4 : at + 8], "little")
            chunks[data[at : at + 4]] = data[at + 8 : at + 8 + size]
            at += 8 + (size + 1) // 2 * 2
        assert chunks.keys() == {b"VP8X", b"ICCP", b"VP8 "}
        assert chunks[b"ICCP"] == srgb_profile()
