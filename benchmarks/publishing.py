"""How long a site of 10,000 patterns takes: whole, with nothing changed, with one record changed.

Run it with `python -m benchmarks.publishing [PATTERNS]`. Where Hugo is installed, it builds the
same pages in the same run (`benchmarks/hugo_site.py`), and the ratios to it are printed; a figure
of ours counts only beside the peer's. Ours is measured twice: the building alone, with the
records in memory and what comes next after each pattern told, as Hugo is told it; and the whole
command `prickings publish`, which starts Python, reads the catalogue and finds what comes next.
Wall seconds are at the mercy of what else the machine does; seconds of computing, of all cores
and processes together, are less so. Memory is that of all processes together.
"""

from __future__ import annotations

import contextlib
import html
import json
import multiprocessing
import os
import pickle
import random
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from archive.records import Entry, Pattern, Written
from archive.records.settings import CollectionSettings
from archive.site import ComesNext, Published, publish_site
from archive.store import create_collection, open_collection
from archive.vocabulary import kinds, techniques
from archive.workflows.resting import collector_resting
from benchmarks.hugo_site import write_hugo_site
from benchmarks.told import Told

WORDS = [
    "willow", "wicket", "dewpond", "lantern", "latch", "heron", "harrow", "barley", "orchard",
    "stile", "meadow", "thatch", "gable", "spindle", "reed", "sedge", "clover", "hazel", "bramble",
]  # fmt: skip
T = TypeVar("T")
SETTINGS = CollectionSettings(name="An Invented Guild", holder="its members")
CATALOGUE = Path("catalogue.db")


def invented(count: int) -> list[Entry]:
    """Patterns with about eighty words each, the same in every run."""
    chance = random.Random(1)
    known = [technique.id for technique in techniques()]
    made = [kind.id for kind in kinds()]
    return [
        Entry.model_validate(
            {
                "shelfmark": f"B {number}",
                "title": " ".join(chance.sample(WORDS, 2)).title(),
                "families": [chance.choice(["torchon", "bucks", "cluny"])],
                "kind": chance.choice(made),
                "techniques": [
                    {"technique": one, "role": chance.choice(["taught", "practised"])}
                    for one in chance.sample(known, 5)
                ],
                "pairs": {"stated": {"start": chance.randint(6, 60)}},
                "difficulty": {"level": chance.randint(1, 5)},
                "size": {"width_mm": chance.randint(10, 60)},
                "working_notes": [
                    {"text": " ".join(chance.choices(WORDS, k=20))} for _ in range(3)
                ],
            }
        )
        for number in range(count)
    ]


def written(entry: Entry) -> Written:
    """A pattern as a catalogue would hold it."""
    record = Pattern.model_dump_json(entry, exclude_defaults=True)
    return Written(entry.shelfmark, record, (), None, CATALOGUE)


def build(folder: Path, records: Sequence[Written], told: Told) -> Published:
    """Publish the patterns into `folder/site`."""

    def never(*_: object, **__: object) -> Any:
        raise AssertionError("there are no pictures")

    return publish_site(
        folder / "site",
        records,
        SETTINGS,
        path_of=never,
        measurement_of=never,
        draw_page=never,
        cache=folder / "cache",
        comes_next=ComesNext("as told", lambda _: told),
    )


class Took(NamedTuple):
    """Seconds on the clock, seconds of computing, and megabytes of memory at most."""

    wall_s: float
    cpu_s: float
    memory_mb: float


class Watch(threading.Thread):
    """Looks ten times a second how much memory a process and those it started hold together."""

    def __init__(self, pid: int) -> None:
        super().__init__(daemon=True)
        self.most_mb = 0.0
        self._pid = pid
        self._done = threading.Event()
        self.start()

    def run(self) -> None:
        """Look until it is told to end."""
        done = False
        while not done:
            done = self._done.wait(0.1)
            self.most_mb = max(self.most_mb, sum(map(_held_mb, _with_children(self._pid))))

    def end(self) -> float:
        """The most it has seen, in megabytes."""
        self._done.set()
        self.join()
        return self.most_mb


def _with_children(pid: int) -> Iterator[int]:
    yield pid
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):  # it has ended
            if int(stat.read_text().rpartition(")")[2].split()[1]) == pid:
                yield int(stat.parent.name)


def _held_mb(pid: int) -> float:
    """What a process holds; of what it shares with others, such as libraries, its part."""
    with contextlib.suppress(OSError):
        told = Path(f"/proc/{pid}/smaps_rollup").read_text().split()
        return int(told[told.index("Pss:") + 1]) / 1024
    return 0.0


def timed(work: Callable[[], object]) -> Took:
    """What `work` takes in this process, which is also charged for the memory it held before."""
    watch = Watch(os.getpid())
    wall, cpu = time.perf_counter(), sum(os.times()[:4])
    work()
    return Took(time.perf_counter() - wall, sum(os.times()[:4]) - cpu, watch.end())


def run(command: Sequence[str | Path], folder: Path) -> Took:
    """What a command takes that runs in `folder`."""
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    watch = Watch(process.pid)
    _, status, used = os.wait4(process.pid, 0)
    wall_s = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, list(map(str, command)))
    return Took(wall_s, used.ru_utime + used.ru_stime, watch.end())


