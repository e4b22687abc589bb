import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import InputError, UnknownTerm
from archive.threads import convert, fibres, get_system, linear_density_tex, systems

counts = st.floats(0.1, 1e5)
system_ids = st.sampled_from([system.id for system in systems()])


@given(counts, system_ids, system_ids)
def test_converting_there_and_back_changes_nothing(count: float, one: str, other: str) -> None:
    assert convert(convert(count, one, other), other, one) == pytest.approx(count, rel=1e-12)


@given(counts, system_ids, system_ids, system_ids)
def test_way_round_a_third_system_comes_to_the_same(
    count: float, one: str, between: str, other: str
) -> None:
    round_about = convert(convert(count, one, between), between, other)
    assert round_about == pytest.approx(convert(count, one, other), rel=1e-12)


@given(counts, st.integers(1, 12), system_ids)
def test_plies_add_up(count: float, plies: int, system: str) -> None:
    single = linear_density_tex(count, 1, system)
    assert linear_density_tex(count, plies, system) == pytest.approx(plies * single)


@given(counts, system_ids)
def test_higher_number_is_thicker_in_direct_and_finer_in_indirect_systems(
    count: float, system: str
) -> None:
    thicker = linear_density_tex(2 * count, 1, system) > linear_density_tex(count, 1, system)
    assert thicker == (get_system(system).kind == "direct")


def test_system_is_found_by_every_name_in_any_case() -> None:
    for system in systems():
        for name in (system.id, system.name, *system.labels):
            assert get_system(name.upper()) is system
            assert get_system(f" {name.lower()} ") is system


def test_no_label_means_two_systems() -> None:
    meant: dict[str, set[str]] = {}
    for system in systems():
        for name in (system.id, system.name, *system.labels):
            meant.setdefault("".join(name.casefold().split()), set()).add(system.id)
    assert all(len(ids) == 1 for ids in meant.values()), meant


def test_every_system_has_a_source_and_names_known_fibres() -> None:
    known = {fibre.id for fibre in fibres()}
    for system in systems():
        assert system.source
        assert set(system.fibres) <= known


def test_unknown_system_is_refused_naming_the_nearest() -> None:
    with pytest.raises(UnknownTerm) as refused:
        get_system("Nel.")
    assert "NeL" in refused.value.nearest


@pytest.mark.parametrize("count", [0, -1, float("nan"), float("inf")])
def test_number_that_is_not_above_zero_is_refused(count: float) -> None:
    with pytest.raises(InputError, match="above zero"):
        linear_density_tex(count, 2, "Nm")
    with pytest.raises(InputError, match="above zero"):
        convert(count, "Nm", "tex")
    with pytest.raises(InputError, match="above zero"):
        get_system("Nm").from_tex(count)


def test_thread_without_plies_is_refused() -> None:
    with pytest.raises(InputError, match="plies"):
        linear_density_tex(60, 0, "Nm")
