from __future__ import annotations

from archive.site.readme import WIDTH, readme
from tests.integration.site.invented import SETTINGS


def test_the_text_says_whose_it_is_how_to_open_it_and_what_it_holds() -> None:
    told = readme(SETTINGS, 6)
    assert told.startswith("The Dewpond Lacemakers\n\nIn the care of: the Dewpond guild\n")
    assert "6 patterns" in told
    for part in (
        "index.html",
        "records.json",
        "records.csv",
        "techniques.ttl",
        "files.sha256",
        "pictures/",
        "fonts/",
    ):
        assert part in told


def test_the_text_fits_a_plain_terminal() -> None:
    assert max(map(len, readme(SETTINGS, 10_000).splitlines())) <= max(WIDTH, 80)
