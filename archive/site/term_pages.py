"""The pages of techniques and families: what a word means and where it is practised."""

from __future__ import annotations

from archive.site import figures
from archive.site.collected import Collected
from archive.site.ladder import all_before, builds_on, steps
from archive.site.links import (
    family_link,
    family_path,
    technique_link,
    technique_path,
)
from archive.site.pages import FamilyPage, ForeignNames, Listed, ListedTerm, TechniquePage
from archive.site.shelved import Shelved
from archive.vocabulary import (
    FROM_MEMORY,
    LANGUAGES,
    Family,
    Technique,
    Term,
    families,
    technique_sources,
    techniques,
)
from archive.wording import fold

_MADE = {
    "continuous": "Made in one piece, all pairs running from start to end.",
    "tape": "Made as a narrow braid that is bent to draw the design.",
    "part": "Made in pieces that are worked one by one and joined.",
}


def technique_page(collected: Collected, technique: Technique) -> TechniquePage:
    """The page of a technique."""
    using = [collected.patterns[one] for one in collected.by_technique.get(technique.id, ())]
    narrower = techniques().with_narrower(technique.id)
    taught: list[Shelved] = []
    used: list[Shelved] = []
    for pattern in using:
        (taught if _teaches(pattern, narrower) else used).append(pattern)
    return TechniquePage(
        path=technique_path(technique.id),
        name=technique.name,
        also=technique.also,
        definition=technique.definition,
        moves=technique.moves or "",
        sources=_sources(technique.source),
        from_memory=FROM_MEMORY in technique.source,
        foreign=_foreign(technique, technique.other_languages_from_memory),
        foreign_sources=_sources(technique.other_languages_source),
        broader=technique_link(technique.broader) if technique.broader else None,
        narrower=tuple(
            technique_link(one.id) for one in techniques() if one.broader == technique.id
        ),
        part_of=technique_link(technique.part_of) if technique.part_of else None,
        families=tuple(
            family_link(family) for family in technique.families if family in families()
        ),
        know_first=tuple(technique_link(one) for one in technique.prerequisites),
        builds_on_it=tuple(technique_link(one) for one in builds_on()[technique.id]),
        step=steps()[technique.id] + 1,
        taught_by=_cards(collected, taught, technique.id),
        used_by=_cards(collected, used, technique.id),
    )


def family_page(collected: Collected, family: Family) -> FamilyPage:
    """The page of a family."""
    patterns = [collected.patterns[one] for one in collected.by_family.get(family.id, ())]
    used = {technique for pattern in patterns for technique in pattern.technique_ids}
    return FamilyPage(
        path=family_path(family.id),
        name=family.name,
        also=family.also,
        note=family.note,
        made=_MADE[family.made],
        foreign=_foreign(family, from_memory=True),
        broader=family_link(family.broader) if family.broader else None,
        narrower=tuple(family_link(one.id) for one in families() if one.broader == family.id),
        techniques=tuple(technique_link(one.id) for one in techniques() if one.id in used),
        patterns=tuple(Listed(collected.card(pattern)) for pattern in patterns),
    )


def technique_tree(collected: Collected) -> tuple[ListedTerm, ...]:
    """All techniques by name, narrower ones under the broader."""
    by_name = sorted(techniques(), key=lambda technique: fold(technique.name))

    def under(above: str | None) -> tuple[ListedTerm, ...]:
        return tuple(
            ListedTerm(
                technique_link(technique.id),
                "",
                len(collected.by_technique.get(technique.id, ())),
                under(technique.id),
            )
            for technique in by_name
            if technique.broader == above
        )

    return under(None)


def family_tree(collected: Collected) -> tuple[ListedTerm, ...]:
    """All families, those under an umbrella below it."""

    def under(above: str | None) -> tuple[ListedTerm, ...]:
        return tuple(
            ListedTerm(
                family_link(family.id),
                family.note,
                len(collected.by_family.get(family.id, ())),
                under(family.id),
            )
            for family in families()
            if family.broader == above
        )

    return under(None)


def _teaches(pattern: Shelved, among: frozenset[str]) -> bool:
    uses = zip(pattern.technique_ids, pattern.roles, strict=True)
    return not among.isdisjoint([technique for technique, role in uses if role == "taught"])


def _cards(collected: Collected, patterns: list[Shelved], technique: str) -> tuple[Listed, ...]:
    known = techniques().with_narrower(technique) | all_before(technique)
    return tuple(Listed(collected.card(pattern), _others(pattern, known)) for pattern in patterns)


def _others(pattern: Shelved, known: frozenset[str]) -> str:
    """How many techniques a pattern uses besides what is known."""
    others = len(set(pattern.technique_ids) - known)
    return f"uses {figures.counted(others, 'other technique')}" if others else "uses no other"


def _foreign(term: Term, from_memory: bool) -> tuple[ForeignNames, ...]:
    return tuple(
        ForeignNames(LANGUAGES[code], code, tuple(words), from_memory)
        for code, words in term.other_languages.items()
    )


def _sources(codes: tuple[str, ...]) -> tuple[str, ...]:
    known = technique_sources()
    return tuple(known[code] for code in codes if code in known and code != FROM_MEMORY)
