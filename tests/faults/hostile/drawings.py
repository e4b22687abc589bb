"""Drawings made to harm; their sizes are such that a reader that believes them is lost."""

from __future__ import annotations

from tests.faults.hostile.made import Made

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
