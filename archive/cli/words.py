"""`prickings vocabulary`: the words of lace, without any collection."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import click

from archive.cli.printing import Line, json_option, print_json, print_lines, print_table
from archive.errors import UnknownTerm
from archive.vocabulary import LANGUAGES, Technique, Term, Terms, families, kinds, techniques
from archive.wording import nearest


@click.command("vocabulary")
@click.argument("word", required=False)
@json_option
def vocabulary_command(word: str | None, as_json: bool) -> None:
    """Look WORD up in every language; without one, list all the words."""
    if word is None and not as_json:
        _list_all()
        return
    found = _everything() if word is None else _find(word)
    if as_json:
        print_json([{"is": called, **_as_data(term)} for called, term in found])
        return
    for number, (called, term) in enumerate(found):
        if number:
            click.echo()
        if isinstance(term, Technique):
            _print_technique(term)
        else:
            _print_term(term, called)


def _lists() -> tuple[Terms[Any], ...]:
    return techniques(), families(), kinds()


def _everything() -> list[tuple[str, Term]]:
    """Every term, and what it is a term for."""
    return [(terms.called, term) for terms in _lists() for term in terms]


def _find(word: str) -> list[tuple[str, Term]]:
    """What a word names in each list; raises `UnknownTerm` with the nearest of all lists."""
    found = [(terms.called, term) for terms in _lists() if (term := terms.find(word))]
    if not found:
        meant = {name: term.name for _, term in _everything() for _, name in term.names}
        near = dict.fromkeys(meant[name] for name in nearest(word, meant, most=8))
        raise UnknownTerm(word, "word", list(near)[:3])
    return found


def _list_all() -> None:
    print_table(["technique", "what it is"], [[t.name, t.definition] for t in techniques()])
    click.echo(f"\nFamilies of lace: {', '.join(term.name for term in families())}.")
    click.echo(f"Kinds of pattern: {', '.join(term.name for term in kinds())}.")


def _as_data(term: Term) -> dict[str, Any]:
    return {key: value for key, value in vars(term).items() if value not in (None, ())}


def _print_technique(term: Technique) -> None:
    """Print what a technique is, what others call it and what to know first."""
    click.echo(term.name)
    names = [techniques()[before].name for before in term.prerequisites]
    print_lines(
        [("", term.definition), *_names_lines(term)]
        + (
            [("", "(some of the names in other languages are from memory: ask a lacemaker)")]
            if term.other_languages and term.other_languages_from_memory
            else []
        )
        + [("know first", ", ".join(names))]
    )


def _print_term(term: Term, called: str) -> None:
    """Print what others call a term, and what it is a term for."""
    click.echo(f"{term.name} ({called})")
    print_lines(_names_lines(term))


def _names_lines(term: Term) -> Iterator[Line]:
    yield "also", ", ".join(term.also)
    for code, words in term.other_languages.items():
        yield LANGUAGES.get(code, code), ", ".join(words)
    known = {"en", *term.other_languages}
    unnamed = [language for code, language in LANGUAGES.items() if code not in known]
    yield "no name known in", ", ".join(unnamed)
