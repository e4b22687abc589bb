"""The pages over the whole collection: search, levels, shelf list, about with its figures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from archive.site import figures
from archive.site.collected import Collected
from archive.site.links import NO_LEVEL, level_name, technique_path
from archive.site.pages import (
    AboutPage,
    Bar,
    Chart,
    Fact,
    HomePage,
    LevelSection,
    Link,
    Listed,
    ListedTerm,
    ShelfRow,
)
from archive.site.shelved import Shelved
from archive.site.term_pages import family_tree, technique_tree
from archive.vocabulary import levels, techniques

BAR_ROOM = 34.0
CHART_HEIGHT = 150.0
LABEL_ROOM = 165.0
LONGEST_BAR = 150.0
MOST_BARS = 15


def home_page(collected: Collected, *, bundled: bool) -> HomePage:
    """The search page and table of contents."""
    patterns = collected.patterns
    practised = _practised(patterns)
    with_picture = sum(1 for pattern in patterns if pattern.thumbnail)
    by_level = Counter(pattern.level or NO_LEVEL for pattern in patterns)
    return HomePage(
        counts=(
            Fact("pattern" if len(patterns) == 1 else "patterns", str(len(patterns))),
            Fact(f"{'technique' if practised == 1 else 'techniques'} practised", str(practised)),
            Fact("with a picture", str(with_picture)),
        ),
        families=_used(family_tree(collected)),
        levels=tuple(
            ListedTerm(Link(level_name(level), f"difficulty.html#level-{level}"), "",
                       by_level[level])
            for level in (*(one.level for one in levels()), NO_LEVEL)
            if by_level[level]
        ),
        techniques=_used(technique_tree(collected)),
        bundled=bundled,
    )  # fmt: skip


def _used(terms: Sequence[ListedTerm]) -> tuple[ListedTerm, ...]:
    return tuple(
        ListedTerm(term.link, term.note, term.patterns, _used(term.narrower))
        for term in terms
        if term.patterns
    )


def _practised(patterns: Sequence[Shelved]) -> int:
    return len({technique for pattern in patterns for technique in pattern.technique_ids})


def level_sections(collected: Collected) -> tuple[LevelSection, ...]:
    """The patterns by level, first steps first; those without a level last."""
    sections = []
    for level in (*(one.level for one in levels()), NO_LEVEL):
        patterns = tuple(
            Listed(collected.card(pattern))
            for pattern in map(collected.patterns.__getitem__, collected.from_easy_to_hard)
            if (pattern.level or NO_LEVEL) == level
        )
        sections.append(LevelSection(level, level_name(level), patterns))
    return tuple(section for section in sections if section.patterns)


def shelf_rows(collected: Collected) -> tuple[ShelfRow, ...]:
    """All patterns in the order of their shelfmarks."""
    return tuple(
        ShelfRow(
            link=Link(card.shelfmark, card.path),
            title=card.title,
            families=card.families,
            kind=card.kind,
            pairs=card.pairs,
            level=card.level,
            level_name=card.level_name,
        )
        for card in map(collected.card, collected.patterns)
    )


def about_page(collected: Collected, about: str) -> AboutPage:
    """What the collection is, in words and small charts."""
    patterns = collected.patterns
    measured = [pattern.measured for pattern in patterns if pattern.measured is not None]
    return AboutPage(
        paragraphs=tuple(part.strip() for part in about.split("\n\n") if part.strip()),
        facts=(
            Fact("Patterns", str(len(patterns))),
            Fact("Sheets measured", str(len(measured))),
            Fact("Pinholes on them", f"{sum(found.pins for found in measured):,}"),
            Fact("Techniques practised", str(_practised(patterns))),
            Fact("With corrections", str(sum(1 for pattern in patterns if pattern.corrected))),
        ),
        charts=tuple(
            chart
            for chart in (
                _pairs_chart(patterns),
                _angle_chart(patterns),
                _technique_chart(collected),
            )
            if chart.bars
        ),
    )


def _pairs_chart(patterns: Sequence[Shelved]) -> Chart:
    known = [pattern.best_pairs for pattern in patterns if pattern.best_pairs is not None]
    edges = (0, 6, 10, 15, 20, 30, 40, 60, 100)
    groups = [
        (f"{low}–{high - 1}" if high else f"{low}+",
         sum(1 for pairs in known if low <= pairs and (high is None or pairs < high)))
        for low, high in zip(edges, (*edges[1:], None), strict=True)
    ]  # fmt: skip
    return _columns("Pairs of bobbins", "pairs", _trimmed(groups), len(patterns) - len(known))


def _angle_chart(patterns: Sequence[Shelved]) -> Chart:
    known = [
        pattern.measured.ground_angle_deg
        for pattern in patterns
        if pattern.measured is not None and pattern.measured.ground_angle_deg is not None
    ]
    groups = [
        (f"{angle}°", sum(1 for one in known if angle - 2.5 <= one < angle + 2.5))
        for angle in range(0, 95, 5)
    ]
    title = "Angle of the ground from the footside, to the nearest 5°"
    return _columns(title, "angle", _trimmed(groups), len(patterns) - len(known))


def _trimmed(groups: list[tuple[str, int]]) -> list[tuple[str, int]]:
    """Without the empty groups before the first and after the last that is not."""
    filled = [place for place, (_, count) in enumerate(groups) if count]
    return groups[filled[0] : filled[-1] + 1] if filled else []


def _columns(title: str, unit: str, groups: list[tuple[str, int]], without: int) -> Chart:
    most = max((count for _, count in groups), default=1)
    bars = tuple(
        Bar(
            label,
            count,
            x=BAR_ROOM * 2 * place + 6,
            y=round(CHART_HEIGHT - CHART_HEIGHT * count / most, 1) + 20,
            width=BAR_ROOM * 2 - 12,
            height=round(CHART_HEIGHT * count / most, 1),
        )
        for place, (label, count) in enumerate(groups)
    )
    return Chart(title, unit, BAR_ROOM * 2 * len(groups), CHART_HEIGHT + 48, True, bars,
                 _without(without))  # fmt: skip


def _technique_chart(collected: Collected) -> Chart:
    used = Counter(
        technique for pattern in collected.patterns for technique in set(pattern.technique_ids)
    )
    ranked = sorted(used.items(), key=lambda item: (-item[1], techniques()[item[0]].name))
    most = ranked[0][1] if ranked else 1
    bars = tuple(
        Bar(
            techniques()[technique].name,
            count,
            x=LABEL_ROOM,
            y=BAR_ROOM * place + 4,
            width=round(LONGEST_BAR * count / most, 1),
            height=BAR_ROOM - 10,
            href=technique_path(technique),
        )
        for place, (technique, count) in enumerate(ranked[:MOST_BARS])
    )
    left = len(ranked) - len(bars)
    note = "Each is counted without the techniques that are narrower."
    if left:
        note += f" {figures.counted(left, 'further technique')} with no more patterns."
    return Chart("Techniques with most patterns", "technique", LABEL_ROOM + LONGEST_BAR + 50,
                 BAR_ROOM * len(bars) + 4, False, bars, note)  # fmt: skip


def _without(count: int) -> str:
    return f"Not known for {figures.counted(count, 'pattern')}." if count else ""
