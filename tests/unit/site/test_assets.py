from __future__ import annotations

from archive.site.assets import SEARCH, SEARCH_ROOMS, assets


def test_the_search_script_holds_every_room_once() -> None:
    script = assets()["scripts/search.js"]().decode()
    assert sorted(f"{room}.js" for room in SEARCH_ROOMS) == sorted(
        room.name for room in SEARCH.iterdir()
    )
    for room in SEARCH.iterdir():
        assert script.count(room.read_text(encoding="utf-8")) == 1


def test_the_search_script_is_strict_before_its_first_statement() -> None:
    script = assets()["scripts/search.js"]().decode()
    assert script.count('"use strict"') == 1
    assert script.split("*/")[1].lstrip().startswith('"use strict";')
