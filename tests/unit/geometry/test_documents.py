"""Pages of PDF documents: pins in their places whatever turns, cuts and scales the page."""

from __future__ import annotations

import math
import zlib
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from archive.errors import UnreadableFile
from archive.geometry import Drawing, Scan, draw_page, measure, read_sheet
from archive.geometry.overlay.drawing import compose
from tests.pdf_writing import one_page, pdf, stream

MM_PER_UNIT = 25.4 / 72
WIDE, HIGH = 300.0, 200.0
PINS = np.array([(40.0, 30.0), (70.0, 40.0), (100.0, 150.0), (210.5, 120.25)])
"""Of a page's space: x to the right, y up."""

FORM = b"/Type/XObject/Subtype/Form/BBox[-999 -999 999 999]"
IMAGE = b"/Type/XObject/Subtype/Image/ColorSpace/DeviceGray/BitsPerComponent 8/Filter/FlateDecode"
WITH_X = b"/Resources<</XObject<</X 5 0 R>>>>"


def squares(pins: NDArray[np.float64] = PINS, half: float = 1.5) -> bytes:
    return b"".join(
        b"%.4f %.4f %.4f %.4f re f\n" % (x - half, y - half, 2 * half, 2 * half)
        for x, y in pins.tolist()
    )


def read(path: Path, content: bytes) -> Drawing | Scan:
    path.write_bytes(content)
    return read_sheet(path)


def pins_mm(path: Path, content: bytes) -> NDArray[np.float64]:
    """(n, 2) pins in millimetres, sorted by x."""
    drawing = read(path, content)
    assert isinstance(drawing, Drawing)
    assert drawing.px_per_mm is not None
    found = drawing.pins_px / drawing.px_per_mm
    return found[np.argsort(found[:, 0])]


def page_mm(pins: NDArray[np.float64] = PINS) -> NDArray[np.float64]:
    """Where the pins are on the upright page, from its top left corner."""
    return np.column_stack([pins[:, 0], HIGH - pins[:, 1]]) * MM_PER_UNIT


def document(content: bytes, page: bytes = b"", *more: bytes, box: bytes = b"0 0 300 200") -> bytes:
    return one_page(content, page, *more, box=box)


ROUND = b"""1 0 0 1 %.4f %.4f cm 2 0 m 2 1.1046 1.1046 2 0 2 c -1.1046 2 -2 1.1046 -2 0 c
-2 -1.1046 -1.1046 -2 0 -2 c 1.1046 -2 2 -1.1046 2 0 c h S"""

DRAWN = {
    "squares": squares(),
    "rings of curves": b"".join(b"q " + ROUND % (x, y) + b" Q\n" for x, y in PINS.tolist()),
    "dots with round ends": b"3 w 1 J "
    + b"".join(b"%.4f %.4f m %.4f %.4f l S\n" % (x, y, x, y) for x, y in PINS.tolist()),
    "one path of many pieces": squares().replace(b" f", b"") + b" f*",
    "under a matrix": b"q 2 0 0 2 10 20 cm " + squares((PINS - (10, 20)) / 2, 0.75) + b" Q",
    "turned by 90° and back": b"0 1 -1 0 0 0 cm " + squares(PINS[:, ::-1] * (1, -1)),
}


@pytest.mark.parametrize("how", DRAWN)
def test_pins_are_found_however_they_are_drawn(how: str, tmp_path: Path) -> None:
    found = pins_mm(tmp_path / "a.pdf", document(DRAWN[how]))
    np.testing.assert_allclose(found, page_mm(), atol=2e-4)


def test_pins_in_nested_forms_stand_where_the_forms_put_them(tmp_path: Path) -> None:
    moved = squares((PINS - (5, 7)) / 2 - (3, 0), 0.75)
    inner = stream(moved, FORM + b"/Matrix[1 0 0 1 3 0]")
    outer = stream(b"q 2 0 0 2 0 0 cm /X Do Q", FORM + WITH_X.replace(b"5", b"6"))
    found = pins_mm(tmp_path / "a.pdf", document(b"1 0 0 1 5 7 cm /X Do", WITH_X, outer, inner))
    np.testing.assert_allclose(found, page_mm(), atol=2e-4)


TURNED = {
    0: lambda x, y: (x, y),
    90: lambda x, y: (HIGH * MM_PER_UNIT - y, x),
    180: lambda x, y: (WIDE * MM_PER_UNIT - x, HIGH * MM_PER_UNIT - y),
    270: lambda x, y: (y, WIDE * MM_PER_UNIT - x),
}


@pytest.mark.parametrize("turn", TURNED)
def test_a_turned_page_is_read_as_it_is_shown(turn: int, tmp_path: Path) -> None:
    """/Rotate turns the page clockwise (ISO 32000-1:2008, table 30)."""
    found = pins_mm(tmp_path / "a.pdf", document(squares(), b"/Rotate %d" % turn))
    expected = np.array([TURNED[turn](x, y) for x, y in page_mm().tolist()])
    np.testing.assert_allclose(found, expected[np.argsort(expected[:, 0])], atol=2e-4)


