"""A measurement keeps its shape, its units and its limits."""

from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import ValidationError

from archive.geometry import measure_points
from archive.records import measurement as records
from archive.records.entry import summarise
from archive.records.house import HouseRules
from archive.records.measurement import (
    MeasuredCorner,
    MeasuredHead,
    MeasuredRound,
    Measurement,
)
from tests.strategies_geometry import ground_patch


def measured() -> Measurement:
    return measure_points(ground_patch(58, 2.0, 8, 12) * 10, px_per_mm=10)


def test_a_measurement_survives_json() -> None:
    found = measured()
    assert Measurement.model_validate_json(found.model_dump_json()) == found


def test_the_same_pins_give_the_same_json() -> None:
    assert measured().model_dump_json() == measured().model_dump_json()


def test_nothing_in_a_measurement_can_be_changed() -> None:
    with pytest.raises(ValidationError):
        measured().analyser = "2"
    with pytest.raises(ValidationError):
        measured().pins.count = 3


def test_the_figures_people_ask_for_are_those_of_the_measurement() -> None:
    found = measured()
    head = MeasuredHead(pins_per_repeat=9, scallops_per_repeat=2)
    about = MeasuredRound(parts=8, pins_per_part=9, across_mm=None, across_px=9, centre_px=(0, 0))
    figures = summarise(found.model_copy(update={"head": head, "round": about}), "0" * 64)
    assert (figures.head_pins, figures.scallops, figures.like_parts) == (9, 2, 8)
    assert found.repeat is not None
    assert figures.symmetry == found.repeat.symmetry is not None
    assert (figures.width_mm, figures.length_mm) == found.extent_mm


def test_the_width_of_a_lace_about_a_corner_is_not_known() -> None:
    """The pinned surface is as wide as an arm is long."""
    bent = measured().model_copy(update={"corner": MeasuredCorner(present=True)})
    assert summarise(bent, "0" * 64).width_mm is None


def broken(**fields: Any) -> str:
    return json.dumps(json.loads(measured().model_dump_json()) | fields)


@pytest.mark.parametrize(
    "fault",
    [
        {"colour": "blue"},
        {"tilt_deg": 120.0},
        {"scale": {"px_per_mm": 0.0, "how": "given"}},
        {"scale": {"px_per_mm": 10.0, "how": "guessed"}},
        {"extent_mm": [-1.0, 2.0]},
        {"pins": {"count": -1, "positions_px": [], "positions_mm": None}},
        {"doubts": [{"x_px": 1.0, "y_px": 1.0, "kind": "odd"}]},
    ],
)
def test_a_measurement_outside_its_limits_is_refused(fault: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Measurement.model_validate_json(broken(**fault))


def test_house_rules_are_habits_that_can_be_set() -> None:
    assert HouseRules(foot_passive_pairs=3).foot_passive_pairs == 3
    with pytest.raises(ValidationError):
        HouseRules(torchon_wraps_low=0)


def test_every_field_whose_meaning_its_name_does_not_tell_is_explained() -> None:
    """Lengths and angles carry their unit in the name."""
    units = ("_px", "_mm", "_mm2", "_deg", "_per_mm", "_per_cm_low", "_per_cm_high")
    for name, field in records.Ground.model_fields.items():
        assert name.endswith(units) or name == "share_on_lattice"
        if field.annotation is float and name.endswith("_deg"):
            assert field.description
