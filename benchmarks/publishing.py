"""How long a site of 10,000 patterns takes: whole, with nothing changed, with one record changed.

Run it with `python benchmarks/publishing.py [PATTERNS]`. Where Hugo is installed, it builds as
many pages with the same words in the same run, and the ratio to it is printed; a figure of
ours counts only beside the peer's.
"""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from archive.records import Entry
from archive.records.settings import CollectionSettings
from archive.site import Published, publish_site
from archive.vocabulary import kinds, techniques

WORDS = [
    "willow", "wicket", "dewpond", "lantern", "latch", "heron", "harrow", "barley", "orchard",
    "stile", "meadow", "thatch", "gable", "spindle", "reed", "sedge", "clover", "hazel", "bramble",
]  # fmt: skip
SETTINGS = CollectionSettings(name="An Invented Guild", holder="its members")


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


def build(folder: Path, entries: list[Entry]) -> Published:
    """Publish the patterns into `folder/site`."""

    def never(_: object) -> Path:
        raise AssertionError("there are no pictures")

    return publish_site(
        folder / "site",
        entries,
        SETTINGS,
        path_of=never,
        measurement_of=lambda _: None,
        cache=folder / "cache",
    )


def timed(work: Callable[[], object]) -> float:
    """The wall seconds that `work` takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def hugo_site(folder: Path, entries: list[Entry]) -> None:
    """The same words as a site of Hugo's, with one list page for every technique."""
    folder.mkdir()
    (folder / "hugo.toml").write_text(
        'baseURL = "/"\ntitle = "An Invented Guild"\n[taxonomies]\ntechnique = "techniques"\n',
        encoding="utf-8",
    )
    layouts = folder / "layouts" / "_default"
    layouts.mkdir(parents=True)
    shell = "<!doctype html><html lang=en><title>{{ .Title }}</title><h1>{{ .Title }}</h1>%s</html>"
    (layouts / "single.html").write_text(
        shell % "<p>{{ .Params.pairs }}</p>{{ range .Params.techniques }}<a href='/techniques/"
        "{{ . }}/'>{{ . }}</a>{{ end }}{{ .Content }}",
        encoding="utf-8",
    )
    listing = "{{ range .Pages }}<a href='{{ .RelPermalink }}'>{{ .Title }}</a>{{ end }}"
    (layouts / "list.html").write_text(shell % listing, encoding="utf-8")
    content = folder / "content" / "patterns"
    content.mkdir(parents=True)
    for number, entry in enumerate(entries):
        used = ", ".join(f'"{one}"' for one in entry.technique_ids)
        notes = "\n\n".join(note.text for note in entry.working_notes)
        (content / f"b-{number}.md").write_text(
            f'+++\ntitle = "{entry.title}"\npairs = {entry.pairs.best}\n'
            f"techniques = [{used}]\n+++\n{notes}\n",
            encoding="utf-8",
        )


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    entries = invented(count)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours = {"whole": timed(lambda: build(folder, entries))}
        ours["nothing changed"] = timed(lambda: build(folder, entries))
        entries[7] = entries[7].model_copy(update={"period": "about 1900"})
        ours["one record changed"] = timed(lambda: build(folder, entries))
        theirs: dict[str, float] = {}
        hugo = shutil.which("hugo")
        if hugo:
            hugo_site(folder / "hugo", entries)

            def run() -> None:
                subprocess.run([hugo, "--quiet"], cwd=folder / "hugo", check=True)

            theirs = {"whole": timed(run), "nothing changed": timed(run)}
            changed = folder / "hugo" / "content" / "patterns" / "b-7.md"
            changed.write_text(changed.read_text(encoding="utf-8") + "\nnew\n", encoding="utf-8")
            theirs["one record changed"] = timed(run)
    print(f"{count} patterns, wall seconds")
    for what, seconds in ours.items():
        beside = f"   Hugo {theirs[what]:6.2f}   ratio {seconds / theirs[what]:.2f}" if hugo else ""
        print(f"{what:20} {seconds:6.2f}{beside}")
    if not hugo:
        print("Hugo is not installed, so there is nothing to compare with.")


if __name__ == "__main__":
    main()
