"""The nets on displays that the training generator did not draw."""

from __future__ import annotations

import numpy as np
import pytest

from fieldnote.photo import DisplayProfile, DisplayRange, look_at, reader_named
from fieldnote.photo.annunciators import read_surroundings
from fieldnote.photo.net_reader import NetReader
from fieldnote.photo.nets import nets_present
from fieldnote.photo.symbols import STATES, UNITS
from fieldnote.photo.words import annunciator_net_present
from tests.bench.photo_sets import rendered
from tests.photo import panels
from tests.photo.panels import BACKLIT, LCD, LED_GREEN_GHOST, LED_RED, meter, photograph

NARROW = "/usr/share/fonts/opentype/urw-base35/NimbusSans-Bold.otf"
"""Debian fonts-urw-base35: a font that the annunciator net was not trained on."""


def test_the_nets_are_part_of_the_project() -> None:
    assert nets_present()
    assert annunciator_net_present()


def test_drawn_meters_are_read_or_asked_about_never_wrong() -> None:
    items = rendered(20, seed=11)
    reader = reader_named("nets")
    right = taken = 0
    for item in items:
        displays = look_at(item.pixels, reader)
        first = displays[0] if displays else None
        right += first is not None and first.characters in item.right
        if first is not None and first.kind != "unclear":
            taken += 1
            assert first.characters in item.right, item.name
    assert right >= 18
    assert taken >= 14


@pytest.mark.parametrize("angle", [0, 90, 180, -90, 25])
def test_any_direction(angle: int) -> None:
    picture = photograph(meter("37.94", face=LED_RED), 8, angle=angle)
    (first, *_) = NetReader().read(picture, None)
    assert first.characters == "37.94"
    assert abs((first.place.angle - angle + 180) % 360 - 180) < 6


@pytest.mark.parametrize("angle", [180, 90, -90])
def test_a_number_that_reads_on_its_head_is_right_or_asked_about(angle: int) -> None:
    reader = NetReader()
    for seed, shown in enumerate(["28.9", "0.85", "689", "1025"]):
        panel = meter(shown, face=(LCD, LED_RED, BACKLIT)[seed % 3])
        (first, *_) = look_at(photograph(panel, 300 + seed, angle=angle), reader)
        assert first.kind == "unclear" or first.value == shown
        if "." in shown:  # a point stands on the digits' foot
            assert first.value == shown


@pytest.mark.parametrize("angle", [0, 90, 180, -90])
def test_an_overload_on_its_head_is_not_seventy(angle: int) -> None:
    for seed, face in enumerate((LCD, LED_RED, BACKLIT)):
        panel = photograph(meter("OL", face=face), 800 + seed, angle=angle)
        (first, *_) = look_at(panel, NetReader())
        assert first.kind == "open" or (
            first.kind == "unclear" and first.characters in {"70", "OL"}
        )


@pytest.mark.parametrize("shown", ["OL", "-0.003", "1111", "0042988", "----"])
def test_what_meters_show(shown: str) -> None:
    (first, *_) = look_at(photograph(meter(shown, face=BACKLIT), 31, fill=0.5), NetReader())
    assert first.characters == shown
    assert first.kind == ("open" if shown in {"OL", "----"} else "bare")


def test_a_covered_point_is_not_guessed() -> None:
    """Where the point is smeared, the reading is right or asked about."""
    reader = NetReader()
    for seed in range(6):
        panel = meter("12.48", height=90)
        x = int(90 * (0.3 + 2 * 0.72) - 90 * 0.22)
        y = int(90 * 1.28) - 17
        patch = panel[y : y + 18, x : x + 16].astype(np.float32)
        panel[y : y + 18, x : x + 16] = (patch * 0.12 + np.float32(LCD.back) * 0.88).astype(
            np.uint8
        )
        displays = look_at(photograph(panel, 60 + seed, fill=0.35), reader)
        assert displays
        assert displays[0].kind == "unclear" or displays[0].value == "12.48"


def test_a_profile_narrows_and_the_rest_is_not_bent_to_it() -> None:
    picture = photograph(meter("24.68"), 33)
    fits = DisplayProfile(ranges=(DisplayRange(digits=4, decimals=2),))
    assert look_at(picture, NetReader(), fits)[0].value == "24.68"
    other = DisplayProfile(ranges=(DisplayRange(digits=4, decimals=1),))
    displays = look_at(picture, NetReader(), other)
    assert all(d.kind == "unclear" for d in displays)


def test_walls_and_noise_give_nothing_sure() -> None:
    r = np.random.default_rng(2)
    for _ in range(3):
        grain = r.normal(120, 40, (300, 400, 3)).clip(0, 255).astype(np.uint8)
        assert all(d.kind == "unclear" for d in look_at(grain, NetReader()))


@pytest.mark.parametrize("unit", ["V", "mV", "kΩ", "MΩ", "Ω", "mA", "°C", "°F", "Hz", "%", "bar"])
def test_units_and_states(unit: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(panels.write, "__defaults__", (NARROW,))
    i = list(UNITS).index(unit)
    above = (STATES[i % 6],)
    face = (LCD, LED_RED, LED_GREEN_GHOST, BACKLIT)[i % 4]
    picture = photograph(meter("24.68", unit, above, face=face), 90 + i, angle=i - 8, fill=0.5)
    (first, *_) = NetReader().read(picture, None)
    around = read_surroundings(picture, first.place)
    assert around.unit == UNITS[unit]
    seen = {around.current, *around.states} - {None}
    assert seen <= set(above)


def test_no_unit_is_made_up() -> None:
    for seed in range(4):
        picture = photograph(meter("24.68", "", ("ZERO", "SET")), 70 + seed)
        (first, *_) = NetReader().read(picture, None)
        around = read_surroundings(picture, first.place)
        assert (around.unit, around.current, around.states) == (None, None, ())
