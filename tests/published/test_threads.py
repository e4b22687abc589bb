"""Threads against standards, handbooks and published worked examples; the source beside each."""

import math

import pytest

from archive.threads import (
    convert,
    diameter_mm,
    enlargement_percent,
    estimate_wraps_per_cm,
    get_system,
    linear_density_tex,
    read_label,
    rescaling_factor_from_counts,
    rescaling_factor_from_tex,
    rescaling_factor_from_wraps,
)
from archive.threads.measures import (
    bobbins,
    copier_factor,
    foot_for_square_mm,
    gathered_for_square_mm,
    mitred_for_square_mm,
)

INCH_MM = 25.4


@pytest.mark.parametrize(
    ("system", "tex_of_one"),
    [("tex", 1), ("dtex", 0.1), ("Nm", 1000)],
)
def test_decimal_systems_are_as_the_standard_defines_them(system: str, tex_of_one: float) -> None:
    """Source: ISO 1144 (tex: grams per 1000 m; dtex: per 10,000 m); Nm: metres per gram."""
    assert get_system(system).tex_of_one == pytest.approx(tex_of_one, rel=1e-12)


@pytest.mark.parametrize(
    ("system", "printed"),
    [
        ("Ne", "590.5"),  # textilelearner.blogspot.com 2012/12, Count conversion of yarn
        ("NeL", "1653.5"),  # wiki-groenkennisnet, table 7.1.6
        ("worsted", "885.8"),  # same table; also polytechnichub.com, count conversion formula
        ("jute", "34.45"),  # same table; also textilecalculations.com
    ],
)
def test_factor_to_tex_is_the_printed_one(system: str, printed: str) -> None:
    decimals = len(printed.partition(".")[2])
    assert f"{get_system(system).tex_of_one:.{decimals}f}" == printed


@pytest.mark.parametrize(
    ("of_one", "source", "target", "printed"),
    [
        (1, "tex", "denier", 9),  # textilelearner.blogspot.com 2012/12
        (1, "Ne", "denier", 5315),  # same; polytechnichub.com
        (1, "Ne", "Nm", 1.69),  # onlineclothingstudy.com 2011/12, from British Standards
        (1, "Nm", "denier", 9000),  # same
        (1, "Nm", "dtex", 10_000),  # same
        (1, "Ne", "dtex", 5905),  # same
        (1, "worsted", "denier", 7972),  # polytechnichub.com, count conversion formula
        (1, "worsted", "Nm", 1.129),  # same
        (1, "Ne", "worsted", 1.5),  # same
        (1, "jute", "denier", 310),  # textilecalculations.com
        (30, "Ne", "tex", 19.7),  # mapofsciences.com, yarn count systems
    ],
)
def test_conversion_is_the_printed_one(
    of_one: float, source: str, target: str, printed: float
) -> None:
    assert convert(of_one, source, target) == pytest.approx(printed, rel=3e-3)


def test_a_metric_count_is_1_65_linen_leas_and_not_the_other_way_round() -> None:
    """A trade page prints 1 NeL = 1.6535 Nm; by the definitions it is 1 Nm = 1.6535 NeL."""
    assert convert(1, "Nm", "NeL") == pytest.approx(1.6535, abs=5e-5)
    assert convert(1, "NeL", "Nm") == pytest.approx(0.6048, abs=5e-5)


def test_nm_80_2_is_two_singles_of_12_5_tex() -> None:
    """Source: tge-gmbh.de, conversion table."""
    assert linear_density_tex(80, 1, "Nm") == 12.5
    assert linear_density_tex(80, 2, "Nm") == 25


@pytest.mark.parametrize(("system", "tex"), [("Ne", 19.7), ("Nm", 33.3), ("NeL", 55.1)])
def test_60_2_is_three_different_threads(system: str, tex: float) -> None:
    """Computed from the definitions above: why a label without a system is not converted."""
    assert read_label(f"60/2 {system}").linear_density_tex == pytest.approx(tex, abs=0.05)
    assert read_label("60/2").linear_density_tex is None


def test_pearl_cotton_5_2_has_2100_yards_to_the_pound() -> None:
    """Source: sresafehaven.tripod.com (No. 5 is 5/2 cotton, 2100 yards a pound)."""
    tex = linear_density_tex(5, 2, "Ne")
    assert 453.59237 / tex * 1000 / 0.9144 == pytest.approx(2100)


