"""Needles of known angle, on drawn dials."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from fieldnote.photo import DisplayProfile, GaugeScale, look
from fieldnote.photo.gauge import read_gauge
from fieldnote.photo.rim import find_rim
from tests.photo.dials import dial, photographed, tilted

PRESSURE = GaugeScale((0.5, 0.5), ("0", -135.0), ("10", 135.0), "0.2", unit="bar")
# Like the dial of a torque wrench: the needle goes both ways from the top.
TORQUE = GaugeScale((0.5, 0.5), ("-40", -120.0), ("40", 120.0), "2", unit="N.m")


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("share", [0.0, 0.07, 0.23, 0.42, 0.5, 0.61, 0.78, 0.95, 1.0])
def test_pressure_gauge(dark: bool, share: float) -> None:
    picture = photographed(dial(-135 + 270 * share, dark=dark), int(share * 100))
    reading = read_gauge(picture, PRESSURE)
    assert reading.reason is None
    # The standard uncertainty claimed covers the error seen (coverage factor 2).
    assert abs(float(reading.value) - 10 * share) <= 2 * float(reading.uncertainty)
    assert float(reading.uncertainty) < 0.2


@pytest.mark.parametrize("torque", [-40, -13, 0, 7, 31])
def test_torque_dial(torque: int) -> None:
    picture = photographed(dial(torque * 3.0, -120, 120, 8, first=-40, step=10), torque + 50)
    reading = read_gauge(picture, TORQUE)
    assert abs(float(reading.value) - torque) <= 2 * float(reading.uncertainty)


def test_value_is_an_exact_decimal_of_a_tenth_of_a_division() -> None:
    reading = read_gauge(photographed(dial(0), 1), PRESSURE)
    whole, fraction = reading.value.split(".")
    assert whole.isdigit()
    assert len(fraction) == 2


@pytest.mark.parametrize("degrees", [12, 25, 38])
@pytest.mark.parametrize("axis", [0, 50, 90, 135])
def test_a_dial_seen_from_the_side(degrees: int, axis: int) -> None:
    """The camera's true position is known: three dial widths away, turned by these angles."""
    share = (degrees * 7 + axis * 3) % 97 / 100
    picture = photographed(tilted(dial(-135 + 270 * share), degrees, axis), axis)
    reading = read_gauge(picture, PRESSURE)
    assert reading.reason is None
    assert abs(float(reading.value) - 10 * share) <= 2 * float(reading.uncertainty)


def test_a_dial_seen_too_much_from_the_side_is_asked_about() -> None:
    reading = read_gauge(photographed(tilted(dial(40), 55, 30), 2), PRESSURE)
    assert reading.reason is not None


def test_a_dial_whose_rim_is_out_of_sight_is_asked_about() -> None:
    """A camera that moved would go unnoticed: the middle is then a guess."""
    close = dial(40)[90:410, 90:410]
    reading = read_gauge(photographed(close, 2), PRESSURE)
    assert reading.reason is not None
    assert "rim" in reading.reason


def test_needle_below_the_scale_is_asked_about() -> None:
    reading = read_gauge(photographed(dial(175), 4), PRESSURE)
    assert reading.reason is not None


def test_a_picture_without_a_needle_is_asked_about() -> None:
    r = np.random.default_rng(1)
    noise = cv2.GaussianBlur(
        r.normal(128, 60, (400, 400, 3)).clip(0, 255).astype(np.uint8), (0, 0), 3
    )
    assert read_gauge(noise, PRESSURE).reason is not None
    blank = np.full((400, 400, 3), 200, np.uint8)
    assert read_gauge(blank, PRESSURE).reason is not None


def test_dial_is_found_where_it_is() -> None:
    picture = np.full((700, 900, 3), 130, np.uint8)
    picture[150:650, 350:850] = dial(40)
    found = find_rim(picture)
    assert found is not None
    assert found.flatness > 0.98
    assert (found.x, found.y) == (pytest.approx(600, abs=6), pytest.approx(400, abs=6))
    reading = read_gauge(picture, PRESSURE)
    assert abs(float(reading.value) - 175 / 27) <= 2 * float(reading.uncertainty)


def test_look_with_a_gauge_profile(tmp_path: Path) -> None:
    path = tmp_path / "dial.png"
    cv2.imwrite(str(path), photographed(dial(27), 3))
    profile = DisplayProfile.from_mapping({
        "name": "invented pressure gauge",
        "gauge": {"centre": [0.5, 0.5], "low": ["0", -135.0], "high": ["10", 135.0],
                  "division": "0.2", "unit": "bar"},
    })  # fmt: skip
    (display,) = look(path, profile)
    assert display.kind == "reading"
    assert display.unit == "bar"
    assert display.value is not None
    assert abs(float(display.value) - 6.0) < 0.15
    assert display.uncertainty is not None
    assert display.to_json()["uncertainty"] == display.uncertainty
