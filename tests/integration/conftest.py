import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path

import pytest
from filelock import FileLock

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
    """The demo, built once for all tests that only look at it, in whatever process they run."""
    place = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        place = place.parent
    folder, told = place / "demo", place / "demo.told"
    with FileLock(place / "demo.lock"):
        if not told.exists():
            told.write_text(json.dumps(asdict(run("demo", str(folder)))), encoding="utf-8")
    return Demo(folder, Told(**json.loads(told.read_text(encoding="utf-8"))))
