"""Looks at what stands before the first digit that was read: a faint digit, or a minus far off."""

from __future__ import annotations

from math import hypot

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.picture import Pixels

_HEIGHT = 48
_ROOM = 1.1
"""Heights of the digits that are looked at on either side."""
_FAR, _LIT = 5.0, 0.45
_GAP, _CELL = 6, 24
"""px between the first digit and the cell before it, and the cell's width."""


def stroke_before(pixels: Pixels, place: Place) -> float:
    """Strength of the strokes in the cell before the digits at `place`, over that of the digits.

    About 0 on a plain panel; 0.5 and more where a digit, a word or the panel's edge stands there.
    """
    strokes, strength = max(_strokes(pixels, place, _ROOM), key=lambda each: each[1])
    start = round(_ROOM * _HEIGHT)
    cell = strokes[6:-6, start - _GAP - _CELL : start - _GAP]
    return float(np.percentile(cell.mean(axis=0), 85)) / strength


def minus_before(pixels: Pixels, place: Place) -> bool:
    """Whether a bar stands alone at half height left of the digits, at most `_FAR` heights off.

    Many meters show the minus at the left edge of the display, however few digits are lit; there
    the picture's own edge may cut it.
    """
    edge = _first_column(pixels, place)
    # Between dark digits the light panel stands out as strongly: a bar of either kind counts.
    return any(_bar(strokes, strength, edge) for strokes, strength in _strokes(pixels, place, _FAR))


def _first_column(pixels: Pixels, place: Place) -> int:
    """Of the columns of `_strokes`, the first that lies in the picture."""
    (ax, ay), (bx, by), _, (dx, dy) = place.widened(_FAR, _FAR, 0.0, 0.0).box()
    width = hypot(bx - ax, by - ay)
    columns = round(width / place.height * _HEIGHT)
    shares = (np.arange(columns) + 0.5) / columns
    xs = (ax + dx) / 2 + shares * (bx - ax)
    ys = (ay + dy) / 2 + shares * (by - ay)
    inside = (xs >= 0) & (ys >= 0) & (xs < pixels.shape[1]) & (ys < pixels.shape[0])
    return int(np.argmax(inside))


def _bar(strokes: npt.NDArray[np.float64], strength: float, edge: int) -> bool:
    seen = (strokes > _LIT * strength).astype(np.uint8)
    seen[:, :edge] = 0
    count, _, stats, middles = cv2.connectedComponentsWithStats(seen)
    end = round(_FAR * _HEIGHT) - 2
    for k in range(1, count):
        left, top, width, height, area = (int(v) for v in stats[k])
        level = abs(float(middles[k][1]) - _HEIGHT / 2) <= 0.17 * _HEIGHT
        is_cut = left <= edge + 1
        long = width >= 0.2 * _HEIGHT and width >= 1.8 * height
        flat = height <= (0.2 if is_cut else 0.3) * _HEIGHT and width >= height
        bar = width <= 0.8 * _HEIGHT and flat and (is_cut or long)
        solid = area >= max(12, 0.6 * width * height)
        if not (level and bar and solid and left + width < end):
            continue
        columns = seen[:, left : left + width]
        if columns.sum() - columns[top : top + height].sum() <= 0.02 * columns.size:
            return True
    return False


def _strokes(
    pixels: Pixels, place: Place, room: float
) -> list[tuple[npt.NDArray[np.float64], float]]:
    """For dark digits, and for bright ones: (48, width), how far each pixel stands out, and how far
    the digits do.

    room: heights of the digits that are looked at on either side.
    """
    wide = place.widened(room, room, 0.0, 0.0)
    width = round(wide.width / wide.height * _HEIGHT)
    line = cv2.cvtColor(cut(pixels, wide, width, _HEIGHT), cv2.COLOR_BGR2GRAY)
    soft = cv2.GaussianBlur(line, (0, 0), 0.8)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (21, 21))
    start = round(room * _HEIGHT)
    both = []
    for operation in (cv2.MORPH_BLACKHAT, cv2.MORPH_TOPHAT):
        strokes = np.asarray(cv2.morphologyEx(soft, operation, kernel), np.float64)
        digits = float(np.percentile(strokes[4:-4, start : width - start], 90))
        both.append((strokes, max(1.0, digits)))
    return both
