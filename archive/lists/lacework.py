"""Cells in the words of lace: techniques with their roles, families, kinds and threads."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from typing import Literal, NamedTuple, cast

from archive.lists.cells import CellReader, Reading, left_over
from archive.lists.problems import Remark, remark, unknown_family, unknown_kind, unknown_technique
from archive.lists.words import any_of, meanings, plain, short_forms, words_for
from archive.records import Gimps, TechniqueUse, Thread
from archive.threads import Doubt, read_label
from archive.vocabulary import Term, families, kinds, techniques
from archive.wording import fold

Role = Literal["taught", "practised", "optional"]
WordTest = Callable[[str], bool]

_PARTS = re.compile(r"[;\n•]")
_CUTS = (
    re.compile(r"\s*,\s*"),
    re.compile(r"\s+(?:and|und|et|en|/)\s+|\s*[+&]\s*"),
    re.compile(r"/"),
)
_THREAD_JOINS = re.compile(r"\s*,\s*|\s+(?:and|und|et|en|\+|&)\s+")
_LABEL = re.compile(r"\s*([^\W\d][^:;,]{0,30}?)\s*:\s*")
_BRACKETS = re.compile(r"(.*?)\s*\(([^()]*)\)\s*")
_IES = re.compile(r"ies\b")
_EDGES = " .…\t\r\n\xa0"


class TechniquesCell(NamedTuple):
    """The techniques of a cell, and no gimps where it says “no gimp”."""

    uses: tuple[TechniqueUse, ...]
    gimps: Gimps | None = None


class _Part(NamedTuple):
    """What a part of such a cell says; `role` holds for the parts after it too."""

    uses: tuple[TechniqueUse, ...]
    role: Role
    gimps: Gimps | None
    remarks: tuple[Remark, ...]


def techniques_reader(role: Role) -> CellReader:
    """A reader for a column of techniques that play `role` unless the cell says otherwise."""

    def read_techniques(text: str) -> Reading[TechniquesCell]:
        uses: dict[str, TechniqueUse] = {}
        remarks: tuple[Remark, ...] = ()
        gimps = None
        its_role = role
        for words in _parts(text):
            its_uses, its_role, no_gimps, its_remarks = _read_part(words, its_role)
            for use in its_uses:
                uses.setdefault(use.technique, use)
            gimps = gimps or no_gimps
            remarks += its_remarks
        return Reading(TechniquesCell(tuple(uses.values()), gimps), remarks)

    return read_techniques


@lru_cache(maxsize=16384)
def _read_part(text: str, role: Role) -> _Part:
    uses = []
    remarks: list[Remark] = []
    gimps = None
    for labelled, its_role in _roles(text, role):
        role = its_role
        for words in _split(labelled, lambda words: find_technique(words) is not None):
            match = _BRACKETS.fullmatch(words)
            own_role = meanings("roles").get(plain(match[2])) if match else None
            name = match[1] if match and own_role else words
            technique_id = find_technique(name)
            if technique_id is not None:
                uses.append(use_of(technique_id, cast(Role, own_role or role)))
                remarks += _beside_name(name, techniques()[technique_id])
            elif plain(name) in _no_gimps():
                gimps = Gimps()
            elif plain(name) not in words_for("none"):
                remarks.append(unknown_technique(name))
    return _Part(tuple(uses), role, gimps, tuple(remarks))


@lru_cache(maxsize=8192)
def find_technique(words: str) -> str | None:
    """The id of the technique that `words` name, short forms included.

    >>> find_technique("h'comb rings"), find_technique("pt. ground"), find_technique("c/s")
    ('honeycomb_ring', 'point_ground', 'cloth_stitch')
    """
    bare = plain(words)
    short = short_forms("short_techniques").get(bare)
    if short is not None:
        return short
    longer = short_forms("short_words")
    spelt_out = " ".join(longer.get(word, word) for word in bare.split())
    for name in (words, spelt_out, _IES.sub("y", spelt_out)):
        found = techniques().find(name)
        if found is not None:
            return found.id
    return None


def _beside_name(words: str, term: Term) -> list[Remark]:
    """The remark for words in brackets that are not a part of the term's own name."""
    match = re.search(r"\(([^()]*)\)", words)
    if match is None or fold(words) in {fold(name) for _, name in term.names}:
        return []
    return [left_over(match[1], of=words)]


