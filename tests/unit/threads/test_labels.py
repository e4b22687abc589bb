import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.threads import Doubt, NumberingSystem, fibres, read_label, systems

pieces = st.sampled_from(
    [
        "80/2", "2/60", "50", "12,5", "1.000", "25-50", "x 2", "x", "/", "-", "R", "No.", "3-ply",
        "30 wpc", "50 g", "18th", "and", "9999999", "(", ")", "½", "٣", "İ", "ﬁ", "\n", "",
        *(label for system in systems() for label in system.labels),
        *(word for fibre in fibres() for word in fibre.words),
    ]
)  # fmt: skip
messy_labels = st.one_of(
    st.text(max_size=40),
    st.lists(pieces, max_size=7).map(" ".join),
    st.lists(pieces, max_size=7).map("".join),
)


@pytest.mark.parametrize(
    ("text", "system", "count", "plies"),
    [
        ("80/2 NeL", "NeL", 80, 2),
        ("NeL 80/2", "NeL", 80, 2),
        ("NeL80/2", "NeL", 80, 2),
        ("80/2 linen NeL", "NeL", 80, 2),
        ("100/2 (Ne L)", "NeL", 100, 2),
        ("40/2 lea", "NeL", 40, 2),
        ("60/2 Ne", "Ne", 60, 2),
        ("50/3 NeC cotton", "Ne", 50, 3),
        ("Nm 60/2", "Nm", 60, 2),
        ("Nm: 34 / 2", "Nm", 34, 2),
        ("nm 66,5/2", "Nm", 66.5, 2),
        ("60/2-ply Nm", "Nm", 60, 2),
        ("2-ply 60 Nm", "Nm", 60, 2),
        ("60/2 worsted", "worsted", 60, 2),
        ("12 tex x 2", "tex", 12, 2),
        ("12tex×2", "tex", 12, 2),
        ("12 x 2 tex", "tex", 12, 2),
        ("40 tex", "tex", 40, None),
        ("Rtex 25", "tex", 25, None),
        ("R 25 tex/2", "tex", 12.5, 2),
        ("60 den", "denier", 60, None),
        ("8 lb/spyndle", "jute", 8, None),
    ],
)
def test_label_with_a_system_is_read_without_doubt(
    text: str, system: str, count: float, plies: int | None
) -> None:
    read = read_label(text)
    assert (read.system, read.count, read.plies) == (system, count, plies)
    assert (read.doubt, read.rest, read.candidates) == (None, "", ())
    assert read.linear_density_tex is not None


@pytest.mark.parametrize(
    ("text", "fibre", "count", "plies", "candidates"),
    [
        ("80/2 linen", "linen", 80, 2, ("NeL", "Nm")),
        ("Leinengarn 80/2", "linen", 80, 2, ("NeL", "Nm")),
        ("50/3 cotton", "cotton", 50, 3, ("Ne", "Nm")),
        ("silk 20/3", "silk", 20, 3, ("Nm",)),
        ("80/2", None, 80, 2, ("Ne", "NeL", "worsted", "Nm")),
    ],
)
def test_system_that_is_not_stated_is_not_guessed(
    text: str, fibre: str | None, count: float, plies: int, candidates: tuple[str, ...]
) -> None:
    read = read_label(text)
    assert (read.fibre, read.count, read.plies) == (fibre, count, plies)
    assert (read.system, read.linear_density_tex) == (None, None)
    assert (read.candidates, read.doubt) == (candidates, Doubt.NO_SYSTEM)


@pytest.mark.parametrize(
    ("text", "number", "plies", "fibre", "rest"),
    [
        ("cotton 50", 50, None, "cotton", ""),
        ("No. 40 cotton", 40, None, "cotton", ""),
        ("60s cotton", 60, None, "cotton", ""),
        ("Cordonnet 30", 30, None, None, "Cordonnet"),
        ("Cordonnet 6 fils 30", 30, 6, None, "Cordonnet"),
        ("50 cotton 3-ply Z", 50, 3, "cotton", "Z"),
        ("40wt cotton", 40, None, "cotton", "wt"),
    ],
)
def test_bare_number_is_no_count(
    text: str, number: int, plies: int | None, fibre: str | None, rest: str
) -> None:
    read = read_label(text)
    assert (read.number, read.plies, read.fibre, read.rest) == (number, plies, fibre, rest)
    assert (read.count, read.doubt) == (None, Doubt.NOT_A_COUNT)