def time_hugo(hugo: str, folder: Path) -> dict[str, Took]:
    """The same three builds by Hugo."""
    took = {what: run([hugo, "--quiet"], folder) for what in ("whole", "nothing changed")}
    changed = folder / "content" / "patterns" / "b-7.md"
    told = json.loads(changed.read_text(encoding="utf-8"))
    changed.write_text(json.dumps(told | {"period": "about 1900"}), encoding="utf-8")
    return took | {"one record changed": run([hugo, "--quiet"], folder)}


_CHANGES: tuple[tuple[str, dict[str, object]], ...] = (
    ("one record changed", {"period": "about 1900"}),
    ("  its title too", {"title": "Another Edge"}),
    ("  its techniques too", {"techniques": [{"technique": "gimp"}]}),
)


def _changed(entry: Entry, update: dict[str, object]) -> Entry:
    return Entry.model_validate(entry.model_dump() | update)


def compare_pages(ours: Path, theirs: Path) -> str:
    """How far pages of patterns say the same; Hugo's page of the changed record is left out."""
    pages = [page for page in sorted(theirs.glob("b-*.html"))[::20] if page.name != "b-7.html"]
    same = sum(_words(page) == _words(ours / page.name) for page in pages)
    sizes = [
        sum((folder / page.name).stat().st_size for page in pages) / max(1, len(pages))
        for folder in (ours, theirs)
    ]
    return (
        f"{same} of {len(pages)} pages of patterns that were compared say the same, word for word; "
        f"ours have {sizes[0]:.0f} bytes and Hugo's {sizes[1]:.0f}."
    )


def _words(page: Path) -> list[str]:
    text = re.sub("(?s)<script.*?</script>", " ", page.read_text(encoding="utf-8"))
    return html.unescape(re.sub("<[^>]*>", " ", text)).split()


def time_building(folder: Path) -> tuple[dict[str, Took], str]:
    """Our builds by themselves, the records being in memory, and how like Hugo's they are."""
    records, told = pickle.loads((folder / "records").read_bytes())
    changed = records[7].read()
    with collector_resting():
        took = {
            what: timed(lambda: build(folder, records, told))
            for what in ("whole", "nothing changed")
        }
        alike = compare_pages(folder / "site/patterns", folder / "hugo/public/patterns")
        for what, update in _CHANGES:
            changed = _changed(changed, update)
            records[7] = written(changed)
            took[what] = timed(lambda: build(folder, records, told))
    return took, alike


def save(folder: Path, entries: Sequence[Entry]) -> None:
    """Add the patterns to the collection in `folder`, or change them there."""
    told = [entry.model_dump(include=set(Pattern.model_fields)) for entry in entries]
    with open_collection(folder) as collection, collection.writing() as writer:
        writer.save(map(Pattern.model_validate, told), how="imported")


def time_command(folder: Path) -> dict[str, Took]:
    """The command `prickings publish` on a stored collection."""
    command = [Path(sys.executable).with_name("prickings"), "publish", "--into", "../published"]
    took = {what: run(command, folder) for what in ("whole", "nothing changed")}
    entry = invented(8)[7]
    for what, update in _CHANGES:
        entry = _changed(entry, update)
        save(folder, [entry])
        took[what] = run(command, folder)
    return took


def prepare(folder: Path, count: int) -> None:
    """The same patterns as a collection of ours and as what Hugo reads."""
    create_collection(folder / "collection", SETTINGS)
    entries = invented(count)
    save(folder / "collection", entries)
    write_hugo_site(folder / "hugo", entries, SETTINGS.name)
    (folder / "records").write_bytes(pickle.dumps((list(map(written, entries)), Told(entries))))


def apart(work: Callable[..., T], *args: object) -> T:
    """What `work` returns, having run in a process of its own.

    This process must stay small, since the system charges a command for the memory of the
    process that starts it.
    """
    context = multiprocessing.get_context("spawn")
    with context.Pool(1) as pool:
        return pool.apply(work, args)


def print_table(title: str, ours: dict[str, Took], theirs: dict[str, Took]) -> None:
    """What ours took, beside Hugo's."""
    print(f"\n{title:24} wall s   cpu s     MB", end="")
    print("    Hugo: wall s   cpu s     MB    ratios: wall   cpu    MB" if theirs else "")
    for what, took in ours.items():
        print(f"{what:24} {took.wall_s:6.2f}  {took.cpu_s:6.2f}  {took.memory_mb:5.0f}", end="")
        beside = theirs.get(what, theirs.get("one record changed"))
        if beside:
            wall, cpu, memory = (own / other for own, other in zip(took, beside, strict=True))
            print(
                f"          {beside.wall_s:6.2f}  {beside.cpu_s:6.2f}  {beside.memory_mb:5.0f}",
                end="",
            )
            print(f"            {wall:5.2f} {cpu:5.2f} {memory:5.2f}", end="")
        print()


def main() -> None:
    """Print the tables."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    hugo = shutil.which("hugo")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        apart(prepare, folder, count)
        command = time_command(folder / "collection")
        theirs = time_hugo(hugo, folder / "hugo") if hugo else {}
        building, alike = apart(time_building, folder)
    print(f"{count} patterns without pictures")
    print_table("the building alone", building, theirs)
    print_table("prickings publish", command, theirs)
    if hugo:
        print(f"\n{alike}")
    else:
        print("Hugo is not installed, so there is nothing to compare with.")


if __name__ == "__main__":
    main()
