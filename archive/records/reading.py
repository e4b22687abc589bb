"""The door to the records: plain data becomes a valid record, or an error that names the faults.

A field is addressed by a dotted path: `title`, `size.width_mm`, `pairs.stated.start`,
`internal.location`.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator, Mapping
from typing import Any

import yaml
from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from archive.errors import InvalidRecord, UnknownField
from archive.records.faults import tell_fault
from archive.records.pattern import Pattern
from archive.wording import nearest


def read_pattern(data: Mapping[str, Any]) -> Pattern:
    """Make a pattern of plain data.

    Raises:
        UnknownField: the data has a field that records do not have.
        InvalidRecord: a field breaks a rule; all faults are named at once.
    """
    for path in _paths_of(data):
        _field_at(path)
    try:
        return Pattern.model_validate(data)
    except ValidationError as refusal:
        raise InvalidRecord(
            str(data.get("shelfmark") or "(no shelfmark)"), _faults(refusal)
        ) from refusal


def with_fields(pattern: Pattern, changes: Mapping[str, Any]) -> Pattern:
    """The pattern with the fields at the given dotted paths changed.

    A value may be text as a person types it: it is read as the field asks, so that `yes`,
    `18` and `[a, b]` are what they look like, but a title stays as it is typed. An empty text
    empties the field.
    """
    data = pattern.model_dump(mode="json")
    for path, value in changes.items():
        *above, last = path.split(".")
        field = _field_at(path)
        branch = data
        for name in above:
            if branch.get(name) is None:
                branch[name] = {}
            branch = branch[name]
        branch[last] = _as_typed(value, field) if isinstance(value, str) else value
    return read_pattern(data)


def field_paths() -> list[str]:
    """Every dotted path that leads to a single value or a list, sorted."""
    return sorted(_leaves(Pattern, ""))


def _leaves(model: type[BaseModel], above: str) -> Iterator[str]:
    for name, field in model.model_fields.items():
        inner = _model_in(field.annotation)
        if inner is None:
            yield above + name
        else:
            yield from _leaves(inner, f"{above}{name}.")


def _paths_of(data: Mapping[str, Any], above: str = "") -> Iterator[str]:
    for name, value in data.items():
        yield f"{above}{name}"
        if isinstance(value, Mapping):
            yield from _paths_of(value, f"{above}{name}.")


def _field_at(path: str) -> FieldInfo:
    """The field at a dotted path; raises `UnknownField`."""
    model: type[BaseModel] | None = Pattern
    for name in path.split("."):
        if model is None or name not in model.model_fields:
            raise UnknownField(path, nearest(path, field_paths()))
        field = model.model_fields[name]
        model = _model_in(field.annotation)
    return field


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model that an annotation such as `Size` or `Gimps | None` holds, if it holds one."""
    choices = (
        typing.get_args(annotation)
        if typing.get_origin(annotation) in (typing.Union, types.UnionType)
        else (annotation,)
    )
    for choice in choices:
        if isinstance(choice, type) and issubclass(choice, BaseModel):
            return choice
    return None


def _as_typed(text: str, field: FieldInfo) -> Any:
    if _is_text(field.annotation):
        return text
    if not text:
        return field.get_default()
    try:
        return yaml.safe_load(text)
    except yaml.YAMLError:
        return text


def _is_text(annotation: Any) -> bool:
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return any(_is_text(choice) for choice in typing.get_args(annotation))
    if typing.get_origin(annotation) is typing.Annotated:
        return _is_text(typing.get_args(annotation)[0])
    return annotation is str


def _faults(refusal: ValidationError) -> list[tuple[str, str]]:
    return [
        (".".join(str(part) for part in error["loc"]) or "record", tell_fault(error))
        for error in refusal.errors()
    ]
