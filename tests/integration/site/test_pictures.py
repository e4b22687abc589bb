"""Which pictures of a collection a site shows, and that they show the sheet."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from archive.records import Entry
from archive.site.ornament import NET_ANGLES, OUTLINES, drawings
from tests.integration.site.invented import (
    OPEN_RIGHTS,
    SETTINGS,
    Shelf,
    publish,
    scan_strip,
    strip_measurement,
)
from tests.integration.site.published import files_of


def test_a_picture_is_shown_only_where_design_and_sheet_allow_it(
    shelf: Shelf, tmp_path: Path
) -> None:
    published = publish(shelf, tmp_path / "site")
    files = files_of(tmp_path / "site")
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
    assert not [path for path in files_of(tmp_path / "site") if path.startswith("pictures/b-2-")]


def test_a_collection_that_shows_no_pictures_has_none(shelf: Shelf, tmp_path: Path) -> None:
    never = SETTINGS.model_copy(
        update={"publishing": SETTINGS.publishing.model_copy(update={"pictures": "never"})}
    )
    published = publish(shelf, tmp_path / "site", settings=never)
    assert published.pictures == 0
    pictures = [path for path in files_of(tmp_path / "site") if path.startswith("pictures/")]
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
    assert files_of(tmp_path / "one") == files_of(tmp_path / "two")


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
