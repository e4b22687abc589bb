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

from archive.resources import SITE_TEMPLATES
from archive.site import figures

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

    def render(self, template: str, path: str, **told: Any) -> bytes:
        """The page at `path`; links in it start from there."""
        root = "../" * path.count("/")
        page = _template(template).render(site=self._site, root=root, path=path, **told)
        return page.encode("utf-8")

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
