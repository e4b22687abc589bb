"""`prickings vocabulary`: the words of lace, without any collection."""

from __future__ import annotations

from typing import Any

import click

from archive.cli.printing import json_option, print_json, print_table
from archive.cli.reporting import print_technique
from archive.errors import UnknownTerm
from archive.vocabulary import Technique, families, kinds, techniques


@click.command("vocabulary")
@click.argument("word", required=False)
@json_option
def vocabulary_command(word: str | None, as_json: bool) -> None:
    """Look WORD up in every language; without one, list the techniques."""
    if word is None:
        _list_techniques(as_json=as_json)
        return
    terms = (techniques().find(word), families().find(word), kinds().find(word))
    found = [term for term in terms if term is not None]
    if not found:
        raise UnknownTerm(word, "word", techniques().nearest(word))
    if as_json:
        print_json([_as_data(term) for term in found])
        return
    for number, term in enumerate(found):
        if number:
            click.echo()
        if isinstance(term, Technique):
            print_technique(term)
        else:
            click.echo(f"{term.name} (a {'family of lace' if term.id in families() else 'kind'})")


def _list_techniques(*, as_json: bool) -> None:
    if as_json:
        print_json([_as_data(term) for term in techniques()])
    else:
        print_table(["technique", "what it is"], [[t.name, t.definition] for t in techniques()])


def _as_data(term: Any) -> dict[str, Any]:
    return {key: value for key, value in vars(term).items() if value not in (None, ())}
