from __future__ import annotations

import math
import re

import pytest

from archive.records.measurement import MeasuredCorner, Measurement
from archive.site.overlays import lace_window, layers
from tests.integration.site.invented import PX_PER_MM, strip_measurement


def _turned(measurement: Measurement, degrees: float) -> Measurement:
    """The same sheet laid askew: turning it clockwise by `degrees` sets it upright."""
    turn = math.radians(-degrees)
    cos, sin = math.cos(turn), math.sin(turn)
    pins = tuple((x * cos - y * sin, x * sin + y * cos) for x, y in measurement.pins.positions_px)
    return measurement.model_copy(
        update={
            "tilt_deg": degrees,
            "pins": measurement.pins.model_copy(update={"positions_px": pins}),
        }
    )


def _bent(measurement: Measurement) -> Measurement:
    """The same lace, twice as long, led round a corner: its second half lies across."""
    pins = measurement.pins.positions_px
    across = tuple((y, x) for x, y in pins)
    return measurement.model_copy(
        update={
            "corner": MeasuredCorner(present=True),
            "pins": measurement.pins.model_copy(update={"positions_px": pins + across}),
        }
    )


def _layer(measurement: Measurement, name: str) -> str:
    return next(layer.data for layer in layers(measurement) if layer.name == name)


def _lines(data: str) -> list[tuple[float, float, float, float]]:
    found = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)", data)
    return [(float(a), float(b), float(c), float(d)) for a, b, c, d in found]


@pytest.mark.parametrize("angle", [45.0, 56.0, 60.0])
def test_ground_lines_join_neighbours_at_the_ground_angle(angle: float) -> None:
    measurement = strip_measurement("0" * 64, angle)
    pitch = 2.4 * PX_PER_MM
    lines = _lines(_layer(measurement, "ground"))
    assert len(lines) > 100
    for x0, y0, x1, y1 in lines:
        # Plane geometry: neighbours on a ground line are pitch / (2 cos angle) apart.
        expected = pitch / (2 * math.cos(math.radians(angle)))
        assert math.dist((x0, y0), (x1, y1)) == pytest.approx(expected, abs=0.3)


def test_every_hole_is_drawn_once() -> None:
    measurement = strip_measurement("0" * 64, 60.0)
    assert _layer(measurement, "holes").count("M") == measurement.pins.count


@pytest.mark.parametrize("degrees", [-7.0, 3.0, 90.0])
def test_a_sheet_laid_askew_has_as_many_ground_lines(degrees: float) -> None:
    upright = strip_measurement("0" * 64, 60.0)
    askew = _turned(upright, degrees)
    assert len(_lines(_layer(askew, "ground"))) == len(_lines(_layer(upright, "ground")))


@pytest.mark.parametrize("degrees", [0.0, 5.0])
def test_a_small_picture_shows_the_whole_width_of_a_strip_and_more_than_a_repeat(
    degrees: float,
) -> None:
    measurement = _turned(strip_measurement("0" * 64, 60.0), degrees)
    window = lace_window(measurement, (480, 360))
    assert window is not None
    left, top, right, bottom = window
    middle = ((left + right) / 2, (top + bottom) / 2)
    turn = math.radians(degrees)
    inside = []
    for x, y in measurement.pins.positions_px:
        across, down = x - middle[0], y - middle[1]
        inside.append(
            (
                across * math.cos(turn) - down * math.sin(turn),
                across * math.sin(turn) + down * math.cos(turn),
            )
        )
    assert max(abs(x) for x, _ in inside) <= (right - left) / 2
    assert (bottom - top) >= 24 * PX_PER_MM
    assert (right - left) / (bottom - top) == pytest.approx(480 / 360)
    seen = [point for point in inside if abs(point[1]) <= (bottom - top) / 2]
    assert len(seen) > 60


def test_a_sheet_without_pins_has_no_window_and_no_layers() -> None:
    measurement = strip_measurement("0" * 64, 60.0)
    bare = measurement.model_copy(
        update={
            "pins": measurement.pins.model_copy(update={"count": 0, "positions_px": ()}),
            "areas": (),
            "doubts": (),
        }
    )
    assert lace_window(bare, (480, 360)) is None
    assert layers(bare) == ()


def test_a_small_picture_of_a_corner_shows_the_corner_and_not_its_far_ends() -> None:
    measurement = _bent(strip_measurement("0" * 64, 60.0))
    window = lace_window(measurement, (480, 360))
    assert window is not None
    left, top, right, bottom = window
    pins = measurement.pins.positions_px
    tip = (min(x for x, _ in pins), min(y for _, y in pins))
    assert left < tip[0] < right
    assert top < tip[1] < bottom
    far = max(y for _, y in pins)
    assert bottom < 0.7 * far
    assert right < 0.95 * far
