"""Bringing a record and what a list says of it together, so that neither's work is lost."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from archive.records.pattern import Pattern

Path = tuple[str, ...]


@dataclass(frozen=True)
class Clash:
    """A field that was changed in the catalogue and in the list, each in its own way."""

    field: str
    catalogue: Any
    listed: Any


def merge_listed(
    current: Pattern, listed: Pattern, *, before: Pattern | None
) -> tuple[Pattern, list[Clash]]:
    """The record after its list has been read again, and what was changed on both sides.

    `before` is the record as the last import left it. A field that the list leaves empty, or
    says as it did then, stays as the catalogue has it; a field that the list says anew is
    taken from the list. Where the catalogue had changed that field too, the list, being the
    newer word, is taken and the clash is told; the history keeps the other value.
    """
    data = current.model_dump()
    then = before.model_dump() if before else {}
    clashes = []
    for path, value in _leaves(listed.model_dump(exclude_defaults=True)):
        now, was = _at(data, path), _at(then, path)
        if value in (now, was):
            continue
        if before is not None and now != was:
            clashes.append(Clash(".".join(path), now, value))
        _put(data, path, value)
    return Pattern.model_validate(data), clashes


def _leaves(data: dict[str, Any], above: Path = ()) -> Iterator[tuple[Path, Any]]:
    for name, value in data.items():
        if isinstance(value, dict):
            yield from _leaves(value, (*above, name))
        else:
            yield (*above, name), value


def _at(data: dict[str, Any], path: Path) -> Any:
    value: Any = data
    for name in path:
        value = value.get(name) if isinstance(value, dict) else None
    return value


def _put(data: dict[str, Any], path: Path, value: Any) -> None:
    for name in path[:-1]:
        if not isinstance(data.get(name), dict):
            data[name] = {}
        data = data[name]
    data[path[-1]] = value
