"""The search page beside MiniSearch, opened from a disk in Chromium, with SQLite as the oracle.

For 1,000, 10,000 and 100,000 made-up records of 80 words: how long it takes from opening the
page to the first result, how much of the index is read by then, how long further answers take
with the counts beside all filters, and what memory they take. MiniSearch is given the same words
of each record and counts nothing, which favours it.

Goals: the first result in at most MiniSearch's time at 1,000 records, a quarter of it at 10,000
and a tenth at 100,000; less than 300 kB read before it; 5 ms in the middle and 16 ms at the 95th
of 100 for an answer at 100,000; 60 MB of memory. MiniSearch comes from npm.
Run: python -m benchmarks.site_search [RECORDS …]
"""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from playwright.sync_api import Browser, Page, sync_playwright

from archive.records import Entry
from archive.records.settings import CollectionSettings
from archive.site import overview_pages, search_index
from archive.site.addresses import file_stems, shelf_order
from archive.site.collected import Collected
from archive.site.contents import Contents
from archive.site.postings import Postings, updated, weighted_words
from archive.site.remembering import OfRecord
from archive.site.rendering import Renderer, SiteFacts
from archive.site.shelved import shelve
from archive.vocabulary import families, kinds, levels, techniques
from archive.wording import fold
from tests.need_chromium import MISSING, find_chromium

SIZES = (1_000, 10_000, 100_000)
OPENINGS = 7
ROUNDS = 9
GOALS = {1_000: 1.0, 10_000: 0.25, 100_000: 0.1}
MINISEARCH = "minisearch@7.2.0"


class Query(NamedTuple):
    """What is asked: the state of our page, and the words where they are all there is."""

    kind: str
    fragment: str
    words: str = ""


def lexicon(chance: random.Random) -> list[str]:
    """Words that neither are nor begin like a name of the vocabulary, the frequent ones first."""
    syllables = [consonant + vowel for consonant in "bdfgklmnprtvwz" for vowel in "aeiou"]
    made = {"".join(chance.choices(syllables, k=chance.randint(2, 4))) for _ in range(60_000)}
    names = {
        word
        for terms in (techniques(), families(), kinds(), levels())
        for term in terms
        for _, name in term.names
        for word in fold(name).split()
    }
    starts = {name[:3] for name in names}
    words = sorted(word for word in made if word not in names and word[:3] not in starts)
    chance.shuffle(words)
    return words


def records(count: int, words: list[str], chance: random.Random) -> list[Entry]:
    """Records of 80 words, drawn as in a language: the n-th word n times as rarely."""
    weights = np.cumsum(1 / np.arange(1, len(words) + 1)).tolist()
    ids = [[term.id for term in terms()] for terms in (techniques, families, kinds)]

    def said(length: int) -> str:
        return " ".join(chance.choices(words, cum_weights=weights, k=length))

    return [
        Entry.model_validate(
            {
                "shelfmark": f"P {number}",
                "title": said(4),
                "working_notes": [{"text": said(45)}],
                "corrections": [{"fault": said(15), "remedy": said(10)}],
                "techniques": [{"technique": one} for one in chance.sample(ids[0], 4)],
                "families": [chance.choice(ids[1])],
                "kind": chance.choice(ids[2]),
                "pairs": {"stated": {"most": chance.randint(4, 80)}},
                "difficulty": {"level": chance.randint(1, 5)},
                "size": {"width_mm": chance.randint(80, 2_000) / 10},
            }
        )
        for number in range(count)
    ]


def queries(words: list[str], chance: random.Random) -> list[Query]:
    """Ten of each kind; words from the frequent to the rare."""

    def word() -> str:
        return words[int(10 ** chance.uniform(0, 3))]

    found = []
    for _ in range(10):
        one, two, start = word(), word(), word()
        # A space behind a word says that it is whole.
        found += [
            Query("word", f"q={one}+", f"{one} "),
            Query("two words", f"q={one}+{two}+", f"{one} {two} "),
            Query("beginning", f"q={start[:3]}", start[:3]),
            Query("two, the last begun", f"q={one}+{start[:2]}", f"{one} {start[:2]}"),
            Query("one slip", f"q={one[:2]}{one[1:]}+"),
            Query("filters", f"all={chance.choice(['gimp', 'picot'])}&pairs=10-60&level=2,3"),
            Query("word and filters", f"q={one}&not=gimp&kind=edging"),
            Query("sorted by pairs", f"q={two}&sort=pairs"),
            Query("sorted by title", f"q={two}&sort=title"),
            Query("all, sorted by title", "sort=title"),
            Query("all, sorted by width", "sort=width"),
        ]
    return found


