from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import pytest

from archive.errors import UnreadableFile
from archive.site.vector_sheets import read_drawing

OPEN = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
    'width="50mm" height="100mm" viewBox="0 0 50 100">'
)
ALLOWED = {"svg", "g", "defs", "symbol", "use", "path", "circle", "ellipse", "rect", "line",
           "polyline", "polygon", "text", "tspan"}  # fmt: skip


def _cleaned(folder: Path, inside: str) -> str:
    path = folder / "sheet.svg"
    path.write_text(f"{OPEN}{inside}</svg>", encoding="utf-8")
    return read_drawing(path).whole()


HOSTILE = {
    "a script": "<script>alert(1)</script>",
    "a handler": '<circle r="1" onload="alert(1)" onclick="alert(1)"/>',
    "a page inside": '<foreignObject><body xmlns="http://www.w3.org/1999/xhtml">'
    "<iframe src='http://canary.example/'/></body></foreignObject>",
    "a picture from elsewhere": '<image href="http://canary.example/x.png" width="9" height="9"/>',
    "a use from elsewhere": '<use xlink:href="http://canary.example/x.svg#a"/>',
    "a link": '<a xlink:href="javascript:alert(1)"><circle r="1"/></a>',
    "a style from elsewhere": "<style>@import url(http://canary.example/x.css);</style>",
    "a fill from elsewhere": '<path d="M0 0h1" fill="url(http://canary.example/x#a)"/>',
    "a style value": '<path d="M0 0h1" style="fill:url(http://canary.example/x);stroke:red"/>',
    "a data address": '<image href="data:image/svg+xml;base64,AAAA" width="9" height="9"/>',
    "an animation": '<circle r="1"><set attributeName="href" to="javascript:alert(1)"/></circle>',
    "a comment": "<!-- canary donor -->",
    "a title": "<title>canary donor</title><desc>canary</desc><metadata>canary</metadata>",
    "a layer name": '<g inkscape:label="canary" id="canary"><circle r="1" class="canary"/></g>',
    "a quote in a value": "<path d='M0 0h1\" onload=\"alert(1)'/>",
}


@pytest.mark.parametrize("what", sorted(HOSTILE))
def test_nothing_but_shapes_is_left_of(what: str, tmp_path: Path) -> None:
    told = _cleaned(tmp_path, HOSTILE[what] + '<circle cx="3" cy="4" r="1"/>')
    for never in ("canary", "alert", "javascript", "http:", "import", "data:", "onload"):
        assert never not in told.replace("http://www.w3.org/2000/svg", "")
    root = ElementTree.fromstring(told)
    assert {element.tag.split("}")[1] for element in root.iter()} <= ALLOWED
    assert any(element.get("cx") == "3" for element in root.iter())


def _file(folder: Path, text: str) -> Path:
    path = folder / "sheet.svg"
    path.write_text(text, encoding="utf-8")
    return path


REFUSED = {
    "no xml": "these are not the holes you are looking for",
    "another root": "<html><svg/></html>",
    "cut off": OPEN + "<circle",
    "no size": '<svg xmlns="http://www.w3.org/2000/svg"><circle r="1"/></svg>',
    "entities": '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + OPEN + "&b;</svg>",
    "a file of this computer": '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
    + OPEN + "<text>&a;</text></svg>",
    "too deep": OPEN + "<g>" * 5000 + "</g>" * 5000 + "</svg>",
    "parts that use themselves": OPEN + '<g id="a"><use href="#a"/></g></svg>',
    "uses of uses": OPEN
    + '<defs><circle id="u0" r="1"/>'
    + "".join(
        f'<g id="u{n}">' + f'<use href="#u{n - 1}"/>' * 10 + "</g>" for n in range(1, 8)
    )
    + '</defs><use href="#u7"/></svg>',
    "an endless width": '<svg xmlns="http://www.w3.org/2000/svg" width="1e999" height="9"/>',
}  # fmt: skip


@pytest.mark.parametrize("what", sorted(REFUSED))
def test_a_drawing_is_refused_with_a_sentence_for(what: str, tmp_path: Path) -> None:
    with pytest.raises(UnreadableFile) as refusal:
        read_drawing(_file(tmp_path, REFUSED[what]))
    assert refusal.value.problem.endswith(".")


def test_colours_of_a_style_sheet_are_kept_without_the_style_sheet(tmp_path: Path) -> None:
    told = _cleaned(
        tmp_path,
        "<style>.gimp{fill:none;stroke:#111;stroke-width:.4px} path { opacity: .5 }</style>"
        '<path class="gimp" d="M0 0h9"/>',
    )
    path = next(e for e in ElementTree.fromstring(told).iter() if e.tag.endswith("path"))
    assert (path.get("fill"), path.get("stroke"), path.get("opacity")) == ("none", "#111", ".5")


def test_reused_parts_stay_joined_under_new_ids(tmp_path: Path) -> None:
    told = _cleaned(
        tmp_path, '<defs><circle id="hole" r=".3"/></defs><use xlink:href="#hole" x="4" y="5"/>'
    )
    root = ElementTree.fromstring(told)
    use = next(e for e in root.iter() if e.tag.endswith("use"))
    circle = next(e for e in root.iter() if e.tag.endswith("circle"))
    assert use.get("href") == f"#{circle.get('id')}"
    assert "hole" not in told


def test_the_size_is_in_pixels_at_96_to_the_inch(tmp_path: Path) -> None:
    # Source: CSS Values and Units Level 3: 1in = 2.54cm = 96px.
    drawing = read_drawing(_file(tmp_path, OPEN + "</svg>"))
    assert drawing.width == pytest.approx(50 * 96 / 25.4)
    assert drawing.height == pytest.approx(100 * 96 / 25.4)


def test_a_part_shows_its_window_of_the_drawing(tmp_path: Path) -> None:
    drawing = read_drawing(_file(tmp_path, OPEN + '<circle r="1"/></svg>'))
    px = 96 / 25.4
    root = ElementTree.fromstring(drawing.part((10 * px, 20 * px, 30 * px, 35 * px)))
    assert [float(one) for one in root.get("viewBox", "").split()] == pytest.approx(
        [10, 20, 20, 15], rel=1e-4
    )


def test_the_same_drawing_is_rewritten_to_the_same_bytes(tmp_path: Path) -> None:
    path = _file(tmp_path, OPEN + '<g fill="red" stroke="blue" id="b"><use href="#b2"/></g></svg>')
    assert read_drawing(path).whole() == read_drawing(path).whole()