def test_places_count_from_the_corner_of_the_cut_page_and_what_is_cut_off_is_gone(
    tmp_path: Path,
) -> None:
    beyond = np.array([(290.0, 190.0)])
    content = squares(np.vstack([PINS, beyond]))
    page = document(content, b"/CropBox[20 10 280 180]")
    corner = np.array([20, HIGH - 180]) * MM_PER_UNIT
    np.testing.assert_allclose(pins_mm(tmp_path / "a.pdf", page), page_mm() - corner, atol=2e-4)


def test_what_cannot_be_seen_is_no_pin(tmp_path: Path) -> None:
    """Paths that are neither filled nor drawn, and paths of a wholly transparent colour."""
    clear = b"/Resources<</ExtGState<</G<</ca 0/CA 0>>>>>>"
    unseen = squares(PINS + 25).replace(b" f", b" n") + b"q /G gs " + squares(PINS + 12) + b" Q "
    found = pins_mm(tmp_path / "a.pdf", document(unseen + squares(), clear))
    np.testing.assert_allclose(found, page_mm(), atol=2e-4)


GREY = np.random.default_rng(5).integers(0, 256, (90, 120), dtype=np.uint8)


def scanned(page: bytes = b"", *, dpi: float = 300, grey: NDArray[np.uint8] = GREY) -> bytes:
    rows, columns = grey.shape
    wide, high = columns * 72 / dpi, rows * 72 / dpi
    image = stream(zlib.compress(grey.tobytes()), IMAGE + b"/Width %d/Height %d" % (columns, rows))
    return document(
        b"%.5f 0 0 %.5f 0 0 cm /X Do" % (wide, high),
        WITH_X + page,
        image,
        box=b"0 0 %.5f %.5f" % (wide, high),
    )


@pytest.mark.parametrize(("turn", "quarters"), [(0, 0), (90, -1), (180, -2), (270, -3)])
def test_a_scanned_page_comes_out_pixel_for_pixel(turn: int, quarters: int, tmp_path: Path) -> None:
    scan = read(tmp_path / "a.pdf", scanned(b"/Rotate %d" % turn))
    assert isinstance(scan, Scan)
    np.testing.assert_allclose(scan.grey, np.rot90(GREY, quarters) / 255, atol=1e-6)
    assert scan.px_per_mm == pytest.approx(300 / 25.4, rel=1e-5)


@pytest.mark.parametrize("dpi", [72, 96])
def test_a_scan_at_the_resolution_of_screens_leaves_the_scale_unknown(
    dpi: int, tmp_path: Path
) -> None:
    """So do programs write that put a picture into a document and know nothing of the paper."""
    assert read(tmp_path / "a.pdf", scanned(dpi=dpi)).px_per_mm is None


def test_a_scan_cut_into_strips_keeps_its_scale(tmp_path: Path) -> None:
    strips = [GREY[row : row + 30] for row in range(0, 90, 30)]
    draw = b"".join(b"q 28.8 0 0 7.2 0 %.1f cm /X%d Do Q " % (14.4 - 7.2 * k, k) for k in range(3))
    names = b"".join(b"/X%d %d 0 R" % (k, 5 + k) for k in range(3))
    page = document(
        draw,
        b"/Resources<</XObject<<%s>>>>" % names,
        *[stream(zlib.compress(s.tobytes()), IMAGE + b"/Width 120/Height 30") for s in strips],
        box=b"0 0 28.8 21.6",
    )
    scan = read(tmp_path / "a.pdf", page)
    assert isinstance(scan, Scan)
    assert scan.grey.shape == GREY.shape
    assert scan.px_per_mm == pytest.approx(300 / 25.4, rel=1e-5)


def test_a_small_fine_picture_does_not_set_the_scale_of_the_page(tmp_path: Path) -> None:
    """The page is scanned at 100 dpi; a seal of 1200 dpi in its corner is no scan."""
    seal = stream(zlib.compress(GREY.tobytes()), IMAGE + b"/Width 120/Height 90")
    sheet = np.tile(GREY, (4, 4))
    image = stream(zlib.compress(sheet.tobytes()), IMAGE + b"/Width 480/Height 360")
    page = document(
        b"q 345.6 0 0 259.2 0 0 cm /X Do Q q 7.2 0 0 5.4 9 9 cm /Y Do Q",
        b"/Resources<</XObject<</X 5 0 R/Y 6 0 R>>>>",
        image,
        seal,
        box=b"0 0 345.6 259.2",
    )
    assert read(tmp_path / "a.pdf", page).px_per_mm == pytest.approx(100 / 25.4, rel=1e-5)


