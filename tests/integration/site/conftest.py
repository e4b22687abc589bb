"""A small invented shelf, and the site that is published from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.integration.site.invented import Shelf, publish, small_shelf
from tests.integration.site.published import files_of


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return small_shelf(tmp_path / "shelf")


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Every file of a published site, by its path."""
    folder = tmp_path_factory.mktemp("site")
    publish(small_shelf(folder / "shelf"), folder / "site")
    return files_of(folder / "site")