def write_ours(folder: Path, entries: list[Entry]) -> None:
    """Our search page and its index, without the pages that it leads to."""
    ordered = sorted(entries, key=lambda entry: shelf_order(entry.shelfmark))
    stems = file_stems(entry.shelfmark for entry in ordered)
    collected = Collected(shelve(entry, stems[entry.shelfmark]) for entry in ordered)
    words = dict(enumerate(map(weighted_words, ordered)))
    postings = updated(Postings(), np.empty(0, np.int32), words)
    told = [OfRecord("", "", pattern) for pattern in collected.patterns]
    settings = CollectionSettings(name="An Invented Guild")
    renderer = Renderer(SiteFacts(settings.name, "", "en", ""))
    for path, _, make in Contents(collected, told, {}, renderer).lists(postings, settings):
        if path.startswith(("data/", "scripts/", "style/", "fonts/")):
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(make())
    home = overview_pages.home_page(collected, bundled=len(entries) < search_index.BUNDLED_BELOW)
    (folder / "index.html").write_bytes(renderer.render("home.html", "index.html", page=home))


_THEIR_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Search</title>
<ul id="found"></ul><script src="minisearch.js"></script><script src="index.js"></script>
<script src="page.js"></script></html>"""
_THEIR_SCRIPT = """
const options = {
  fields: ["text"], storeFields: ["mark", "title"], tokenize: (text) => text.split(" "),
};
const mini = MiniSearch.loadJSON(INDEX, options);
function ask(words) {
  const whole = words.endsWith(" ");
  const last = words.trim().split(" ").length - 1;
  const prefix = (term, at) => !whole && at === last;
  return mini.search(words.trim(), {combineWith: "AND", prefix});
}
const asked = new URLSearchParams(location.hash.slice(1)).get("q");
for (const {mark, title} of ask(asked).slice(0, 24)) {
  const item = document.createElement("li");
  item.className = "card";
  item.textContent = `${mark} ${title}`;
  document.getElementById("found").append(item);
}
"""
_THEIR_INDEX = """
const MiniSearch = require("minisearch");
const fs = require("fs");
const options = {
  fields: ["text"], storeFields: ["mark", "title"], tokenize: (text) => text.split(" "),
};
const mini = new MiniSearch(options);
mini.addAll(JSON.parse(fs.readFileSync(process.argv[2], "utf8")));
fs.writeFileSync(process.argv[3], `const INDEX = ${JSON.stringify(JSON.stringify(mini))};`);
"""


def install_minisearch(folder: Path) -> None:
    """MiniSearch in a folder of its own."""
    folder.mkdir()
    npm = shutil.which("npm") or "npm"
    subprocess.run(
        [npm, "install", "--silent", "--no-fund", "--no-audit", "--prefix", folder, MINISEARCH],
        check=True,
    )
    (folder / "index.js").write_text(_THEIR_INDEX, encoding="utf-8")


def write_theirs(folder: Path, package: Path, texts: Sequence[dict[str, Any]]) -> None:
    """A page that searches with MiniSearch, its index as a script."""
    folder.mkdir()
    (package / "texts.json").write_text(json.dumps(texts), encoding="utf-8")
    subprocess.run(
        [shutil.which("node") or "node", "--max-old-space-size=8000", package / "index.js",
         package / "texts.json", folder / "index.js"],
        check=True,
    )  # fmt: skip
    library = package / "node_modules" / "minisearch" / "dist" / "umd" / "index.js"
    shutil.copyfile(library, folder / "minisearch.js")
    (folder / "page.js").write_text(_THEIR_SCRIPT, encoding="utf-8")
    (folder / "index.html").write_text(_THEIR_PAGE, encoding="utf-8")


class Oracle:
    """Counts what is found, with SQLite's FTS5."""

    def __init__(self, texts: Sequence[dict[str, Any]]) -> None:
        self._data = sqlite3.connect(":memory:")
        self._data.execute("create virtual table t using fts5(text, tokenize='unicode61')")
        self._data.executemany("insert into t values (?)", [(one["text"],) for one in texts])

    def total(self, words: str) -> int:
        """How many records have all words, the last of which may go on if no space follows."""
        asked = " ".join(f'"{word}"' for word in words.split())
        asked += "" if words.endswith(" ") else "*"
        (found,) = self._data.execute("select count(*) from t where t match ?", (asked,)).fetchone()
        return int(found)


_WATCH = """
new MutationObserver((changes, observer) => {
  if (!document.querySelector(".card")) return;
  observer.disconnect();
  window.firstResult = performance.now();
  window.readBefore = [...document.scripts].map((one) => one.src);
}).observe(document, {childList: true, subtree: true});
"""
_ANSWER = """
async ([fragment, rounds]) => {
  location.replace(`#${fragment}`);
  const state = readState();
  window.searcher ??= new Searcher(await index.need("root"));
  const took = [];
  let total = 0;
  for (let round = 0; round < rounds; round++) {
    const start = performance.now();
    const answer = await searcher.answer(state);
    await searcher.ranked(answer, 24);
    await searcher.counts(answer);
    took.push(performance.now() - start);
    total = answer.total;
  }
  return [took.slice(2), total];
}
"""
_THEIR_ANSWER = """
([words, rounds]) => {
  const took = [];
  let total = 0;
  for (let round = 0; round < rounds; round++) {
    const start = performance.now();
    total = ask(words).length;
    took.push(performance.now() - start);
  }
  return [took.slice(2), total];
}
"""


