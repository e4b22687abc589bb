from __future__ import annotations

from pathlib import Path

import pytest

from archive.site.assets import SEARCH, SEARCH_ROOMS, STYLE, STYLE_ROOMS, assets


@pytest.mark.parametrize(
    ("path", "folder", "rooms"),
    [("scripts/search.js", SEARCH, SEARCH_ROOMS), ("style/site.css", STYLE, STYLE_ROOMS)],
)
def test_what_is_joined_holds_every_room_once(
    path: str, folder: Path, rooms: tuple[str, ...]
) -> None:
    joined = assets()[path]().decode()
    assert sorted(room.stem for room in folder.iterdir()) == sorted(rooms)
    for room in folder.iterdir():
        assert joined.count(room.read_text(encoding="utf-8")) == 1


def test_the_search_script_is_strict_before_its_first_statement() -> None:
    script = assets()["scripts/search.js"]().decode()
    assert script.count('"use strict"') == 1
    assert script.split("*/")[1].lstrip().startswith('"use strict";')