def test_dots_that_are_letters_are_read_from_a_picture_of_the_page(tmp_path: Path) -> None:
    letters = b"BT /F 20 Tf " + b"".join(
        b"1 0 0 1 %.3f %.3f Tm (.) Tj\n" % (x, y) for x, y in PINS.tolist()
    )
    font = b"/Resources<</Font<</F<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>>>>>"
    scan = read(tmp_path / "a.pdf", document(letters + b" ET", font))
    assert isinstance(scan, Scan)
    assert scan.px_per_mm == pytest.approx(600 / 25.4, rel=1e-9)
    for x, y in page_mm().tolist():
        row, column = round((y - 0.4) * scan.px_per_mm), round((x + 1) * scan.px_per_mm)
        assert scan.grey[row - 12 : row + 12, column - 24 : column + 24].min() < 0.1


def three_pages() -> bytes:
    """Pages of 1, 2 and 3 rows of pins."""
    contents = [
        squares(np.array([(20.0 + 20 * k, 30.0 * row) for k in range(5) for row in rows]))
        for rows in ([1], [1, 2], [1, 2, 3])
    ]
    kids = b" ".join(b"%d 0 R" % (3 + 2 * k) for k in range(3))
    things = [b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[%s]/Count 3>>" % kids]
    for k, content in enumerate(contents):
        entries = b"/MediaBox[0 0 300 200]/Contents %d 0 R" % (4 + 2 * k)
        things += [b"<</Type/Page/Parent 2 0 R%s>>" % entries, stream(content)]
    return pdf(things)


@pytest.mark.parametrize(("page", "pins"), [(None, 5), (1, 5), (2, 10), (3, 15)])
def test_the_page_asked_for_is_read_or_else_the_first(
    page: int | None, pins: int, tmp_path: Path
) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(three_pages())
    drawing = read_sheet(path, page=page)
    assert isinstance(drawing, Drawing)
    assert (len(drawing.pins_px), drawing.pages) == (pins, 3)


def test_a_page_that_is_not_there_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(three_pages())
    with pytest.raises(UnreadableFile, match="it has 3 pages, and no page 4"):
        read_sheet(path, page=4)


def test_pages_of_a_tiff_are_read_as_asked(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    first, second = (Image.fromarray(np.full((40, 40), grey, np.uint8)) for grey in (255, 51))
    first.save(path, save_all=True, append_images=[second])
    scan = read_sheet(path, page=2)
    assert isinstance(scan, Scan)
    assert scan.pages == 2
    np.testing.assert_allclose(scan.grey, 0.2)
    with pytest.raises(UnreadableFile, match="it has 2 pages, and no page 3"):
        read_sheet(path, page=3)


def test_a_document_another_program_wrote_keeps_its_resolution(tmp_path: Path) -> None:
    """Pillow as the other program: a scan of 250 dpi saved as a PDF."""
    path = tmp_path / "a.pdf"
    Image.fromarray(np.tile(GREY, (3, 3))).save(path, resolution=250)
    scan = read_sheet(path)
    assert isinstance(scan, Scan)
    assert scan.grey.shape == (270, 360)
    assert scan.px_per_mm == pytest.approx(250 / 25.4, rel=1e-4)


def test_the_overlay_lies_over_the_page_that_was_measured(tmp_path: Path) -> None:
    path = tmp_path / "a.tif"
    pages = [np.tile(np.roll(GREY, shift), (3, 3)) for shift in (0, 1_000)]
    first, second = (Image.fromarray(page) for page in pages)
    first.save(path, save_all=True, append_images=[second])
    canvas = compose(path, measure(path, page=2))
    assert canvas.picture is not None
    np.testing.assert_allclose(canvas.picture, pages[1] / 255, atol=1e-6)


def test_the_overlay_of_a_drawn_page_has_no_picture_below(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(document(squares()))
    assert compose(path, measure(path)).picture is None


@pytest.mark.parametrize("turn", TURNED)
def test_a_drawn_page_shows_its_colours_where_its_pins_are_found(turn: int, tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(document(b"0.8 0.2 0 rg " + squares(half=4), b"/Rotate %d" % turn))
    picture = draw_page(path)
    sides = (HIGH, WIDE) if turn in (0, 180) else (WIDE, HIGH)
    assert picture.shape == (*(math.ceil(side * 300 / 72) for side in sides), 3)
    for x, y in pins_mm(path, path.read_bytes()) * 300 / 25.4:
        np.testing.assert_array_equal(picture[round(y), round(x)], (204, 51, 0))
    assert (picture == 255).all(axis=2).mean() > 0.9


def test_the_page_asked_for_is_drawn(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(three_pages())
    dark = [int((draw_page(path, page=page) < 128).all(axis=2).sum()) for page in (1, 2, 3)]
    np.testing.assert_allclose(np.array(dark) / dark[0], (1, 2, 3), rtol=0.02)


def test_notes_stuck_to_a_page_are_not_drawn(tmp_path: Path) -> None:
    """A square that a reader drew on the page (ISO 32000-1:2008, 12.5.6.8)."""
    note = b"/Annots[<</Type/Annot/Subtype/Square/Rect[200 20 280 100]/IC[1 0 0]/C[1 0 0]>>]"
    pages = []
    for page in (b"", note):
        path = tmp_path / "a.pdf"
        path.write_bytes(document(squares(), page))
        pages.append(draw_page(path))
    np.testing.assert_array_equal(*pages)
