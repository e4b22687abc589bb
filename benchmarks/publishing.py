"""How long a site of 10,000 patterns takes: whole, with nothing changed, with one record changed.

Run it with `python -m benchmarks.publishing [PATTERNS]`. Where Hugo is installed, it builds as
many pages with the same words in the same run, and the ratio to it is printed; a figure of
ours counts only beside the peer's.
"""

from __future__ import annotations

import json
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

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

    def never(*_: object, **__: object) -> Any:
        raise AssertionError("there are no pictures")

    return publish_site(
        folder / "site",
        entries,
        SETTINGS,
        path_of=never,
        measurement_of=never,
        draw_page=never,
        cache=folder / "cache",
    )


def timed(work: Callable[[], object]) -> float:
    """The wall seconds that `work` takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


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


def time_hugo(hugo: str, folder: Path) -> dict[str, float]:
    """The same three builds by Hugo."""

    def run() -> None:
        subprocess.run([hugo, "--quiet"], cwd=folder, check=True)

    took = {"whole": timed(run), "nothing changed": timed(run)}
    changed = folder / "content" / "patterns" / "b-7.md"
    changed.write_text(changed.read_text(encoding="utf-8") + "\nnew\n", encoding="utf-8")
    return took | {"one record changed": timed(run)}


def time_ours(folder: Path, entries: list[Entry]) -> dict[str, float]:
    """Our three builds, and one with another title and one with other techniques."""
    took = {"whole": timed(lambda: build(folder, entries))}
    took["nothing changed"] = timed(lambda: build(folder, entries))
    for what, update in (
        ("one record changed", {"period": "about 1900"}),
        ("  its title too", {"title": "Another Edge"}),
        ("  its techniques too", {"techniques": entries[8].techniques}),
    ):
        entries[7] = entries[7].model_copy(update=update)
        took[what] = timed(lambda: build(folder, entries))
    return took


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    entries = invented(count)
    hugo = shutil.which("hugo")
    theirs: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if hugo:
            hugo_site(folder / "hugo", entries)
            theirs = time_hugo(hugo, folder / "hugo")
        ours = time_ours(folder, entries)
    print(f"{count} patterns, wall seconds")
    for what, seconds in ours.items():
        took = theirs.get(what, theirs.get("one record changed"))
        beside = f"   Hugo {took:6.2f}   ratio {seconds / took:.2f}" if took else ""
        print(f"{what:22} {seconds:6.2f}{beside}")
    if hugo:
        own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"peak memory: ours {own:.0f} MB, Hugo {peak:.0f} MB, ratio {own / peak:.2f}")
    else:
        print("Hugo is not installed, so there is nothing to compare with.")


if __name__ == "__main__":
    main()
