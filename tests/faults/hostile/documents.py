"""Documents made to harm, written byte by byte."""

from __future__ import annotations

import random
import zlib

from tests.faults.hostile.made import Made
from tests.pdf_writing import one_page, pdf, stream, swollen

PDF_DOTS = b"".join(
    b"%d %d 3 3 re f\n" % (30 + 20 * (k % 6), 30 + 20 * (k // 6)) for k in range(60)
)
IMAGE = b"/Type/XObject/Subtype/Image/ColorSpace/DeviceGray/BitsPerComponent 8"
FORM = b"/Type/XObject/Subtype/Form/BBox[0 0 300 400]"
WITH_X = b"/Resources<</XObject<</X 5 0 R>>>>"
FILLED = b"300 0 0 400 0 0 cm /X Do"


def pages(count: int) -> bytes:
    kids = b" ".join(b"%d 0 R" % (3 + k) for k in range(count))
    page = b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 300 400]>>"
    return pdf(
        [
            b"<</Type/Catalog/Pages 2 0 R>>",
            b"<</Type/Pages/Kids[%s]/Count %d>>" % (kids, count),
            *[page] * count,
        ]
    )


LOCKED = b"/Encrypt<</Filter/Standard/V 2/R 3/Length 128/P -4/O<%s>/U<%s>>>/ID[<%s><%s>]" % (
    b"11" * 32,
    b"22" * 32,
    b"33" * 16,
    b"33" * 16,
)

PDF: dict[str, Made] = {
    "content that swells to 4 GB": (
        lambda: one_page(swollen(4_000), entries=b"/Filter/FlateDecode"),
        "",
    ),
    "content packed twice": (
        lambda: one_page(
            zlib.compress(swollen(3_000)), entries=b"/Filter[/FlateDecode/FlateDecode]"
        ),
        "",
    ),
    "content packed 30 times": (
        lambda: one_page(b"x", entries=b"/Filter[" + b"/FlateDecode" * 30 + b"]"),
        None,
    ),
    "pages in a circle": (
        lambda: pdf([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[2 0 R]/Count 1>>"]),
        "",
    ),
    "two nodes that hold each other": (
        lambda: pdf(
            [
                b"<</Type/Catalog/Pages 2 0 R>>",
                b"<</Type/Pages/Kids[3 0 R]/Count 9>>",
                b"<</Type/Pages/Parent 2 0 R/Kids[2 0 R]/Count 9>>",
            ]
        ),
        "",
    ),
    "no pages at all": (
        lambda: pdf([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[]/Count 0>>"]),
        "",
    ),
    "a thousand million pages promised": (
        lambda: one_page(PDF_DOTS).replace(b"/Count 1", b"/Count 999999999"),
        None,
    ),
    "5,000 pages": (lambda: pages(5_000), None),
    "no catalogue": (lambda: pdf([b"<<>>"]), "damaged"),
    "a catalogue that is itself": (lambda: pdf([b"1 0 R"]), "damaged"),
    "a table that is elsewhere": (
        lambda: one_page(PDF_DOTS).replace(b"startxref\n", b"startxref\n9"),
        None,
    ),
    "a table before the beginning": (lambda: pdf([b"<</Type/Catalog>>"], at=-5), "damaged"),
    "a table that follows itself": (
        lambda: pdf([b"<</Type/Catalog>>"], trailer=b"/Prev 9"),
        "damaged",
    ),
    "places shifted": (lambda: one_page(PDF_DOTS).replace(b"00000 n", b"00001 n"), None),
    "only a head": (lambda: b"%PDF-1.7\n", "damaged"),
    "a head and noise": (lambda: b"%PDF-1.7\n" + random.Random(1).randbytes(50_000), "damaged"),
    "a page of 1,000 km": (lambda: one_page(PDF_DOTS, box=b"0 0 3e9 3e9"), None),
    "a page without end": (lambda: one_page(PDF_DOTS, box=b"-1e39 -1e39 1e39 1e39"), None),
    "a page of no size": (lambda: one_page(PDF_DOTS, box=b"0 0 0 0"), None),
    "a page inside out": (lambda: one_page(PDF_DOTS, box=b"300 400 0 0"), None),
    "a page of letters": (lambda: one_page(PDF_DOTS, box=b"/a /b (c) null"), None),
    "an endless unit": (lambda: one_page(PDF_DOTS, b"/UserUnit 99999999999"), "larger than"),
    "a unit of nothing": (lambda: one_page(PDF_DOTS, b"/UserUnit 0"), "no size"),
    "a unit that is no number": (lambda: one_page(PDF_DOTS, b"/UserUnit /nan"), None),
    "a page turned by 45°": (lambda: one_page(PDF_DOTS, b"/Rotate 45"), None),
    "locked": (
        lambda: one_page(PDF_DOTS).replace(b"/Root 1 0 R", b"/Root 1 0 R" + LOCKED),
        "password",
    ),
    "a form that draws itself": (
        lambda: one_page(b"/X Do", WITH_X, stream(b"/X Do", FORM + WITH_X)),
        None,
    ),
    "forms 60 deep": (
        lambda: one_page(
            b"/X Do",
            WITH_X,
            *[
                stream(b"/X Do", FORM + b"/Resources<</XObject<</X %d 0 R>>>>" % (6 + k))
                for k in range(60)
            ],
            stream(PDF_DOTS, FORM),
        ),
        None,
    ),
    "forms that multiply": (
        lambda: one_page(
            b"/X Do " * 10,
            WITH_X,
            *[
                stream(b"/X Do " * 10, FORM + b"/Resources<</XObject<</X %d 0 R>>>>" % (6 + k))
                for k in range(8)
            ],
            stream(PDF_DOTS, FORM),
        ),
        None,
    ),
    "states saved a million times": (lambda: one_page(b"q " * 1_000_000 + PDF_DOTS), None),
    "matrices that grow": (lambda: one_page(b"9e9 0 0 9e9 0 0 cm " * 500 + PDF_DOTS), None),
    "places beyond counting": (lambda: one_page(b"1e38 1e38 1e38 1e38 re f " * 99), None),
    "brackets that never close": (lambda: one_page(b"[" * 1_000_000), None),
    "dictionaries within each other": (lambda: one_page(b"<</a " * 100_000), None),
    "500,000 things on a page": (lambda: one_page(b"1 1 2 2 re f\n" * 500_000), ""),
    "a picture of 60,000 squared": (
        lambda: one_page(
            FILLED,
            WITH_X,
            stream(swollen(3_600), IMAGE + b"/Width 60000/Height 60000/Filter/FlateDecode"),
        ),
        "million pixels",
    ),
    "a picture of 13,000 squared without pixels": (
        lambda: one_page(FILLED, WITH_X, stream(b"", IMAGE + b"/Width 13000/Height 13000")),
        None,
    ),
    "a picture of less than none": (
        lambda: one_page(FILLED, WITH_X, stream(b"x", IMAGE + b"/Width -5/Height 2147483647")),
        None,
    ),
    "a fax of 60,000 columns": (
        lambda: one_page(
            FILLED,
            WITH_X,
            stream(
                b"\0" * 999,
                IMAGE.replace(b"8", b"1") + b"/Width 60000/Height 60000/Filter/CCITTFaxDecode"
                b"/DecodeParms<</K -1/Columns 60000/Rows 60000>>",
            ),
        ),
        "million pixels",
    ),
    "noise called JPEG 2000": (
        lambda: one_page(
            FILLED,
            WITH_X,
            stream(
                random.Random(2).randbytes(9_000), IMAGE + b"/Width 900/Height 900/Filter/JPXDecode"
            ),
        ),
        "damaged, or blank",
    ),
    "noise called JBIG2": (
        lambda: one_page(
            FILLED,
            WITH_X,
            stream(
                random.Random(3).randbytes(9_000),
                IMAGE + b"/Width 900/Height 900/Filter/JBIG2Decode",
            ),
        ),
        "damaged, or blank",
    ),
    "a script that runs on opening": (
        lambda: one_page(PDF_DOTS).replace(
            b"/Type/Catalog", b"/Type/Catalog/OpenAction<</S/JavaScript/JS(while\\(1\\);)>>"
        ),
        None,
    ),
    "a program that starts on opening": (
        lambda: one_page(PDF_DOTS).replace(
            b"/Type/Catalog", b"/Type/Catalog/OpenAction<</S/Launch/F(/bin/sh)>>"
        ),
        None,
    ),
    "a pattern painted with itself": (
        lambda: one_page(
            b"/Pattern cs /P scn 0 0 300 400 re f",
            b"/Resources<</Pattern<</P 5 0 R>>>>",
            stream(
                b"/Pattern cs /P scn 0 0 9 9 re f",
                b"/PatternType 1/PaintType 1/TilingType 1/BBox[0 0 9 9]/XStep .001/YStep .001"
                b"/Resources<</Pattern<</P 5 0 R>>>>",
            ),
        ),
        None,
    ),
    "content that is a circle": (
        lambda: one_page(b"").replace(b"/Contents 4 0 R", b"/Contents 5 0 R"),
        None,
    ),
}
