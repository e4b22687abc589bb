"""`prickings next`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from archive.cli.printing import collection_option, json_option, print_json, print_table
from archive.cli.reporting.records import tell_difficulty
from archive.errors import UsageError
from archive.learning import MOST_NEW
from archive.store import open_collection
from archive.vocabulary import techniques
from archive.workflows.learning import Plan, plan_next


@click.command("next")
@click.argument("known", nargs=-1, metavar="TECHNIQUE...")
@click.option(
    "--most-new",
    type=click.IntRange(min=1, max=20),
    default=MOST_NEW,
    show_default=True,
    metavar="N",
    help="How many new techniques a pattern may bring.",
)
@json_option
@collection_option
def next_command(known: tuple[str, ...], most_new: int, as_json: bool, collection: Path) -> None:
    """Find patterns to practise next, after the TECHNIQUES you have learnt.

    What they build on counts as known too, and so does what else the easiest pattern uses that
    teaches them. Patterns that lead on from them come first, then those with fewer new
    techniques, easier ones, fewer pairs.
    """
    if not known:
        raise UsageError(
            "Say which techniques you have learnt.",
            'For example “prickings next picot "honeycomb ring"”; “prickings vocabulary” lists '
            "them all.",
        )
    learnt = [techniques().get(word).id for word in known]
    with open_collection(collection) as opened:
        plan = plan_next(opened, learnt, most_new=most_new)
    if as_json:
        print_json(_as_data(plan))
    else:
        _tell(plan)


def _as_data(plan: Plan) -> dict[str, object]:
    return {
        "opened": list(plan.opened),
        "taken_as_known": [
            {"shelfmark": lesson.shelfmark, "techniques": list(beside)}
            for lesson, beside in plan.taken_as_known
        ],
        "patterns": [
            {
                "shelfmark": step.entry.shelfmark,
                "title": step.entry.title,
                "new": list(step.new),
                "leads_on": list(step.leads_on),
                "pairs": step.entry.pairs.best,
                "difficulty": step.entry.difficulty.level,
            }
            for step in plan.steps
        ],
    }


def _tell(plan: Plan) -> None:
    for lesson, beside in plan.taken_as_known:
        click.echo(
            f"Taken as known from {lesson.shelfmark} {lesson.heading}, a lesson in it: "
            f"{_names(beside)}."
        )
    if plan.opened:
        click.echo(f"Could be learnt now: {_names(plan.opened)}.\n")
    if not plan.steps:
        click.echo("No pattern adds just a little to what you know. Try a larger --most-new.")
        return
    print_table(
        ["shelfmark", "title", "new", "pairs", "difficulty"],
        [
            [
                step.entry.shelfmark,
                step.entry.heading,
                _names(step.new),
                str(step.entry.pairs.best or "?"),
                tell_difficulty(step.entry),
            ]
            for step in plan.steps
        ],
    )


def _names(technique_ids: Iterable[str]) -> str:
    return ", ".join(techniques()[one].name for one in technique_ids)
