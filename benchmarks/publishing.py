"""How long a site of 10,000 patterns takes: whole, with nothing changed, with one record changed.

Run it with `python -m benchmarks.publishing [PATTERNS]`. Where Hugo is installed, it builds as
many pages with the same words in the same run, and the ratios to it are printed; a figure of
ours counts only beside the peer's. Ours is measured twice: the building alone, with the records
in memory, and the whole command `prickings publish`, which starts Python, reads the catalogue
and finds what comes next after each pattern. Wall seconds are at the mercy of what else the
machine does; seconds of computing, of all cores together, are less so.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from archive.records import Entry, Pattern, Written
from archive.records.settings import CollectionSettings
from archive.site import Published, publish_site
from archive.store import create_collection, open_collection
from archive.vocabulary import kinds, techniques
from archive.workflows.resting import collector_resting

WORDS = [
    "willow", "wicket", "dewpond", "lantern", "latch", "heron", "harrow", "barley", "orchard",
    "stile", "meadow", "thatch", "gable", "spindle", "reed", "sedge", "clover", "hazel", "bramble",
]  # fmt: skip
T = TypeVar("T")
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


def written(entry: Entry) -> Written:
    """A pattern as a catalogue would hold it."""
    record = Pattern.model_dump_json(entry, exclude_defaults=True)
    return Written(entry.shelfmark, record, (), None, Path("catalogue.db"))


def build(folder: Path, records: list[Written]) -> Published:
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
    )


class Took(NamedTuple):
    """Seconds on the clock, seconds of computing, and megabytes of memory at most."""

    wall_s: float
    cpu_s: float
    memory_mb: float


def timed(work: Callable[[], object]) -> Took:
    """What `work` takes in this process, which is also charged for the memory it held before."""
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return Took(time.perf_counter() - wall, time.process_time() - cpu, memory_mb)


def run(command: Sequence[str | Path], folder: Path) -> Took:
    """What a command takes that runs in `folder`."""
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, list(map(str, command)))
    wall_s = time.perf_counter() - start
    return Took(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


_BASE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{{ .Title }} – {{ .Site.Title }}</title><link rel="stylesheet" href="/style/site.css">
</head><body><a class="skip" href="#main">Skip to the content</a>
<header><p>{{ .Site.Title }}</p><nav><ul>
<li><a href="/">Search</a></li><li><a href="/techniques/">Techniques</a></li>
<li><a href="/families/">Families</a></li><li><a href="/levels/">Difficulty</a></li>
<li><a href="/patterns/">Shelf list</a></li></ul></nav></header>
<main id="main">{{ block "main" . }}{{ end }}</main>
<footer><p>{{ .Site.Title }}. Rights differ from pattern to pattern.</p></footer></body></html>
"""
_CARD = """<li><a href="{{ .RelPermalink }}"><img src="/pictures/no-net.svg" width="480"
height="360" alt=""><h3>{{ .Title }}</h3></a><p>{{ .Params.mark }}</p>
<p>{{ delimit .Params.families ", " }}, {{ .Params.kind }}</p>
<p>{{ .Params.pairs }} pairs, {{ .Params.width }} mm</p>
<p>level {{ delimit .Params.levels "" }}</p></li>
"""
_SINGLE = """{{ define "main" }}<article><header><p>{{ .Params.mark }}</p><h1>{{ .Title }}</h1>
<p>{{ range .Params.families }}<a href="/families/{{ . }}/">{{ . }}</a> {{ end }}
{{ .Params.kind }}</p><p>level {{ delimit .Params.levels "" }}</p></header>
<section><h2>What you need</h2><dl><dt>Pairs</dt><dd>{{ .Params.pairs }} pairs</dd><dt>Thread</dt>
<dd>not known</dd><dt>Width</dt><dd>{{ .Params.width }} mm</dd></dl></section>
<section><h2>Techniques</h2><ul>{{ range .Params.techniques }}
<li><a href="/techniques/{{ . }}/">{{ . }}</a></li>{{ end }}</ul></section>
<section><h2>Working notes</h2>{{ .Content }}</section>
<section><h2>Where it comes from</h2><dl><dt>Designer</dt><dd>not known</dd></dl></section>
<section><h2>May it be copied?</h2><p>Nobody has looked into this yet.</p>
<p>{{ .Title }}. {{ .Site.Title }}, shelfmark {{ .Params.mark }}.</p></section>
<nav>{{ with .PrevInSection }}<a href="{{ .RelPermalink }}">{{ .Title }}</a>{{ end }}
{{ with .NextInSection }}<a href="{{ .RelPermalink }}">{{ .Title }}</a>{{ end }}</nav></article>
{{ end }}
"""
_LIST = """{{ define "main" }}<h1>{{ .Title }}</h1>{{ $pages := .Pages.ByParam "pairs" }}
<ul>{{ range first 48 $pages }}{{ partialCached "card.html" . .RelPermalink }}{{ end }}</ul>
<ul>{{ range after 48 $pages }}<li><a href="{{ .RelPermalink }}">{{ .Title }}</a>
{{ .Params.mark }} {{ .Params.pairs }} pairs</li>{{ end }}</ul>{{ end }}
"""
_SHELF = """{{ define "main" }}<h1>Shelf list</h1><table>{{ range .Pages }}
<tr><td>{{ .Params.mark }}</td><th><a href="{{ .RelPermalink }}">{{ .Title }}</a></th>
<td>{{ delimit .Params.families ", " }}</td><td>{{ .Params.kind }}</td>
<td>{{ .Params.pairs }} pairs</td><td>level {{ delimit .Params.levels "" }}</td></tr>{{ end }}
</table>{{ end }}
"""
_HOME = """{{ define "main" }}<h1>Find a pattern</h1>{{ range .Site.Taxonomies }}<ul>
{{ range .ByCount }}<li><a href="{{ .Page.RelPermalink }}">{{ .Page.Title }}</a> {{ .Count }}</li>
{{ end }}</ul>{{ end }}{{ end }}
"""
_TERMS = """{{ define "main" }}<h1>{{ .Title }}</h1><ul>{{ range .Data.Terms.ByCount }}
<li><a href="{{ .Page.RelPermalink }}">{{ .Page.Title }}</a> {{ .Count }}</li>
{{ end }}</ul>{{ end }}
"""
_SETTINGS = """baseURL = "/"
title = "An Invented Guild"
disableKinds = ["RSS", "sitemap"]
[taxonomies]
technique = "techniques"
family = "families"
level = "levels"
"""


