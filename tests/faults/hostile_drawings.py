"""Drawings, documents and pictures made to harm, each by its name: bytes and expected reason.

Where the reason is None the file may also be read honestly. The sizes are such that a reader
that believes them is lost.
"""

from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable, Iterator
from functools import cache

from PIL import Image, ImageDraw

from tests.pdf_writing import one_page, pdf, stream, swollen

Made = tuple[Callable[[], bytes], str | None]

DOTS = "".join(
    f'<circle cx="{20 + 8 * (k % 6)}" cy="{20 + 8 * (k // 6)}" r="1"/>' for k in range(60)
)


def svg(inside: str, attributes: str = 'width="100mm" height="150mm"', before: str = "") -> bytes:
    space = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"{before}<svg {space} {attributes}>{inside}</svg>".encode()


def use_bomb() -> bytes:
    steps = "".join(
        f'<g id="a{k}">' + f'<use href="#a{k - 1}"/>' * 10 + "</g>" for k in range(1, 12)
    )
    return svg(f'<defs><g id="a0">{DOTS}</g>{steps}</defs><use href="#a11"/>')


def laughs() -> bytes:
    entities = '<!ENTITY a0 "ha">' + "".join(
        f'<!ENTITY a{k} "{f"&a{k - 1};" * 10}">' for k in range(1, 12)
    )
    return svg("<text>&a11;</text>", before=f"<!DOCTYPE svg [{entities}]>")


SVG: dict[str, Made] = {
    "canvas of a light year": (lambda: svg(DOTS, 'width="1e18mm" height="1e18mm"'), "larger than"),
    "canvas of 10 km": (lambda: svg(DOTS, 'width="10000000mm" height="1mm"'), "larger than"),
    "canvas of no size": (lambda: svg(DOTS, 'width="0" height="0"'), "no size"),
    "canvas of less than none": (lambda: svg(DOTS, 'width="-5mm" height="9mm"'), "no size"),
    "canvas without end": (lambda: svg(DOTS, 'width="inf" height="inf"'), "not a length"),
    "canvas in letters": (lambda: svg(DOTS, 'width="12em" height="3ex"'), "font"),
    "view of nothing": (lambda: svg(DOTS, 'width="9mm" height="9mm" viewBox="0 0 0 0"'), None),
    "view through a pinhole": (
        lambda: svg(DOTS, 'width="9mm" height="9mm" viewBox="0 0 1e-300 1e-300"'),
        None,
    ),
    "nested 100,000 deep": (lambda: svg("<g>" * 100_000 + "</g>" * 100_000), "deep"),
    "nested and not closed": (lambda: svg("<g>" * 50_000), "deep"),
    "reused ten to the eleventh times": (use_bomb, ""),
    "reusing itself": (lambda: svg('<g id="a"><use href="#a"/></g><use href="#a"/>'), "deep"),
    "two that reuse each other": (
        lambda: svg('<g id="a"><use href="#b"/></g><g id="b"><use xlink:href="#a"/></g>'),
        "deep",
    ),
    "a symbol in itself": (
        lambda: svg('<symbol id="a"><use href="#a"/></symbol><use href="#a"/>'),
        "deep",
    ),
    "a chain of 10,000 reuses": (
        lambda: svg(
            "".join(f'<g id="a{k}"><use href="#a{k + 1}"/></g>' for k in range(10_000))
            + '<use href="#a0"/>'
        ),
        "deep",
    ),
    "entities that multiply": (laughs, "DOCTYPE"),
    "an entity that reads a file": (
        lambda: svg(
            "<text>&x;</text>", before='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
        ),
        "DOCTYPE",
    ),
    "a document type from elsewhere": (
        lambda: svg(DOTS, before='<!DOCTYPE svg SYSTEM "http://127.0.0.1:9/x.dtd">'),
        "DOCTYPE",
    ),
    "a picture from elsewhere": (
        lambda: svg(DOTS + '<image href="http://127.0.0.1:9/x.png" width="9" height="9"/>'),
        None,
    ),
    "parts from elsewhere": (lambda: svg(DOTS + '<use href="file:///etc/x.svg#a"/>'), None),
    "a style from elsewhere": (
        lambda: svg("<style>@import url(http://127.0.0.1:9/x.css);</style>" + DOTS),
        None,
    ),
    "a script": (lambda: svg('<script>while(1);</script><g onload="alert(1)">' + DOTS), "line 1"),
    "a pattern filled with itself": (
        lambda: svg(
            '<pattern id="p" width="1" height="1"><rect width="9" height="9" fill="url(#p)"/>'
            '</pattern><rect width="99" height="99" fill="url(#p)"/>' + DOTS
        ),
        None,
    ),
    "places that are no numbers": (lambda: svg('<circle cx="NaN" cy="1" r="1"/>'), "not a length"),
    "places without end": (lambda: svg('<circle cx="1" cy="-Infinity" r="1"/>'), "not a length"),
    "places beyond counting": (lambda: svg('<circle cx="1e308" cy="1" r="1"/>'), "larger than"),
    "a turn beyond counting": (lambda: svg('<g transform="scale(1e300)"/>'), "larger than"),
    "a hundred great turns": (
        lambda: svg('<g transform="' + "scale(1e8) " * 100 + f'">{DOTS}</g>'),
        None,
    ),
    "a path of NaN": (lambda: svg('<path d="M NaN NaN L 1e999 4 Z"/>'), None),
    "a transform of no kind": (lambda: svg('<g transform="explode(9)"/>'), "not a transform"),
    "70 MB of text": (lambda: svg("<text>" + "x" * 70_000_000 + "</text>"), "larger than 64 MB"),
    "500,000 elements": (lambda: svg("<g/>" * 500_000), "400,000 elements"),
    "60,000 pins in one place": (lambda: svg('<circle cx="9" cy="9" r="1"/>' * 60_000), None),
    "a path of 1,000,000 bends": (
        lambda: svg('<path d="M0 0' + "c1 2 3 4 5 6" * 1_000_000 + '"/>'),
        None,
    ),
    "an attribute of 20 MB": (lambda: svg(f'<g id="{"x" * 20_000_000}"/>{DOTS}'), None),
    "a style sheet of brackets": (lambda: svg(f"<style>{'{' * 200_000}</style>{DOTS}"), None),
    "letters of no known kind": (
        lambda: svg(DOTS, before='<?xml version="1.0" encoding="x-nonsense"?>'),
        "encoding",
    ),
    "letters of sixteen bits, cut off": (lambda: svg(DOTS).decode().encode("utf-16")[:-7], ""),
    "zeros in the text": (lambda: svg("\0" * 9), "line 1"),
    "not closed": (lambda: svg(DOTS)[:-6], "breaks off"),
    "another kind of XML": (lambda: b'<html xmlns="x"><svg/></html>', "no SVG"),
}

