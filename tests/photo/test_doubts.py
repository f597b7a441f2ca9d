"""What makes a string that reads well a question all the same."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fieldnote.photo import look_at
from fieldnote.photo.net_reader import NetReader
from fieldnote.photo.tints import change_of_colour
from tests.photo.panels import BACKLIT, LCD, LED_RED, Face, photograph, seven_segment


def _side_by_side(left: np.ndarray, right: np.ndarray, gap: int) -> np.ndarray:
    """Two panels on one, standing on the same line."""
    height = max(left.shape[0], right.shape[0])
    rows = []
    for part in (left, right):
        pad = height - part.shape[0]
        rows.append(cv2.copyMakeBorder(part, pad // 2, pad - pad // 2, 0, 0, cv2.BORDER_REPLICATE))
    between = np.full((height, gap, 3), left[0, 0], np.uint8)
    return np.hstack([rows[0], between, rows[1]])


@pytest.mark.parametrize("face", [LCD, LED_RED])
@pytest.mark.parametrize(("clock", "large"), [("1240", "47"), ("0915", "380"), ("2231", "56")])
def test_a_clock_beside_the_reading_is_not_taken_with_it(
    face: Face, clock: str, large: str
) -> None:
    """Many a thermometer has its clock left of larger digits, with a colon that hardly shows."""
    panel = _side_by_side(seven_segment(clock, 62, face), seven_segment(large, 84, face), 0)
    for display in look_at(photograph(panel, 12, fill=0.6), NetReader()):
        assert display.kind == "unclear" or display.value in {clock, large}


@pytest.mark.parametrize("shown", ["1234.5", "88.31"])
def test_a_digit_that_does_not_light_leaves_a_gap(shown: str) -> None:
    """An LED digit that is off for a moment: the others must not close ranks over it."""
    for gone in (1, 2):
        text = shown[:gone] + " " + shown[gone + 1 :]
        panel = seven_segment(text.replace(" .", " "), 80, LED_RED)
        for display in look_at(photograph(panel, 31, fill=0.55), NetReader()):
            assert display.kind == "unclear" or display.value == shown


@pytest.mark.parametrize("shown", ["1111.1", "1.117", "21.71", "-4.0", "10101"])
def test_narrow_ones_are_no_gap(shown: str) -> None:
    (first, *_) = look_at(photograph(seven_segment(shown, 80, BACKLIT), 14), NetReader())
    assert (first.kind, first.value) == ("bare", shown)


@pytest.mark.parametrize("word", ["OL", "LO", "-L-"])
def test_words_and_signs_without_digits_break_nothing(word: str) -> None:
    for display in look_at(photograph(seven_segment(word, 80, LCD), 18), NetReader()):
        assert display.kind in {"open", "unclear"}


@pytest.mark.parametrize("decimals", [1, 2, 3])
def test_red_last_digits_of_a_counter_are_decimals_or_asked_about(decimals: int) -> None:
    """Gas and water counters mark their decimals by colour (EN 1359 has them distinguishable; from
    memory)."""
    black, red = Face(slant=0.0), Face(lit=(40, 40, 200), back=(225, 228, 230), slant=0.0)
    panel = np.hstack([seven_segment("00482"[: 5 - decimals], 80, black),
                       seven_segment("00482"[5 - decimals :], 80, red)])  # fmt: skip
    (first, *_) = look_at(photograph(panel, 23, fill=0.6), NetReader())
    pointed = "00482"[: 5 - decimals] + "." + "00482"[5 - decimals :]
    assert first.kind == "unclear" or first.value == pointed


def test_a_change_of_colour_is_seen() -> None:
    black, red = Face(slant=0.0), Face(lit=(40, 40, 200), back=(225, 228, 230), slant=0.0)
    middles = [44 + 58 * k for k in range(5)]
    for whole in (2, 3, 4):
        panel = seven_segment("00482", 80, black)
        at = int(middles[whole] - 29)
        panel[:, at:] = seven_segment("00482", 80, red)[:, at:]
        assert change_of_colour(panel, middles, (24, 104)) == whole
    assert change_of_colour(seven_segment("00482", 80, black), middles, (24, 104)) is None


@pytest.mark.parametrize("face", [LCD, LED_RED, BACKLIT])
def test_digits_of_one_colour_are_not(face: Face) -> None:
    (first, *_) = look_at(photograph(seven_segment("00482", 80, face), 23, fill=0.6), NetReader())
    assert (first.kind, first.value) == ("bare", "00482")
