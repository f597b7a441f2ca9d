"""The segment decoder, on displays drawn segment by segment."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from fieldnote.photo.geometry import Place, cut, place_of_box
from fieldnote.photo.lines import find_lines, turn_back, turned_picture
from fieldnote.photo.segment_reader import SegmentReader
from fieldnote.photo.segments import decode_segments
from tests.photo.panels import BACKLIT, LCD, LED_GREEN_GHOST, LED_RED, Face, meter, photograph
from tests.photo.panels import seven_segment as panel

FACES = {"lcd": LCD, "led": LED_RED, "ghosts": LED_GREEN_GHOST, "backlit": BACKLIT}


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(
    "shown",
    ["0123456789", "12.48", "-0.003", "1.117", "0.1", "-40", "888.8", "OL", "----", "0042988"],
)
def test_clean_panels(face: str, shown: str) -> None:
    assert decode_segments(panel(shown, 80, FACES[face])).characters == shown


@pytest.mark.parametrize("slant", [0.0, 0.1, 0.2])
def test_slanted_digits(slant: float) -> None:
    assert decode_segments(panel("-271.8", 70, Face(slant=slant))).characters == "-271.8"


@pytest.mark.parametrize("digit", "0123456789")
def test_a_broken_segment_does_not_make_another_number_surely(digit: str) -> None:
    """A digit half covered by a reflection is unread or unsure, whatever is left of it."""
    picture = panel(f"{digit}{digit}{digit}", 80)
    height, width = picture.shape[:2]
    picture[int(height * 0.62) :, int(width * 0.38) : int(width * 0.64)] = LCD.back
    found = decode_segments(picture)
    assert found.characters != digit * 3 or found.score < 0.9


def test_nothing_is_read_from_noise_and_blank_panels() -> None:
    r = np.random.default_rng(3)
    assert decode_segments(np.full((80, 300, 3), 140, np.uint8)).characters == ""
    for _ in range(10):
        noise = r.normal(128, 40, (80, 300, 3)).clip(0, 255).astype(np.uint8)
        assert decode_segments(cv2.GaussianBlur(noise, (0, 0), 2)).score < 0.5


@pytest.mark.parametrize("angle", [-15, -6, 0, 9, 16])
def test_whole_photo_is_found_and_read(angle: int) -> None:
    picture = photograph(meter("-12.48", "V", ("DC",)), 7, angle=angle)
    (first, *_) = SegmentReader().read(picture, None)
    assert first.characters == "-12.48"
    assert abs(first.place.angle - angle) < 5


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_display_on_its_side_or_head(quarters: int) -> None:
    picture = turned_picture(photograph(meter("37.94"), 8), quarters)
    (first, *_) = SegmentReader().read(picture, None)
    assert first.characters == "37.94"
    direction = {1: 90, 2: 180, 3: -90}[quarters]
    assert abs((first.place.angle - direction + 180) % 360 - 180) < 6


def test_places_turn_with_the_picture() -> None:
    picture = photograph(meter("37.94"), 9)
    (found, *_) = find_lines(picture)
    for quarters in (1, 2, 3):
        turned = turned_picture(turned_picture(picture, quarters), 4 - quarters)
        assert (turned == picture).all()
        there = turn_back(found, 4 - quarters, turned_picture(picture, quarters).shape)
        back = turn_back(there, quarters, picture.shape)
        assert (back.x, back.y) == pytest.approx((found.x, found.y))
        assert back.angle == pytest.approx(found.angle)


def test_cut_brings_a_turned_rectangle_upright() -> None:
    picture = np.zeros((300, 300, 3), np.uint8)
    place = Place(150, 140, 120, 40, 30.0)
    corners = np.array(place.box(), np.int32)
    cv2.fillPoly(picture, [corners], (255, 255, 255))
    cv2.circle(picture, tuple(int(v) for v in corners[0]), 12, (0, 0, 255), -1)
    upright = cut(picture, place, 120, 40)
    assert upright.mean() > 200
    assert upright[2, 2].tolist() == [0, 0, 255]
    assert place_of_box(place.box()).angle == pytest.approx(30.0)
