"""Looks for strokes just before the first digit that was read: a faint digit may stand there."""

from __future__ import annotations

import cv2
import numpy as np

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.picture import Pixels

_HEIGHT = 48
_ROOM = 1.1
"""Heights of the digits that are looked at on either side."""
_GAP, _CELL = 6, 24
"""px between the first digit and the cell before it, and the cell's width."""


def stroke_before(pixels: Pixels, place: Place) -> float:
    """Strength of the strokes in the cell before the digits at `place`, over that of the digits.

    About 0 on a plain panel; 0.5 and more where a digit, a word or the panel's edge stands there.
    """
    wide = place.widened(_ROOM, _ROOM, 0.0, 0.0)
    width = round(wide.width / wide.height * _HEIGHT)
    line = cv2.cvtColor(cut(pixels, wide, width, _HEIGHT), cv2.COLOR_BGR2GRAY)
    soft = cv2.GaussianBlur(line, (0, 0), 0.8)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (21, 21))
    start = round(_ROOM * _HEIGHT)
    strongest, before = 1.0, 0.0
    for operation in (cv2.MORPH_BLACKHAT, cv2.MORPH_TOPHAT):  # dark digits, bright digits
        strokes = np.asarray(cv2.morphologyEx(soft, operation, kernel), np.float64)
        digits = float(np.percentile(strokes[4:-4, start : width - start], 90))
        if digits > strongest:
            cell = strokes[6:-6, start - _GAP - _CELL : start - _GAP]
            strongest, before = digits, float(np.percentile(cell.mean(axis=0), 85))
    return before / strongest