@pytest.mark.parametrize(
    ("text", "system", "doubt", "rest"),
    [
        ("2/60", None, Doubt.ORDER_UNCLEAR, "2/60"),
        ("2/60 Nm", "Nm", Doubt.ORDER_UNCLEAR, "2/60"),
        ("worsted 2/60", "worsted", Doubt.ORDER_UNCLEAR, "2/60"),
        ("2 x 12 tex", "tex", Doubt.ORDER_UNCLEAR, "2 x 12"),
        ("20/22 den", "denier", Doubt.ORDER_UNCLEAR, "20/22"),
        ("120/2 den", "denier", Doubt.ORDER_UNCLEAR, "120/2"),
        ("75/36 dtex", "dtex", Doubt.ORDER_UNCLEAR, "75/36"),
        ("80/60", None, Doubt.ORDER_UNCLEAR, "80/60"),
        ("Cordonnet 25-50", None, Doubt.NUMBERS_UNCLEAR, "Cordonnet 25-50"),
        ("Nm 60/2 (NeL 36/2)", None, Doubt.NUMBERS_UNCLEAR, "Nm 60/2 (NeL 36/2)"),
        ("60/2/3", None, Doubt.NUMBERS_UNCLEAR, "60/2/3"),
        ("60/2 3-ply", None, Doubt.NUMBERS_UNCLEAR, "60/2 3-ply"),
        ("50,60", None, Doubt.NUMBERS_UNCLEAR, "50,60"),
        ("16,5/2", None, Doubt.NUMBERS_UNCLEAR, "16,5/2"),
        ("0/2", None, Doubt.NUMBERS_UNCLEAR, "0/2"),
        ("No. 1886", None, Doubt.NUMBERS_UNCLEAR, "No. 1886"),
        ("1,000 dtex", None, Doubt.NO_NUMBER, "1,000 dtex"),
        ("gimp", None, Doubt.NO_NUMBER, "gimp"),
        ("18th century", None, Doubt.NO_NUMBER, "18th century"),
        ("50 g", None, Doubt.NO_NUMBER, "50 g"),
        ("", None, Doubt.NO_NUMBER, ""),
    ],
)
def test_what_cannot_be_read_is_kept_and_named(
    text: str, system: str | None, doubt: Doubt, rest: str
) -> None:
    read = read_label(text)
    assert (read.system, read.count, read.number) == (system, None, None)
    assert (read.doubt, read.rest) == (doubt, rest)


def test_cotton_count_beside_linen_is_not_believed() -> None:
    read = read_label("60/2 Ne linen")
    assert (read.system, read.linear_density_tex) == (None, None)
    assert (read.count, read.plies, read.candidates) == (60, 2, ("NeL", "Nm", "Ne"))
    assert read.doubt is Doubt.SYSTEM_AND_FIBRE_DISAGREE


def test_count_without_plies_is_not_converted() -> None:
    read = read_label("Nm 60")
    assert (read.system, read.count, read.plies) == ("Nm", 60, None)
    assert (read.doubt, read.linear_density_tex) == (Doubt.NO_PLIES, None)


def test_plies_that_are_stated_twice_are_not_chosen_from() -> None:
    read = read_label("Nm 60 2-ply 3-ply")
    assert (read.plies, read.rest, read.doubt) == (None, "2-ply 3-ply", Doubt.NO_PLIES)


def test_number_with_plies_counts_for_more_than_another_number() -> None:
    read = read_label("linen 80/2, col. 101, 1000 m")
    assert (read.count, read.plies, read.rest) == (80, 2, "col. 101, 1000 m")


def test_stated_wraps_are_read() -> None:
    assert read_label("80/2 linen, 30 wpc").wraps_per_cm == 30
    assert read_label("27,5 wraps per cm").wraps_per_cm == 27.5


def test_two_fibres_are_not_made_one() -> None:
    read = read_label("cotton/linen 60/2")
    assert (read.fibre, read.rest) == (None, "cotton/linen")


def test_every_fibre_is_read_from_each_of_its_words() -> None:
    for fibre in fibres():
        for word in fibre.words:
            assert read_label(f"80/2 {word.upper()}").fibre == fibre.id
            assert read_label(f"{word} No. 30").fibre == fibre.id


@pytest.mark.parametrize("text", ["60 denıer", "60 DENİER"])
def test_turkish_i_is_an_i(text: str) -> None:
    assert read_label(text).system == "denier"


def test_every_system_is_read_from_each_of_its_labels() -> None:
    for system in systems():
        for label in system.labels:
            assert read_label(f"80 {label}").system == system.id
            assert read_label(f"{label} 80").system == system.id


@given(st.integers(13, 999), st.integers(1, 12), st.sampled_from(systems()))
def test_label_written_from_a_thread_reads_as_that_thread(
    count: int, plies: int, system: NumberingSystem
) -> None:
    label = system.labels[0]
    by_stroke = system.kind == "indirect"
    read = read_label(f"{count}/{plies} {label}" if by_stroke else f"{count} {label} x {plies}")
    assert (read.system, read.count, read.plies) == (system.id, count, plies)
    assert read.doubt is None


@given(messy_labels)
def test_no_label_makes_the_reader_fail_or_lose_a_word(text: str) -> None:
    read = read_label(text)
    assert read.label == text
    assert all(word in text for word in read.rest.split())
    if read.count is read.number is read.plies is read.wraps_per_cm is None:
        assert [mark for mark in read.rest if mark.isdigit()] == [
            mark for mark in text if mark.isdigit()
        ]
    if read.doubt is None:
        assert read.linear_density_tex is not None
    else:
        assert read.doubt.advice.endswith(".")


@given(messy_labels)
def test_what_is_read_keeps_the_bounds_of_a_thread(text: str) -> None:
    read = read_label(text)
    assert read.count is None or 0 < read.count < 100_000
    assert read.plies is None or 1 <= read.plies <= 100
    assert read.wraps_per_cm is None or 0 < read.wraps_per_cm < 500
    assert (read.system is None) or read.system in {system.id for system in systems()}


def test_every_doubt_has_its_own_advice() -> None:
    assert len({doubt.advice for doubt in Doubt}) == len(Doubt)
