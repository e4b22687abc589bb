from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.cli.running import Told, run


@dataclass(frozen=True)
class Demo:
    """The demo as `prickings demo` builds it, and what the command told of it."""

    folder: Path
    told: Told

    @property
    def collection(self) -> Path:
        """The guild's collection."""
        return self.folder / "collection"

    def ask(self, *arguments: str) -> Told:
        """Call a command on the collection."""
        return run("--collection", str(self.collection), *arguments)

    def find(self, *arguments: str) -> set[str]:
        """The shelfmarks that `prickings find` gives."""
        told = self.ask("find", *arguments, "--json")
        assert (told.code, told.err) == (0, "")
        found = {hit["shelfmark"] for hit in told.json["hits"]}
        assert told.json["total"] == len(told.json["hits"]) == len(found)
        return found


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The demo, built once for all tests that only look at it."""
    folder = tmp_path_factory.mktemp("demo")
    return Demo(folder, run("demo", str(folder)))
