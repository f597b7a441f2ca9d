"""Strokes before the first digit are seen, plain panel is not taken for one."""

from __future__ import annotations

import pytest

from fieldnote.photo.geometry import Place
from fieldnote.photo.margins import stroke_before
from tests.photo.panels import BACKLIT, LCD, LED_RED, seven_segment


@pytest.mark.parametrize("face", [LCD, LED_RED, BACKLIT])
def test_a_digit_before_the_place_is_felt(face) -> None:
    panel = seven_segment("412.8", 80, face)
    pitch, pad = 80 * 0.72, 80 * 0.3
    whole = Place(pad + 2 * pitch - 8, pad + 40, 4 * pitch - 16, 80)
    cut_off = Place(pad + 2.5 * pitch - 8, pad + 40, 3 * pitch - 16, 80)
    assert stroke_before(panel, whole) < 0.3
    assert stroke_before(panel, cut_off) > 0.4