# -- documents ----------------------------------------------------------------------------


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

# -- pictures -----------------------------------------------------------------------------


def picture() -> Image.Image:
    """Sixty pins of a ground of 45°, 30 pixels from row to row."""
    drawn = Image.new("L", (420, 500), 250)
    pen = ImageDraw.Draw(drawn)
    for k in range(60):
        row, place = divmod(k, 5)
        x, y = 60 + 60 * place + 30 * (row % 2), 50 + 30 * row
        pen.ellipse((x - 4, y - 4, x + 4, y + 4), fill=20)
    return drawn


@cache
def saved(kind: str, **options: object) -> bytes:
    content = io.BytesIO()
    picture().save(content, kind, **options)
    return content.getvalue()


def png(width: int, height: int, data: bytes, *more: tuple[bytes, bytes]) -> bytes:
    header = struct.pack(">IIBBBBB", width & 0xFFFFFFFF, height & 0xFFFFFFFF, 8, 0, 0, 0, 0)
    chunks = [(b"IHDR", header), *more, (b"IDAT", data), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        for name, body in chunks
    )


def tiff(
    width: int, height: int, *, offset: int = 200, length: int = 4096, following: int = 0
) -> bytes:
    """A picture in one strip; `following` is where the next page is said to be."""
    entries = [
        (256, 4, width),
        (257, 4, height),
        (258, 3, 8),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, offset),
        (277, 3, 1),
        (278, 4, height),
        (279, 4, length),
    ]
    out = b"II*\0\x08\0\0\0" + struct.pack("<H", len(entries))
    out += b"".join(struct.pack("<HHII", tag, kind, 1, value) for tag, kind, value in entries)
    return (out + struct.pack("<I", following)).ljust(200, b"\0") + b"\x80" * 4096


def gif(width: int, height: int, frames: int = 1) -> bytes:
    frame = b"," + struct.pack("<HHHHB", 0, 0, width, height, 0) + b"\x02\x02\x4c\x01\0"
    return (
        b"GIF89a"
        + struct.pack("<HHBBB", width, height, 0x80, 0, 0)
        + bytes(6)
        + frame * frames
        + b";"
    )


def webp(width: int, height: int) -> bytes:
    body = b"VP8X" + struct.pack("<II", 10, 0)
    body += struct.pack("<I", width - 1)[:3] + struct.pack("<I", height - 1)[:3]
    body += saved("WEBP")[12:]
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body


def with_size(content: bytes, at: int, form: str, *sizes: int) -> bytes:
    """Other sizes written over those in a picture's head."""
    packed = struct.pack(form, *sizes)
    return content[:at] + packed + content[at + len(packed) :]


