"""Where the values of cells go in a record that is being read.

A record grows as plain data and is validated once, when its row is complete.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from pydantic import BaseModel

from archive.lists.lacework import TechniquesCell, use_of
from archive.lists.pairs import GimpsCell, PairsCell
from archive.records import Gimps, PairCount, Right, UnparsedNote

R = TypeVar("R", bound=BaseModel)

Draft = dict[str, Any]
"""The fields of one record so far, as plain data or as finished parts of a record."""

Put = Callable[[Draft, Any], bool]
"""Puts a value into the draft; False if another cell has said something else before."""

WHOLE_SHEET = ("design", "working_up", "pricking")
"""The rights that a list speaks of where it has a single column for them."""


def put_one(name: str) -> Put:
    """A field that holds one value."""

    def put(draft: Draft, value: Any) -> bool:
        known = draft.setdefault(name, value)
        return known is value or bool(known == value)

    return put


def put_part(group: str, name: str) -> Put:
    """A part of a group of fields."""

    def put(draft: Draft, value: Any) -> bool:
        parts = draft.get(group)
        if parts is None:
            draft[group] = {name: value}
            return True
        known = parts.setdefault(name, value)
        return known is value or bool(known == value)

    return put


def put_parts(group: str) -> Put:
    """Several parts of a group at once."""

    def put(draft: Draft, value: dict[str, Any]) -> bool:
        parts = draft.get(group)
        if parts is None:
            draft[group] = {**value}
            return True
        agreed = [parts.setdefault(name, said) == said for name, said in value.items()]
        return all(agreed)

    return put


def put_more(name: str) -> Put:
    """A list that every cell adds to."""

    def put(draft: Draft, value: tuple[Any, ...]) -> bool:
        known = draft.setdefault(name, value)
        if known is not value:
            draft[name] = known + tuple(one for one in value if one not in known)
        return True

    return put


def put_joined(group: str, name: str) -> Put:
    """A text that every cell adds a line to."""

    def put(draft: Draft, value: str) -> bool:
        known = draft.setdefault(group, {})
        known[name] = f"{known[name]}\n{value}" if name in known else value
        return True

    return put


def put_pairs(how: str) -> Put:
    """Pairs that were stated or counted, and gimps that stand beside them."""
    put_count = put_part("pairs", how)

    def put(draft: Draft, value: PairsCell) -> bool:
        agreed = put_count(draft, value.pairs)
        return _put_said_gimps(draft, value.gimps) and agreed

    return put


def _put_said_gimps(draft: Draft, gimps: Gimps | None) -> bool:
    return gimps is None or bool(draft.setdefault("gimps", gimps) == gimps)


def put_gimps(draft: Draft, value: GimpsCell) -> bool:
    """Gimps that are counted; where they are only said to be used, the technique."""
    if value.used:
        return put_uses(draft, TechniquesCell((use_of("gimp", "practised"),)))
    return _put_said_gimps(draft, value.gimps)


_RANK = {"taught": 0, "practised": 1, "optional": 2}


def put_uses(draft: Draft, value: TechniquesCell) -> bool:
    """A technique that is named twice keeps its strongest role."""
    known = draft.get("techniques")
    if known is None:
        draft["techniques"] = value.uses
    else:
        roles = {use.technique: use for use in known}
        for use in value.uses:
            before = roles.get(use.technique)
            if before is None or _RANK[use.role] < _RANK[before.role]:
                roles[use.technique] = use
        draft["techniques"] = tuple(roles.values())
    return _put_said_gimps(draft, value.gimps)


def put_rights(draft: Draft, value: Any) -> bool:
    """A right that a list states once for the whole sheet."""
    return put_parts("rights")(draft, dict.fromkeys(WHOLE_SHEET, value))


def complete(draft: Draft) -> None:
    """Bring what stands in columns of its own to the part of the record it belongs to."""
    if draft.get("kind") == "corner_edging":
        draft.setdefault("corner", True)
    if "corner_extra" in draft:
        pairs = draft.setdefault("pairs", {})
        stated = pairs.get("stated", PairCount())
        pairs["stated"] = _with(stated, corner_extra=draft.pop("corner_extra"))
    if "wraps_per_cm" in draft:
        _give_wraps(draft, draft.pop("wraps_per_cm"))
    if "right_details" in draft:
        _give_right_details(draft, draft.pop("right_details"))


def _give_wraps(draft: Draft, wraps_per_cm: float) -> None:
    """The wraps belong to the first thread, which is the one the lace is made of."""
    first, *others = draft.get("threads", (None,))
    if first is None:
        _keep(draft, "wraps per cm", f"{wraps_per_cm:g}")
    else:
        draft["threads"] = (_with(first, wraps_per_cm=wraps_per_cm), *others)


def _give_right_details(draft: Draft, details: dict[str, str]) -> None:
    """Holder, basis and letter hold for each of the row's rights that does not name its own."""
    named = draft.get("rights")
    if not named:
        for name, words in details.items():
            _keep(draft, f"rights {name.replace('_', ' ')}", words)
        return
    draft["rights"] = {
        part: Right.model_validate(details | right.model_dump(exclude_defaults=True))
        for part, right in named.items()
    }


def _with(record: R, **changes: Any) -> R:
    """The part of a record with some of its fields changed, validated anew."""
    return type(record).model_validate(record.model_dump(exclude_defaults=True) | changes)


def _keep(draft: Draft, field: str, words: str) -> None:
    draft["unparsed"] = (*draft.get("unparsed", ()), UnparsedNote(field=field, words=words))