@cache
def use_of(technique_id: str, role: Role) -> TechniqueUse:
    """The technique in its role; made once, since records never change."""
    return TechniqueUse(technique=technique_id, role=role)


def read_families(text: str) -> Reading[tuple[str, ...]]:
    """Families of lace.

    >>> read_families("Bucks / torchon").value
    ('bucks', 'torchon')
    """
    found: dict[str, None] = {}
    remarks: list[Remark] = []
    for words in _split(text, lambda words: families().find(words) is not None):
        family = families().find(words)
        if family is None:
            remarks.append(unknown_family(words))
        else:
            found[family.id] = None
            remarks += _beside_name(words, family)
    return Reading(tuple(found), tuple(remarks))


def read_kind(text: str) -> Reading[str]:
    """The kind of pattern.

    >>> read_kind("Edging + corner").value
    'corner_edging'
    """
    kind = kinds().find(text.strip(_EDGES))
    if kind is None:
        return Reading(None, (unknown_kind(text),))
    return Reading(kind.id, tuple(_beside_name(text, kind)))


def threads_reader(use: str | None) -> CellReader:
    """A reader for a column of threads that serve `use` unless the cell says otherwise."""

    def read_threads(text: str) -> Reading[tuple[Thread, ...]]:
        threads = []
        remarks = []
        for label in _thread_labels(text):
            thread, doubt = _read_thread(label, use)
            threads.append(thread)
            if doubt is not None:
                remarks.append(remark(doubt.value, thread.label))
        return Reading(tuple(threads), tuple(remarks))

    return read_threads


def _read_thread(words: str, use: str | None) -> tuple[Thread, Doubt | None]:
    uses = meanings("thread_uses")
    label = words
    if (match := _LABEL.match(words)) and plain(match[1]) in uses:
        label, use = words[match.end() :].strip(), uses[plain(match[1])]
    elif (match := _BRACKETS.fullmatch(words)) and plain(match[2]) in uses:
        label, use = match[1], uses[plain(match[2])]
    read = read_label(label)
    thread = Thread(
        label=label,
        system=read.system,
        count=read.count,
        plies=read.plies,
        fibre=read.fibre,
        use=use,
        wraps_per_cm=read.wraps_per_cm,
    )
    return thread, read.doubt


def _thread_labels(text: str) -> Iterator[str]:
    """The single threads of a cell: parts, and what commas join where each has a number."""
    for part in _parts(text):
        joined = _THREAD_JOINS.split(part.strip())
        if len(joined) > 1 and all(read_label(one).doubt is not Doubt.NO_NUMBER for one in joined):
            yield from joined
        elif part.strip():
            yield part.strip()


def _roles(part: str, role: Role) -> Iterator[tuple[str, Role]]:
    """A part cut where a word such as “uses:” begins a new role."""
    start = 0
    for label in _role_label().finditer(part):
        yield part[start : label.start()], role
        start, role = label.end(), cast(Role, meanings("roles")[plain(label[1])])
    yield part[start:], role


@cache
def _role_label() -> re.Pattern[str]:
    return re.compile(rf"(?<!\w)({any_of(meanings('roles'))})\s*:\s*", re.IGNORECASE)


def _parts(text: str) -> list[str]:
    """What stands between semicolons, on lines of its own or behind bullets."""
    return _PARTS.split(text) if "\n" in text or "•" in text else text.split(";")


def _split(text: str, known: WordTest) -> list[str]:
    """The words between commas and joining words, but a name that contains one stays whole."""
    pieces = _parts(text.strip())
    for cut in _CUTS:
        pieces = [
            words
            for piece in pieces
            for words in ([piece] if known(piece.strip(_EDGES)) else cut.split(piece))
        ]
    bare = (piece.strip(_EDGES) for piece in pieces)
    return [words for words in bare if words]


@cache
def _no_gimps() -> frozenset[str]:
    return frozenset(
        f"{without} {gimp}" for without in words_for("without") for gimp in words_for("gimp_words")
    )
