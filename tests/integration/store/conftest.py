from collections.abc import Iterator
from pathlib import Path

import pytest

from archive.records.settings import CollectionSettings
from archive.store import Collection, create_collection, open_collection


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with an empty collection."""
    folder = tmp_path / "guild"
    create_collection(folder, CollectionSettings(name="Guild"))
    return folder


@pytest.fixture
def guild(folder: Path) -> Iterator[Collection]:
    """The collection in `folder`, opened."""
    with open_collection(folder) as opened:
        yield opened
