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

BAR_ROOM = 30.0
SHORT_LABEL = 70.0
LONG_LABEL = 165.0
LONGEST_BAR = 150.0
NUMBER_ROOM = 50.0
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
    bars = _bars(_trimmed(groups), SHORT_LABEL)
    return _chart(
        "Patterns by pairs of bobbins", "pairs", bars, _without(len(patterns) - len(known))
    )


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
    title = "Patterns by angle of the ground from the footside"
    note = "To the nearest 5°. " + _without(len(patterns) - len(known))
    return _chart(title, "angle", _bars(_trimmed(groups), SHORT_LABEL), note.strip())


def _trimmed(groups: list[tuple[str, int]]) -> list[tuple[str, int]]:
    """Without the empty groups before the first and after the last that is not."""
    filled = [place for place, (_, count) in enumerate(groups) if count]
    return groups[filled[0] : filled[-1] + 1] if filled else []


def _technique_chart(collected: Collected) -> Chart:
    """Counted as on the techniques' own pages, the narrower ones with the broader."""
    used = {technique: len(places) for technique, places in collected.by_technique.items()}
    ranked = sorted(used, key=lambda technique: (-used[technique], techniques()[technique].name))
    shown = ranked[:MOST_BARS]
    groups = [(techniques()[technique].name, used[technique]) for technique in shown]
    bars = _bars(groups, LONG_LABEL, [technique_path(technique) for technique in shown])
    left = len(ranked) - len(shown)
    note = f"{figures.counted(left, 'further technique')} with as many patterns or fewer."
    return _chart("Techniques with most patterns", "technique", bars, note if left else "")


def _bars(
    groups: Sequence[tuple[str, int]], label_room: float, links: Sequence[str] = ()
) -> tuple[Bar, ...]:
    most = max((count for _, count in groups), default=1)
    return tuple(
        Bar(
            label,
            count,
            x=label_room,
            y=BAR_ROOM * place + 4,
            width=round(LONGEST_BAR * count / most, 1),
            height=BAR_ROOM - 10,
            href=links[place] if links else "",
        )
        for place, (label, count) in enumerate(groups)
    )


def _chart(title: str, unit: str, bars: tuple[Bar, ...], note: str) -> Chart:
    width = max((bar.x for bar in bars), default=0.0) + LONGEST_BAR + NUMBER_ROOM
    return Chart(title, unit, width, BAR_ROOM * len(bars) + 4, bars, note)


def _without(count: int) -> str:
    return f"Not known for {figures.counted(count, 'pattern')}." if count else ""
