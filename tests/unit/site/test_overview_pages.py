from __future__ import annotations

from pathlib import Path

from archive.records import Entry
from archive.site.links import technique_path
from archive.site.overview_pages import about_page
from tests.integration.site.invented import collected, small_shelf

PHONE_PX = 328
"""What a telephone of 360 pixels leaves between the margins of a page."""
LETTERS_PX = 14
LEAST_LETTERS_PX = 12


def test_letters_in_a_chart_can_be_read_on_a_telephone() -> None:
    """However many bars it has: a chart grows downwards, and is not made small to fit."""
    entries = [
        Entry.model_validate(
            {"shelfmark": str(pairs), "pairs": {"stated": {"start": pairs}}, "techniques": [
                {"technique": "picot"}]}
        )
        for pairs in (2, 7, 12, 17, 25, 35, 50, 80, 200)
    ]  # fmt: skip
    charts = about_page(collected(entries), "").charts
    assert [len(chart.bars) for chart in charts] == [9, 1]
    for chart in charts:
        assert LETTERS_PX * PHONE_PX / chart.width >= LEAST_LETTERS_PX


def test_a_chart_counts_a_technique_as_its_own_page_does(tmp_path: Path) -> None:
    """That is with the narrower ones: a honeycomb ring is honeycomb."""
    shelf = collected(small_shelf(tmp_path).entries)
    (chart,) = (one for one in about_page(shelf, "").charts if one.unit == "technique")
    told = {bar.href: bar.patterns for bar in chart.bars}
    assert told[technique_path("honeycomb_ground")] == 2
    assert all(
        told.get(technique_path(technique), len(places)) == len(places)
        for technique, places in shelf.by_technique.items()
    )
    assert [bar.patterns for bar in chart.bars] == sorted(told.values(), reverse=True)
