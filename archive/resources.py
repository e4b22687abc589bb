"""Where the data files that travel with the code lie: in the checkout or inside the wheel.

Only this module knows; everyone else asks it. It knows nobody.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).parent
_SHIPPED = _PACKAGE / "_shipped"
_ROOT = _SHIPPED if _SHIPPED.is_dir() else _PACKAGE.parent

SCHEMA = _ROOT / "schema"
"""Vocabulary files, the record schema and the migrations."""

SITE_TEMPLATES = _ROOT / "site_templates"
"""Jinja2 templates, style sheets, scripts and fonts of the published site."""

DEMO_COLLECTION = _ROOT / "demo_collection"
"""The demo guild's list, sheets and settings."""
