"""From plain page data to HTML: the only module that knows Jinja2.

Everything a record says is escaped; no page holds a script or a style of its own.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from archive.resources import SITE_TEMPLATES
from archive.site import figures
from archive.site.pages import Card

PAGES = SITE_TEMPLATES / "pages"


@dataclass(frozen=True)
class SiteFacts:
    """What every page says: whose collection it is and in which language it is kept."""

    name: str
    holder: str
    language: str
    credit_line: str


class Renderer:
    """Turns page data into the bytes of a page."""

    def __init__(self, site: SiteFacts) -> None:
        self._site = site
        self._cards: dict[tuple[str, str], Markup] = {}

    def render(self, template: str, path: str, **told: Any) -> bytes:
        """The page at `path`; links in it start from there."""
        root = "../" * path.count("/")
        page = _template(template).render(
            site=self._site, root=root, path=path, card_inside=self._card_inside, **told
        )
        return page.encode("utf-8")

    def _card_inside(self, card: Card, root: str) -> Markup:
        """A card without its note: a pattern stands in many lists and is written once."""
        key = (card.path, root)
        if key not in self._cards:
            told = _template("card.html").render(site=self._site, root=root, card=card)
            self._cards[key] = Markup(told)
        return self._cards[key]

    @cached_property
    def fingerprint(self) -> str:
        """Changes with every template and with what every page says."""
        digest = hashlib.sha256(repr(self._site).encode())
        for template in sorted(PAGES.glob("*.html")):
            digest.update(template.name.encode())
            digest.update(template.read_bytes())
        return digest.hexdigest()


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(PAGES, encoding="utf-8"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    environment.globals.update(counted=figures.counted)
    return environment


@cache
def _template(name: str) -> jinja2.Template:
    return _environment().get_template(name)


def asset_files() -> dict[str, Path]:
    """Style sheets, scripts and fonts by their path in the site."""
    return {
        f"{folder}/{asset.name}": asset
        for folder in ("style", "scripts", "fonts")
        for asset in sorted((SITE_TEMPLATES / folder).iterdir())
        if asset.is_file()
    }
