"""Originals made to harm, on their way to the published site: refused, or shown without harm.

The process that opens them may fall; the one that publishes must not, and all other patterns
must be published as ever.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from archive.apart import Apart
from archive.errors import UnreadableFile
from archive.geometry import draw_page
from archive.limits import Limits
from archive.site import derivatives
from archive.site.derivatives import Cut
from archive.site.images import Derived
from tests.faults.hostile.sheets import HOSTILE, altered, cut_off, sound
from tests.integration.site.invented import OPEN_RIGHTS, Shelf, publish, scan_strip

CUT = Cut((0.2, 0.2, 0.7, 0.6), 3.0, marks=True)
DAMAGED = dict(cut_off()) | dict(altered())


@pytest.fixture(scope="module")
def room() -> Iterator[Apart]:
    with Apart(advice="Save it anew.", limits=Limits(cpu_s=4)) as room:
        yield room


def derive_or_refuse(room: Apart, path: Path, kind: str) -> tuple[Derived, Derived] | None:
    """The pictures made of a file; None where it is refused, which must be for a reason."""
    try:
        if kind == "SVG":
            return room.read(derivatives.of_drawing, path, CUT)
        if kind == "PDF":
            return room.read(derivatives.of_page, path, CUT, page=1, draw=draw_page)
        return room.read(derivatives.of_picture, path, CUT, page=1)
    except UnreadableFile as error:
        refusal = error
    assert refusal.reason
    assert "\n" not in refusal.reason
    return None


@pytest.mark.parametrize("case", HOSTILE, ids=": ".join)
def test_a_hostile_original_is_refused_or_shown(
    case: tuple[str, str], room: Apart, tmp_path: Path
) -> None:
    path = tmp_path / "sheet"
    make, _ = HOSTILE[case]
    path.write_bytes(make())
    for one in derive_or_refuse(room, path, case[0]) or ():
        assert one.width > 0
        assert one.height > 0
        assert one.data


@pytest.mark.parametrize("kind", ["SVG", "PDF", "picture"])
def test_a_damaged_original_is_refused_or_shown(kind: str, room: Apart, tmp_path: Path) -> None:
    """Each is tried as every kind, as if what is known of its kind were wrong."""
    path = tmp_path / "sheet"
    for content in DAMAGED.values():
        path.write_bytes(content)
        derive_or_refuse(room, path, kind)


def test_the_files_they_were_made_from_are_shown(room: Apart, tmp_path: Path) -> None:
    path = tmp_path / "sheet"
    for name, content in sound().items():
        path.write_bytes(content)
        kind = {"svg": "SVG", "pdf": "PDF", "scanned pdf": "PDF"}.get(name, "picture")
        assert derive_or_refuse(room, path, kind) is not None, name


def test_one_hostile_original_keeps_no_other_from_being_published(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path / "shelf")
    shelf.folder.mkdir()
    for number, name in enumerate(("PNG", "PDF")):
        bad = shelf.folder / f"bad.{name.lower()}"
        bad.write_bytes({"PNG": b"\x89PNG\r\n\x1a\n" + bytes(99), "PDF": b"%PDF-1.7\n" * 9}[name])
        shelf.add(f"X {number}", bad, rights=OPEN_RIGHTS)
    shelf.add("Y 1", scan_strip(shelf.folder / "sound.png"), rights=OPEN_RIGHTS)
    published = publish(shelf, tmp_path / "site")
    assert [(one.code, one.shelfmark) for one in published.withheld] == [
        ("picture-unreadable", "X 0"),
        ("picture-unreadable", "X 1"),
    ]
    assert published.pictures == 1
    page = (tmp_path / "site" / "patterns" / "x-0.html").read_text(encoding="utf-8")
    assert "could not be read" in page
    assert "pictures/y-1-1.webp" in (tmp_path / "site" / "patterns" / "y-1.html").read_text(
        encoding="utf-8"
    )
