"""What a collection says of itself in `collection.toml`: who keeps it and by which rules.

Turns the words of that file into settings and settings into a file with explanations. Does
not touch the disk.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from archive.errors import InputError, UnreadableFile
from archive.records.faults import tell_fault
from archive.records.house import HouseRules
from archive.records.pattern import Line

_LANGUAGE_TAG = re.compile(
    r"[a-z]{2,3}(-[a-z]{3}){0,3}"  # language, extended language
    r"(-[a-z]{4})?(-([a-z]{2}|[0-9]{3}))?"  # script, region
    r"(-([a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*"  # variants
    r"(-[a-wyz0-9](-[a-z0-9]{2,8})+)*(-x(-[a-z0-9]{1,8})+)?",  # extensions, private use
    re.IGNORECASE | re.ASCII,
)
"""A well-formed language tag without the old irregular ones. Source: RFC 5646, section 2.1."""

_LINE_IN_MESSAGE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column \d+|end of document)\)$")
_ADVICE = "Correct the file with any text editor; the lines that start with # explain it."


Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]


def _well_formed(tag: str) -> str:
    if not _LANGUAGE_TAG.fullmatch(tag):
        raise ValueError(f"“{tag}” is not a language code such as en, nl or de-CH")
    return tag


class Publishing(BaseModel):
    """What the published site may show beyond the words of the records."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    pictures: Literal["where rights allow", "never"] = "where rights allow"
    credit_line: Line = ""


class Checking(BaseModel):
    """How far a record and its sheet may differ before a person is asked to look."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)

    width_percent: Percent = 10
    """Parts in a hundred by which width and pinned width may differ: picots stand outside."""
    repeat_percent: Percent = 3
    """Parts in a hundred by which repeats may differ: copies stretch, and paper shrinks."""


class CollectionSettings(BaseModel):
    """The settings of one collection.

    `language` is that of its records, as a BCP 47 tag. `house` are the rules by which the
    analyser turns pins into pairs and thread, `checking` those by which records are checked.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=True)

    name: Annotated[Line, Field(min_length=1)]
    holder: Line = ""
    language: Annotated[str, AfterValidator(_well_formed)] = "en"
    publishing: Publishing = Publishing()
    house: HouseRules = HouseRules()
    checking: Checking = Checking()


def make_settings(name: str, *, holder: str = "", language: str = "en") -> CollectionSettings:
    """The settings of a new collection, as a person names them.

    Raises:
        InputError: the name is empty or too long, or the language is no language code.
    """
    try:
        return CollectionSettings(name=name, holder=holder, language=language)
    except ValidationError as refusal:
        fault = refusal.errors()[0]
        raise InputError(
            f"{fault['loc'][0]}: {tell_fault(fault)}.",
            "Give another value; no collection was started.",
        ) from refusal


def read_settings(text: str, path: Path) -> CollectionSettings:
    """The settings written in `text`; `path` is the file it stands in.

    Raises:
        UnreadableFile: it is not TOML or breaks a rule; names the line where that can be told.
    """
    try:
        return CollectionSettings.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as cause:
        said = str(cause)
        place = _LINE_IN_MESSAGE.search(said)
        line = int(place["line"]) if place and place["line"] else text.count("\n") + 1
        reason = f"line {line} is not valid TOML ({_LINE_IN_MESSAGE.sub('', said)})"
        raise UnreadableFile(path, reason, _ADVICE) from cause
    except ValidationError as cause:
        raise UnreadableFile(path, _first_fault(text, cause), _ADVICE) from cause


def write_settings(settings: CollectionSettings) -> str:
    """The text of a `collection.toml` with a comment on every setting."""
    publishing = settings.publishing
    lines = [
        "# The settings of this collection. Change what stands behind the = signs and save.",
        "",
        "# What the collection is called, and who keeps it.",
        f"name = {_quoted(settings.name)}",
        f"holder = {_quoted(settings.holder)}",
        "",
        "# The language of its records: en, fr, de, nl, da, it … (a BCP 47 code).",
        f"language = {_quoted(settings.language)}",
        "",
        "[publishing]",
        '# Pictures on the published site: "where rights allow" or "never".',
        f"pictures = {_quoted(publishing.pictures)}",
        "# A line printed under every picture, such as: Photograph by our members.",
        f"credit_line = {_quoted(publishing.credit_line)}",
        "",
        "[house]",
        "# Working habits by which pairs and threads are estimated from a pricking. They are",
        "# common practice, not facts: set them to what your guild works by.",
    ]
    lines += _explained(settings.house)
    lines += ["", "[checking]", "# How far a record and its sheet may differ before you are asked."]
    lines += _explained(settings.checking)
    return "\n".join(lines) + "\n"


def _explained(table: BaseModel) -> Iterator[str]:
    for name, field in type(table).model_fields.items():
        yield f"# {field.description}"
        yield f"{name} = {getattr(table, name)}"


def _quoted(text: str) -> str:
    # A JSON string is a TOML basic string, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _first_fault(text: str, refusal: ValidationError) -> str:
    fault = refusal.errors()[0]
    path = [str(part) for part in fault["loc"]]
    line = _line_of(text, path)
    where = f"line {line}, {path[-1]}" if line else path[-1]
    return f"{where}: {tell_fault(fault)}"


def _line_of(text: str, path: list[str]) -> int | None:
    """The line on which the key at `path` stands in its table; None where it is not found."""
    table, wanted = "", ".".join(path[:-1])
    for number, line in enumerate(text.splitlines(), start=1):
        content = line.strip()
        if content.startswith("["):
            table = content.partition("#")[0].strip(" []")
        elif table == wanted and content.partition("=")[0].strip(" \"'") == path[-1]:
            return number
    return None
