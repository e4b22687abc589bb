"""`prickings find`."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import click

from archive.cli.printing import (
    collection_option,
    counted,
    json_option,
    print_json,
    print_lines,
    print_table,
    progress_bar,
)
from archive.errors import UsageError
from archive.search import Answer, Question, Range, Sort, read_range
from archive.store import open_collection
from archive.vocabulary import families, kinds, techniques
from archive.workflows.finding import find_patterns, wraps_of_thread


@click.command("find")
@click.argument("words", nargs=-1)
@click.option("--technique", multiple=True, help="With this technique; all of them if repeated.")
@click.option("--any-technique", multiple=True, help="With at least one of these.")
@click.option("--without-technique", multiple=True, help="Without this technique.")
@click.option("--family", multiple=True, help="Family of lace; any of them if repeated.")
@click.option("--kind", multiple=True, help="What it makes; any of them if repeated.")
@click.option("--pairs", metavar="RANGE", help="Pairs: 18, 10-20, -20 (up to), 20- (and more).")
@click.option("--wraps", metavar="RANGE", help="Wraps per cm of the thread, as 25-32.")
@click.option("--thread", metavar="LABEL", help="A thread you own, as “80/2 NeL”.")
@click.option("--difficulty", metavar="RANGE", help="Level from 1 (first steps) to 5 (very hard).")
@click.option("--width", metavar="RANGE", help="Width in mm, as 20-30.")
@click.option("--corner/--no-corner", default=None, help="With or without a corner.")
@click.option("--gimp/--no-gimp", default=None, help="With or without a gimp.")
@click.option("--with-pricking", is_flag=True, help="Only where a sheet is attached.")
@click.option("--place", help="Words of the exact place, as “box 12”.")
@click.option(
    "--sort",
    type=click.Choice(get_args(Sort)),
    default="fit",
    show_default=True,
    help="Order of the answers.",
)
@click.option("--limit", type=click.IntRange(min=1), metavar="N", help="Show at most this many.")
@click.option("--facets", is_flag=True, help="Also count the answers by technique, family, kind …")
@json_option
@collection_option
def find_command(
    words: tuple[str, ...],
    technique: tuple[str, ...],
    any_technique: tuple[str, ...],
    without_technique: tuple[str, ...],
    family: tuple[str, ...],
    kind: tuple[str, ...],
    pairs: str | None,
    wraps: str | None,
    thread: str | None,
    difficulty: str | None,
    width: str | None,
    corner: bool | None,
    gimp: bool | None,
    with_pricking: bool,
    place: str | None,
    sort: Sort,
    limit: int | None,
    facets: bool,
    as_json: bool,
    collection: Path,
) -> None:
    """Find patterns by WORDS and by what they need.

    A broader technique includes the narrower ones: “ground” finds honeycomb. A pattern of
    which something is not known is never found by it.
    """
    if thread and wraps:
        raise UsageError(
            "--thread and --wraps both say how thick the thread is.", "Give one of the two."
        )
    question = Question(
        words=" ".join(words),
        techniques=_ids(technique),
        any_techniques=_ids(any_technique),
        without_techniques=_ids(without_technique),
        families=tuple(families().get(word).id for word in family),
        kinds=tuple(kinds().get(word).id for word in kind),
        pairs=_range(pairs),
        wraps=wraps_of_thread(thread) if thread else _range(wraps),
        difficulty=_range(difficulty),
        width_mm=_range(width),
        corner=corner,
        gimp=gimp,
        with_pricking=with_pricking or None,
        place=place or "",
        sort=sort,
        limit=limit,
    )
    with open_collection(collection) as opened, progress_bar("Indexing") as progress:
        answer = find_patterns(opened, question, facets=facets, progress=progress)
    if as_json:
        print_json(_as_data(answer, facets=facets))
    else:
        _tell(answer, only_words=question == Question(words=question.words))


def _ids(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(techniques().get(word).id for word in words)


def _range(text: str | None) -> Range | None:
    return None if text is None else read_range(text)


def _as_data(answer: Answer, *, facets: bool) -> dict[str, object]:
    return {
        "total": answer.total,
        "hits": [
            {
                "shelfmark": hit.shelfmark,
                "title": hit.title,
                "families": list(hit.families),
                "techniques": list(hit.techniques),
                "pairs": hit.pairs,
                "difficulty": hit.difficulty,
                "matched": list(hit.matched),
            }
            for hit in answer.hits
        ],
        "facets": {
            group: [{"id": value, "name": name, "count": count} for value, name, count in counts]
            for group, counts in (answer.facets or {}).items()
        }
        if facets
        else None,
        "did_you_mean": list(answer.did_you_mean),
        "nearly": vars(answer.nearly) if answer.nearly else None,
    }


def _tell(answer: Answer, *, only_words: bool) -> None:
    if not answer.total:
        click.echo("Nothing found.")
        if (near := answer.nearly) is not None:
            click.echo(
                f"{counted(near.patterns, 'pattern')} with {near.words} of the {near.asked} words."
            )
        if answer.did_you_mean:
            click.echo("Did you mean " + " or ".join(f"“{w}”" for w in answer.did_you_mean) + "?")
        click.echo(
            "Pairs, level, width and more are asked with options, such as --pairs -20: "
            "“prickings find --help” lists them."
            if only_words
            else "A pattern of which something you ask for is not known is not found: "
            "ask for less to see more."
        )
        return
    shown = "" if len(answer.hits) == 1 else f" {len(answer.hits):,}"
    part = "" if len(answer.hits) == answer.total else f", the first{shown} shown"
    click.echo(counted(answer.total, "pattern") + part + "\n")
    print_table(
        ["shelfmark", "title", "pairs", "level", "found in"],
        [
            [
                hit.shelfmark,
                hit.title or "Untitled",
                "?" if hit.pairs is None else str(hit.pairs),
                "?" if hit.difficulty is None else str(hit.difficulty),
                ", ".join(hit.matched),
            ]
            for hit in answer.hits
        ],
    )
    if answer.facets:
        click.echo()
        print_lines(
            (group, ", ".join(f"{name} {count}" for _, name, count in counts))
            for group, counts in answer.facets.items()
        )
