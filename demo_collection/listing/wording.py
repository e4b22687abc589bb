"""How the librarian writes what a recipe says of a pricking: a little differently in each box."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Mapping
from typing import Any

from archive.vocabulary import families, kinds, levels, techniques

_ROLE_WORDS = (("taught", "teaches"), ("practised", "uses"), ("optional", "optional"))


def lace(entry: Mapping[str, Any]) -> str:
    """The families, as the librarian calls them."""
    return "; ".join(families()[family].name for family in entry["families"])


def form(entry: Mapping[str, Any]) -> str:
    """What the pattern makes."""
    return kinds()[entry["kind"]].name


def stitches(entry: Mapping[str, Any], spelt: Mapping[str, str]) -> str:
    """The techniques with their roles; in the boxes of plaited lace the new ones are marked."""
    words = {
        role: [_technique(use["id"], spelt) for use in entry["techniques"] if use["role"] == role]
        for role, _ in _ROLE_WORDS
    }
    if entry["shelfmark"].startswith("L"):
        marked = [f"{word} (new)" for word in words["taught"]]
        extra = [f"{word} (optional)" for word in words["optional"]]
        return "; ".join([*marked, *words["practised"], *extra])
    return "; ".join(
        f"{label}: {', '.join(words[role])}" for role, label in _ROLE_WORDS if words[role]
    )


def _technique(term: str, spelt: Mapping[str, str]) -> str:
    return spelt.get(term, techniques()[term].name)


def pairs(entry: Mapping[str, Any]) -> str:
    """The pairs; in the boxes of point ground the gimps stand beside them."""
    start, most, extra = (entry["pairs"][name] for name in ("start", "max", "corner_extra"))
    if extra:
        words = f"{start} (+{extra} corner)"
    elif start != most:
        words = f"{start} at the start, up to {most}"
    else:
        words = f"{most} pairs"
    if not entry["shelfmark"].startswith("P"):
        return words
    gimps = entry["gimps"] or 0
    return f"{words} + {gimps} gimp{'s' if gimps > 1 else ''}" if gimps else f"{words}, no gimp"


def gimps(entry: Mapping[str, Any]) -> str | None:
    """The gimps where they have a column of their own; nobody noted them for plaited lace."""
    if not entry["shelfmark"].startswith(("T", "K")):
        return None
    return str(entry["gimps"] or "none")


def level(entry: Mapping[str, Any]) -> str | int:
    """The level, as a number, in words, out of five or in stars."""
    number: int = entry["difficulty"]
    ways: dict[str, str | int] = {
        "P": number,
        "T": levels()[str(number)].name,
        "L": f"{number}/5",
        "K": "*" * number,
    }
    return ways[str(entry["shelfmark"])[0]]


def size(entry: Mapping[str, Any]) -> str:
    """The width, or both sizes where the piece is finished; torchon in centimetres."""
    width_mm = entry["width_mm"]
    if entry["kind"] == "mat":
        return f"Ø {width_mm} mm"
    if entry["kind"] == "bookmark":
        return f"{width_mm} x {entry['drawn_mm'][1]} mm"
    if entry["shelfmark"].startswith("T"):
        return f"{width_mm / 10:.2f} cm".replace(".", ",")
    return f"{width_mm} mm"


def corner(entry: Mapping[str, Any]) -> str | None:
    """Yes where there is one."""
    return "yes" if entry["corner"] else None


def how_to_work(entry: Mapping[str, Any]) -> str:
    """The steps, numbered, and what is easy to get wrong."""
    steps = [f"{number}. {note}" for number, note in enumerate(entry["working_notes"], 1)]
    return "\n".join([*steps, f"Mind: {entry['easily_wrong']}"])


def faults(entry: Mapping[str, Any]) -> str | None:
    """What is wrong on the sheet, noted at the meeting of that month."""
    noted = [
        f"{_in_words(_meeting(correction['date']))}: {correction['text'].replace('; ', ' -> ', 1)}"
        for correction in entry["corrections"]
    ]
    return "\n".join(noted) or None


def _meeting(month: str) -> dt.date:
    """The guild meets on the second Saturday of the month."""
    year, number = (int(part) for part in month.split("-"))
    first_weekday, _ = calendar.monthrange(year, number)
    return dt.date(year, number, 8 + (calendar.SATURDAY - first_weekday) % 7)


def _in_words(day: dt.date) -> str:
    return f"{day.day} {calendar.month_name[day.month]} {day.year}"
