"""Reads what stands round the digits: the unit, AC or DC, HOLD, AUTO, MIN, MAX, low battery."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.picture import Pixels
from fieldnote.photo.printed import tesseract_present, words
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.symbols import STATES, unit_of

_HEIGHT = 110
"""px to which the digits are brought: units are then 30 to 60 px tall."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What was seen beside the digits.

    unit: UCUM code or None. current: "AC" or "DC". states: annunciators. doubts: for a person.
    """

    unit: str | None = None
    current: str | None = None
    states: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def read_surroundings(
    pixels: Pixels, place: Place, profile: DisplayProfile | None = None
) -> Surroundings:
    """Reads units and states near the digits at `place`; empty where nothing is certain."""
    if not tesseract_present() or place.height < 8:
        return Surroundings()
    wide = place.widened(0.5, 2.6, 1.1, 0.6)
    scale = _HEIGHT / place.height
    view = cut(pixels, wide, min(2400, round(wide.width * scale)), round(wide.height * scale))
    grey = np.asarray(cv2.cvtColor(view, cv2.COLOR_BGR2GRAY), np.uint8)
    if float(np.median(grey)) < float(grey.mean()):
        grey = np.asarray(255 - grey, np.uint8)
    units: list[str] = []
    states: list[str] = []
    for word in words(grey):
        if word.confidence < 0.5:
            continue
        if (unit := unit_of(word.text)) is not None and word.confidence > 0.7:
            units.append(unit)
        elif (state := STATES.get(word.text.upper().strip(".,"))) is not None:
            states.append(state)
    current = next((s for s in states if s in {"AC", "DC"}), None)
    others = tuple(dict.fromkeys(s for s in states if s not in {"AC", "DC"}))
    unit = units[0] if len(set(units)) == 1 else None
    if unit is not None and profile is not None and profile.units and unit not in profile.units:
        unit = None
    return Surroundings(unit, current, others)