def open_page(browser: Browser, folder: Path, fragment: str) -> tuple[float, int]:
    """Milliseconds to the first result, and bytes of the index read by then."""
    context = browser.new_context()
    page = context.new_page()
    page.add_init_script(_WATCH)
    page.goto(f"{folder.as_uri()}/index.html#{fragment}")
    page.wait_for_selector(".card", state="attached", timeout=120_000)
    took = float(page.evaluate("window.firstResult"))
    read = [folder / src.partition(f"{folder.as_uri()}/")[2] for src in page.evaluate("readBefore")]
    context.close()
    data = [path for path in read if path.parent.name == "data" or path.name == "index.js"]
    return took, sum(path.stat().st_size for path in data)


def heap_mb(page: Page) -> float:
    """What the page's own objects take, after a clearing away."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")
    session.send("HeapProfiler.collectGarbage")
    told = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    return float(told["JSHeapUsedSize"]) / 1e6


def compare(browser: Browser, folder: Path, count: int, package: Path) -> None:
    """Print what is measured at one size; totals must be those of the oracle."""
    chance = random.Random(count)
    words = lexicon(chance)
    entries = records(count, words, chance)
    texts = [
        {"id": number, "mark": one.shelfmark, "title": one.title,
         "text": weighted_words(one).words}
        for number, one in enumerate(entries)
    ]  # fmt: skip
    ours, theirs = folder / f"ours-{count}", folder / f"theirs-{count}"
    write_ours(ours, entries)
    write_theirs(theirs, package, texts)
    oracle = Oracle(texts)
    size = sum(path.stat().st_size for path in (ours / "data").iterdir()) / 1e6
    their_size = (theirs / "index.js").stat().st_size / 1e6
    print(f"\n{count:,} records: index {size:.1f} MB, MiniSearch's {their_size:.1f} MB")

    asked = queries(words, chance)
    compare_openings(browser, ours, theirs, asked, goal=GOALS.get(count, 1.0))
    compare_answers(browser, ours, theirs, asked, oracle)


def compare_openings(
    browser: Browser, ours: Path, theirs: Path, asked: list[Query], *, goal: float
) -> None:
    """Print how long a page takes to its first result, and how much of our index it reads."""
    word = _one_of_each_kind(asked)["word"]
    both = [
        (open_page(browser, ours, word.fragment)[0], open_page(browser, theirs, word.fragment)[0])
        for _ in range(OPENINGS)
    ]
    ratio = statistics.median(own / other for own, other in both)
    own, other = (statistics.median(times) for times in zip(*both, strict=True))
    print(f"page open to first result: {own:.0f} ms, MiniSearch {other:.0f} ms, "
          f"ratio {ratio:.2f} (goal: at most {goal})")  # fmt: skip
    told = ", ".join(
        f"{kind} {open_page(browser, ours, one.fragment)[1] / 1000:.0f}"
        for kind, one in _one_of_each_kind(asked).items()
    )
    print(f"kB of the index read before it: {told} (goal: below 300)")


def compare_answers(
    browser: Browser, ours: Path, theirs: Path, asked: list[Query], oracle: Oracle
) -> None:
    """Print how long answers take once a page is open, and what memory it then holds."""
    print("answers, ms              middle  95 of 100   MiniSearch's middle  95 of 100")
    kinds = _one_of_each_kind(asked)
    pages = [browser.new_context().new_page() for _ in range(2)]
    for page, site in zip(pages, (ours, theirs), strict=True):
        page.goto(f"{site.as_uri()}/index.html#{kinds['word'].fragment}")
        page.wait_for_selector(".card", timeout=120_000)
    for kind in kinds:
        took, their_took = [], []
        for one in asked:
            if one.kind != kind:
                continue
            times, total = pages[0].evaluate(_ANSWER, [one.fragment, ROUNDS])
            took += times
            if one.words:
                times, their_total = pages[1].evaluate(_THEIR_ANSWER, [one.words, ROUNDS])
                their_took += times
                assert total == their_total == oracle.total(one.words), one
        beside = f"{_middle(their_took):20.1f} {_late(their_took):10.1f}" if their_took else ""
        print(f"{kind:22} {_middle(took):8.1f} {_late(took):10.1f} {beside}")
    print(f"memory: {heap_mb(pages[0]):.0f} MB (goal: 60), MiniSearch {heap_mb(pages[1]):.0f} MB")
    for page in pages:
        page.context.close()


def _one_of_each_kind(asked: list[Query]) -> dict[str, Query]:
    return {one.kind: one for one in reversed(asked)}


def _middle(times: list[float]) -> float:
    return statistics.median(times)


def _late(times: list[float]) -> float:
    return sorted(times)[int(0.95 * len(times))]


def main() -> None:
    """Compare at each size."""
    chromium = find_chromium()
    if chromium is None:
        sys.exit(MISSING)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        install_minisearch(folder / "minisearch")
        browser = playwright.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        for count in map(int, sys.argv[1:]) if sys.argv[1:] else SIZES:
            compare(browser, folder, count, folder / "minisearch")
        browser.close()


if __name__ == "__main__":
    main()