def test_ten_cotton_at_density_0_91_is_0_0287_cm_thick() -> None:
    """Source: cdquestions.com, worked example after Peirce.

    0.02874 cm or 0.011316 inch, and 51 threads an inch in the jammed square weave.
    """
    thick_mm = diameter_mm(convert(10, "Ne", "tex"), volume_cm3_per_g=1 / 0.91)
    assert thick_mm / 10 == pytest.approx(0.02874, abs=5e-6)
    assert thick_mm / INCH_MM == pytest.approx(0.011316, abs=5e-6)
    assert round(INCH_MM / (math.sqrt(3) * thick_mm)) == 51


@pytest.mark.parametrize("ne", [10, 30, 60, 100])
def test_diameter_is_peirces_within_the_rounding_of_his_28(ne: float) -> None:
    """Source: F. T. Peirce 1937, d(inch) = 1 / (28 sqrt Ne), as given by textilecoach.net."""
    peirce_mm = INCH_MM / (28 * math.sqrt(ne))
    assert diameter_mm(convert(ne, "Ne", "tex")) == pytest.approx(peirce_mm, rel=5e-3)


@pytest.mark.parametrize(("ne", "per_inch"), [(60, 213), (15, 106.5)])
def test_diameters_per_inch_are_near_taylors_table(ne: float, per_inch: float) -> None:
    """Source: John T. Taylor, Cotton Weaving, p. 453 (bitlit.ru).

    Taylor takes yarn for 1.7 % thicker than Peirce does (0.95 sqrt(840 Ne) to the inch).
    """
    peirce = INCH_MM / diameter_mm(convert(ne, "Ne", "tex"))
    assert peirce == pytest.approx(per_inch, rel=0.02)


def test_18_2_is_0_82_as_thick_as_18_3() -> None:
    """A trade page prints two thirds; a diameter goes by the root of the weight."""
    ratio = diameter_mm(linear_density_tex(18, 2, "Ne")) / diameter_mm(
        linear_density_tex(18, 3, "Ne")
    )
    assert ratio == pytest.approx(math.sqrt(2 / 3))


@pytest.mark.parametrize(
    ("label", "published"),
    [
        ("80/2 NeL", 30),  # textileschool.com, thread numbering system
        ("35/2 NeL", 20),  # same
        ("40/3 Ne", 28),  # lesleyslace.blogspot.com 2022/04, from a handbook of lace threads
    ],
)
def test_published_wraps_lie_in_the_estimated_span(label: str, published: float) -> None:
    tex = read_label(label).linear_density_tex
    assert tex is not None
    wraps = estimate_wraps_per_cm(tex)
    assert wraps.low < published < wraps.high
    assert wraps.value == pytest.approx(published, rel=0.04)


def test_from_linen_80_2_to_35_2_a_pricking_is_enlarged_to_150_per_cent() -> None:
    """Source: textileschool.com, thread numbering system (30 and 20 wraps a cm: 150 %)."""
    by_wraps = rescaling_factor_from_wraps(30, 20)
    by_counts = rescaling_factor_from_counts((80, 2), (35, 2))
    by_weight = rescaling_factor_from_tex(
        linear_density_tex(80, 2, "NeL"), linear_density_tex(35, 2, "NeL")
    )
    assert enlargement_percent(by_wraps) == 150
    assert enlargement_percent(by_counts) == pytest.approx(150, abs=2)
    assert by_weight == pytest.approx(by_counts)


@pytest.mark.parametrize(("wanted", "got", "factor"), [(18, 14, 1.286), (14, 18, 0.778)])
def test_ruler_that_came_out_wrong_gives_the_printed_factor(
    wanted: float, got: float, factor: float
) -> None:
    """Source: mysticalthread.tripod.com, sizing patterns."""
    assert copier_factor(wanted, got) == pytest.approx(factor, abs=5e-4)


def test_mitred_lace_for_a_nine_inch_square_takes_44_inches() -> None:
    """Source: graciousjanemarie.blogspot.com 2014/03 (1 inch wide: four strips of 11 inches)."""
    assert mitred_for_square_mm(9 * INCH_MM, INCH_MM) == pytest.approx(44 * INCH_MM)
    assert foot_for_square_mm(9 * INCH_MM, INCH_MM)[1] == pytest.approx(44 * INCH_MM)


@pytest.mark.parametrize(("fullness", "at_corners"), [(0.0, 2.0), (0.5, 2.5)])
def test_gathered_corner_takes_the_published_fullness(fullness: float, at_corners: float) -> None:
    """Source: Sewing Handicraft for Girls, “Sewing on lace” (chestofbooks.com).

    A cloth of two widths has nothing but corners.
    """
    around_mm = 4 * 2 * 25
    assert gathered_for_square_mm(50, 25, fullness=fullness) == at_corners * around_mm


def test_six_pairs_are_twelve_bobbins() -> None:
    """Source: Madame Goubaud, Pillow Lace, c. 1871, lesson 1, p. 9."""
    assert bobbins(6) == 12
