"""Adding, changing and putting back records."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

from archive.errors import InputError, UnreadableFile, reading_errors
from archive.lists import TYPED, read_typed
from archive.records import Pattern, TechniqueUse
from archive.records.reading import read_pattern, with_fields
from archive.store import Collection


class _AsWritten(yaml.SafeLoader):
    """Values stay as they are written: the record knows which of them are numbers.

    Otherwise a page 012 would become 10 and an edition 1.10 would become 1.1.
    """


_NULL = "tag:yaml.org,2002:null"
_AsWritten.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag == _NULL]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def read_record(path: Path) -> dict[str, Any]:
    """The fields of a record written in YAML or JSON, numbers as they are written.

    Raises:
        UnreadableFile: it cannot be read, or holds no fields.
    """
    advice = "Give a YAML or JSON file with one field a line, such as “shelfmark: P 1”."
    with reading_errors(path, advice):
        text = path.read_text(encoding="utf-8-sig")
    try:
        if path.suffix.lower() == ".json":
            data = json.loads(text, parse_int=str, parse_float=str)
        else:
            data = yaml.load(text, Loader=_AsWritten)
    except (yaml.YAMLError, ValueError, RecursionError) as cause:
        reason = f"it is not valid {'JSON' if path.suffix.lower() == '.json' else 'YAML'}"
        raise UnreadableFile(path, reason + _line_in(cause), advice) from cause
    if not isinstance(data, dict):
        raise UnreadableFile(path, "it holds no fields", advice)
    return data


def _line_in(cause: Exception) -> str:
    """Where a parser stopped, as far as it says so."""
    if isinstance(cause, json.JSONDecodeError):
        return f" (line {cause.lineno})"
    mark = getattr(cause, "problem_mark", None)
    return f" (line {mark.line + 1})" if mark else ""


def add_pattern(
    collection: Collection, data: Mapping[str, Any], typed: Mapping[str, str]
) -> Pattern:
    """Add a new record made of plain data, overruled by fields as a person types them.

    Words in the data are read as typed ones are.

    Raises:
        InvalidRecord, UnknownField, InputError: it is not a valid record.
        InputError: a record of that shelfmark is there already.
    """
    plain, words = _apart(data)
    typed = {**words, **typed}
    shelfmark = typed.get("shelfmark", "")
    pattern = with_typed(read_pattern({**plain, "shelfmark": shelfmark}), typed)
    with collection.writing() as writer:
        if pattern.shelfmark in collection.shelfmarks():
            raise InputError(
                f"There is a record “{pattern.shelfmark}” already.",
                "Choose another shelfmark, or change that record with “prickings edit”.",
            )
        writer.save([pattern], how="added")
    return pattern


def _apart(data: Mapping[str, Any], above: str = "") -> tuple[dict[str, Any], dict[str, str]]:
    """The data without the words that can be read as a list's cells are, and these by path."""
    plain: dict[str, Any] = {}
    words: dict[str, str] = {}
    for name, value in data.items():
        path = f"{above}{name}"
        if isinstance(value, str) and path in TYPED:
            words[path] = value
        elif isinstance(value, Mapping):
            plain[name], below = _apart(value, f"{path}.")
            words |= below
        else:
            plain[name] = value
    return plain, words


def edit_pattern(collection: Collection, shelfmark: str, typed: Mapping[str, str]) -> Pattern:
    """Change fields of the record with this shelfmark, given as a person types them."""
    with collection.writing() as writer:
        before = collection.get_entry(shelfmark).pattern
        after = with_typed(before, typed)
        if after.shelfmark != before.shelfmark:
            raise InputError(
                "A shelfmark cannot be changed, since boxes and sheets carry it.",
                "Add a record under the new shelfmark and relate the two.",
            )
        writer.save([after], how="edited")
    return after


def with_typed(pattern: Pattern, typed: Mapping[str, str]) -> Pattern:
    """The pattern with fields changed that a person has typed.

    A field that lists know (`pairs`, `size.width_mm`) is read as a list's cell is: “24 (+6
    corner)”, “2,5 cm”. One that names a part of a list, such as `techniques.taught`, leaves the
    other parts alone. Any other field, and any value in square or curly brackets, is read as
    YAML at its dotted path. An empty value empties the field.
    """
    as_cells = {
        name: words
        for name, words in typed.items()
        if name in TYPED and words.strip() and words.strip()[0] not in "[{"
    }
    changes: dict[str, Any] = {name: words for name, words in typed.items() if name not in as_cells}
    said = read_typed(as_cells)
    for field, role_of in _ROLES.items():
        roles = {name.removeprefix(f"{field}.") for name in as_cells if name.startswith(field)}
        if roles and field not in roles:
            said[field] = _with_others(said.get(field, ()), getattr(pattern, field), roles, role_of)
    for name in _SAID_WHOLE & as_cells.keys():
        changes[name] = said.pop(name)
    changes.update(_flat(said))
    return with_fields(pattern, changes)


def _with_others(
    news: Sequence[Any],
    before: Sequence[Any],
    roles: set[str],
    role_of: Callable[[Any], str | None],
) -> tuple[Any, ...]:
    """What was in a list, but for what had one of the roles, and then the new ones."""
    named_anew = {one.technique for one in news if isinstance(one, TechniqueUse)}
    others = (
        one
        for one in before
        if role_of(one) not in roles
        and not (isinstance(one, TechniqueUse) and one.technique in named_anew)
    )
    return (*others, *news)


_ROLES: dict[str, Callable[[Any], str | None]] = {
    "techniques": lambda use: use.role,
    "working_notes": lambda note: note.about.replace(" ", "_"),
    "threads": lambda thread: thread.use,
}
"""Lists of which a part can be typed alone, and what part one of their members belongs to."""

_SAID_WHOLE = {"source", "condition"}
"""Fields whose parts are of no use beside those of another one: a page belongs to its book."""


def _flat(data: Mapping[str, Any], above: str = "") -> dict[str, Any]:
    """The data by dotted paths down to what is no mapping."""
    flat: dict[str, Any] = {}
    for name, value in data.items():
        if isinstance(value, Mapping):
            flat.update(_flat(value, f"{above}{name}."))
        else:
            flat[above + name] = value
    return flat


def put_back(collection: Collection, shelfmark: str, number: int) -> Pattern:
    """Give a record the state it had after change `number`; this is a change of its own."""
    with collection.writing() as writer:
        return writer.put_back(collection.get_entry(shelfmark).shelfmark, number)
