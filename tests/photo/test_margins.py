"""Strokes before the first digit are seen, plain panel is not taken for one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fieldnote.photo import look_at
from fieldnote.photo.geometry import Place
from fieldnote.photo.margins import minus_before, stroke_before
from fieldnote.photo.net_reader import NetReader
from tests.photo.panels import (
    BACKLIT,
    LCD,
    LED_RED,
    MONO_FONT,
    photograph,
    seven_segment,
    write,
)


@pytest.mark.parametrize("face", [LCD, LED_RED, BACKLIT])
def test_a_digit_before_the_place_is_felt(face) -> None:
    panel = seven_segment("412.8", 80, face)
    pitch, pad = 80 * 0.72, 80 * 0.3
    whole = Place(pad + 2 * pitch - 8, pad + 40, 4 * pitch - 16, 80)
    cut_off = Place(pad + 2.5 * pitch - 8, pad + 40, 3 * pitch - 16, 80)
    assert stroke_before(panel, whole) < 0.3
    assert stroke_before(panel, cut_off) > 0.4


@pytest.mark.parametrize("face", [LCD, LED_RED, BACKLIT])
@pytest.mark.parametrize("gap", [0, 1, 3])
def test_a_minus_at_the_far_left_is_felt(face, gap: int) -> None:
    """Multimeters with four digits show the minus before the first, lit or not."""
    pitch, pad = 80 * 0.72, 80 * 0.3
    cells = 1 + gap
    place = Place(pad + (cells + 1.5) * pitch - 8, pad + 40, 3 * pitch - 16, 80)
    assert minus_before(seven_segment("-" + " " * gap + "412", 80, face), place)
    for before in (" ", "1", "7", "2"):
        assert not minus_before(seven_segment(before + " " * gap + "412", 80, face), place)


@pytest.mark.parametrize("gap", [0, 1, 3])
def test_a_minus_that_the_pictures_edge_cuts_is_felt(gap: int) -> None:
    pitch, pad = 80 * 0.72, 80 * 0.3
    place = Place(pad + (1 + gap + 1.5) * pitch - 8, pad + 40, 3 * pitch - 16, 80)
    for before, felt in (("-", True), ("8", False), (" ", False)):
        panel = seven_segment(before + " " * gap + "412", 80, LCD)
        cut_off = np.ascontiguousarray(panel[:, 44:])
        assert minus_before(cut_off, replace(place, x=place.x - 44)) is felt


def test_a_far_minus_is_asked_about_with_the_negative_as_candidate() -> None:
    panel = seven_segment("-   46.0", 80, LCD)
    (first, *_) = look_at(photograph(panel, 51, fill=0.6), NetReader())
    assert first.kind == "unclear" or first.value == "-46.0"
    assert "-46.0" in {first.value, *(text for text, _ in first.alternatives)}


def test_an_error_code_is_not_read_on_its_head() -> None:
    """ "E0" and "F0" upside down are "03" and "04"."""
    for shown in ("E0", "F0"):
        panel = seven_segment("00", 80, LCD)
        panel[:] = panel[0, 0]
        write(panel, shown, 24, 20, 80, LCD.lit, MONO_FONT)
        for display in look_at(photograph(panel, 9, fill=0.4), NetReader()):
            assert display.kind == "unclear"
