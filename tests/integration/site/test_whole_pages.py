"""What holds for every page of a site."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urldefrag

from tests.integration.site.invented import Shelf, publish
from tests.integration.site.published import files_of, pages_of, target


def test_every_page_is_well_formed_and_every_link_leads_somewhere(
    site: dict[str, bytes],
) -> None:
    read = dict(pages_of(site))
    assert len(read) == 6 + 84 + 25 + 7
    for path, reading in read.items():
        assert len(set(reading.ids)) == len(reading.ids), path
        for link in reading.links:
            if link.startswith(("http://rightsstatements.org/", "https://creativecommons.org/")):
                continue
            found, fragment = target(path, link), urldefrag(link)[1]
            assert found in site, f"{path} leads to {link}"
            if fragment and found.endswith(".html"):
                assert fragment in read[found].ids, f"{path} leads to {link}"


def test_no_page_has_a_script_or_a_style_of_its_own(
    site: dict[str, bytes],
) -> None:
    for path, reading in pages_of(site):
        policies = [told for tag, told in reading.tags if tag == "meta" and "content" in told]
        assert any("default-src 'none'" in str(told["content"]) for told in policies), path
        for tag, told in reading.tags:
            assert tag != "style"
            # A block of data is no script: it is never run.
            assert tag != "script" or told.get("src") or told["type"] == "application/ld+json"
            assert not any(name == "style" or name.startswith("on") for name in told)


def test_every_page_has_a_title_a_language_and_one_main_heading(
    site: dict[str, bytes],
) -> None:
    titles = []
    for path, reading in pages_of(site):
        tags = [tag for tag, _ in reading.tags]
        assert tags.count("h1") == tags.count("main") == tags.count("title") == 1, path
        assert next(told for tag, told in reading.tags if tag == "html")["lang"] == "en"
        text = site[path].decode()
        titles.append(re.findall(r"<title>(.*?)</title>", text)[0])
    assert len(set(titles)) == len(titles)


def test_every_pattern_is_three_clicks_away_without_a_script(
    site: dict[str, bytes],
) -> None:
    pages = {
        path: {target(path, link) for link in reading.links} for path, reading in pages_of(site)
    }
    reached = {"index.html"}
    for _ in range(3):
        reached |= {link for path in reached for link in pages.get(path, ())}
    patterns = {path for path in pages if path.startswith("patterns/")}
    assert len(patterns) == 6
    assert patterns <= reached


def test_an_empty_collection_is_a_site_too(tmp_path: Path) -> None:
    published = publish(Shelf(tmp_path / "shelf"), tmp_path / "site")
    assert published.pages == 84 + 25 + 7
    for _, reading in pages_of(files_of(tmp_path / "site")):
        assert reading.ids