def hugo_site(folder: Path, entries: list[Entry]) -> None:
    """The same words as a site of Hugo's: pages of patterns, techniques, families, levels, a list.

    Without what ours has besides: patterns like each other, the index of words, public data,
    ladder and charts.
    """
    folder.mkdir()
    (folder / "hugo.toml").write_text(_SETTINGS, encoding="utf-8")
    for name, template in (
        ("_default/baseof.html", _BASE),
        ("_default/single.html", _SINGLE),
        ("index.html", _HOME),
        ("_default/terms.html", _TERMS),
        ("_default/list.html", _LIST),
        ("patterns/list.html", _SHELF),
        ("partials/card.html", _CARD),
    ):
        path = folder / "layouts" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(template, encoding="utf-8")
    content = folder / "content" / "patterns"
    content.mkdir(parents=True)
    for number, entry in enumerate(entries):
        notes = "\n\n".join(note.text for note in entry.working_notes)
        told = {
            "title": entry.title,
            "mark": entry.shelfmark,
            "pairs": entry.pairs.best,
            "width": entry.size.width_mm,
            "kind": entry.kind,
            "techniques": entry.technique_ids,
            "families": entry.families,
            "levels": [str(entry.difficulty.level)],
        }
        (content / f"b-{number}.md").write_text(f"{json.dumps(told)}\n{notes}\n", encoding="utf-8")


def time_hugo(hugo: str, folder: Path) -> dict[str, Took]:
    """The same three builds by Hugo."""
    took = {what: run([hugo, "--quiet"], folder) for what in ("whole", "nothing changed")}
    changed = folder / "content" / "patterns" / "b-7.md"
    changed.write_text(changed.read_text(encoding="utf-8") + "\nnew\n", encoding="utf-8")
    return took | {"one record changed": run([hugo, "--quiet"], folder)}


_CHANGES: tuple[tuple[str, dict[str, object]], ...] = (
    ("one record changed", {"period": "about 1900"}),
    ("  its title too", {"title": "Another Edge"}),
    ("  its techniques too", {"techniques": [{"technique": "gimp"}]}),
)


def _changed(entry: Entry, update: dict[str, object]) -> Entry:
    return Entry.model_validate(entry.model_dump() | update)


def time_building(folder: Path, count: int) -> dict[str, Took]:
    """Our builds by themselves, the records being in memory."""
    entries = invented(count)
    with collector_resting():
        took = {
            what: timed(lambda: build(folder, entries)) for what in ("whole", "nothing changed")
        }
        for what, update in _CHANGES:
            entries[7] = _changed(entries[7], update)
            took[what] = timed(lambda: build(folder, entries))
    return took


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
    save(folder / "collection", invented(count))
    hugo_site(folder / "hugo", invented(count))


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
        building = apart(time_building, folder, count)
    print(f"{count} patterns without pictures")
    print_table("the building alone", building, theirs)
    print_table("prickings publish", command, theirs)
    if not hugo:
        print("Hugo is not installed, so there is nothing to compare with.")


if __name__ == "__main__":
    main()