PICTURES: dict[str, Made] = {
    "PNG of 40,000 squared": (lambda: png(40_000, 40_000, swollen(1_600)), "million pixels"),
    "PNG of 16,000 by 10,000, nearly empty": (
        lambda: png(16_000, 10_000, zlib.compress(b"\0" * 99)),
        None,
    ),
    "PNG of 2,147,483,647 squared": (lambda: png(2**31 - 1, 2**31 - 1, b""), ""),
    "PNG of no width": (lambda: png(0, 100, b""), ""),
    "PNG of more pixels than it says": (lambda: png(64, 64, swollen(500)), None),
    "PNG whose text swells": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), (b"zTXt", b"a\0\0" + swollen(500))),
        None,
    ),
    "PNG whose profile swells": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), (b"iCCP", b"a\0\0" + swollen(500))),
        None,
    ),
    "PNG that says half its height": (lambda: with_size(saved("PNG"), 20, ">I", 250), ""),
    "PNG of a thousand parts": (
        lambda: png(64, 64, zlib.compress(bytes(65 * 64)), *[(b"tEXt", b"a\0b")] * 1_000),
        None,
    ),
    "TIFF of 60,000 squared": (lambda: tiff(60_000, 60_000), "million pixels"),
    "TIFF of 4,294,967,295 columns": (lambda: tiff(2**32 - 1, 2**32 - 1), ""),
    "TIFF whose strip is beyond its end": (lambda: tiff(64, 64, offset=2**31), ""),
    "TIFF whose strip is longer than it": (lambda: tiff(12_000, 12_000, length=144_000_000), ""),
    "TIFF whose next page is itself": (lambda: tiff(64, 64, following=8), None),
    "TIFF whose next page is nowhere": (lambda: tiff(64, 64, following=2**31), None),
    "GIF of 65,535 squared": (lambda: gif(65_535, 65_535), "million pixels"),
    "GIF of 12,000 squared, nearly empty": (lambda: gif(12_000, 12_000), None),
    "GIF of 100,000 frames": (lambda: gif(64, 64, frames=100_000), None),
    "GIF of no height": (lambda: gif(64, 0), ""),
    "WebP of 16,777,216 columns": (lambda: webp(1 << 24, 1 << 24), ""),
    "WebP that says another size": (lambda: webp(9_000, 9_000), ""),
    "JPEG of 65,500 squared": (
        lambda: with_size(
            saved("JPEG"), saved("JPEG").find(b"\xff\xc0") + 5, ">HH", 65_500, 65_500
        ),
        "million pixels",
    ),
    "JPEG of 12,000 squared, nearly empty": (
        lambda: with_size(
            saved("JPEG"), saved("JPEG").find(b"\xff\xc0") + 5, ">HH", 12_000, 12_000
        ),
        None,
    ),
    "BMP of 2,000,000,000 columns": (
        lambda: with_size(saved("BMP"), 18, "<ii", 2_000_000_000, 2_000_000_000),
        "",
    ),
    "BMP upside down without end": (lambda: with_size(saved("BMP"), 22, "<i", -(2**31)), ""),
    "PGM of 99,999 squared": (lambda: b"P5 99999 99999 255\n" + bytes(99), "million pixels"),
    "PGM of a size in 5 MB of digits": (lambda: b"P5 " + b"9" * 5_000_000, ""),
    "JPEG 2000 that breaks off": (lambda: saved("JPEG2000")[:200], ""),
    "PostScript": (lambda: b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 99 99\n", "PostScript"),
    "noise": (lambda: random.Random(4).randbytes(100_000), "known kind"),
}


def sound() -> dict[str, bytes]:
    """Files with nothing wrong, one of each kind."""
    return {
        "svg": svg(DOTS),
        "pdf": one_page(PDF_DOTS),
        "scanned pdf": one_page(
            FILLED,
            WITH_X,
            stream(
                zlib.compress(picture().tobytes()),
                IMAGE + b"/Width 420/Height 500/Filter/FlateDecode",
            ),
        ),
        "png": saved("PNG"),
        "jpeg": saved("JPEG"),
        "tiff": saved("TIFF", compression="tiff_lzw"),
        "webp": saved("WEBP"),
        "gif": saved("GIF"),
    }


def cut_off() -> Iterator[tuple[str, bytes]]:
    """Each sound file, broken off after each tenth."""
    for kind, content in sound().items():
        for tenth in range(1, 10):
            yield f"{kind} after {tenth} tenths", content[: len(content) * tenth // 10]


def altered() -> Iterator[tuple[str, bytes]]:
    """Each sound file, with a few bytes changed at random."""
    for kind, content in sound().items():
        for seed in range(12):
            chance = random.Random(f"{kind} {seed}")
            changed = bytearray(content)
            for _ in range(chance.randint(1, 9)):
                changed[chance.randrange(len(changed))] = chance.randrange(256)
            yield f"{kind} altered, seed {seed}", bytes(changed)
