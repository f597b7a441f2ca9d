"""Finds lines of digit-like shapes without a net: strokes, closed to characters, joined to lines.

Always available; the answer when the finder net is not installed. It knows level lines within
about 20 degrees; displays on their side or head are found by turning the picture.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, degrees, radians, sin

import cv2
import numpy as np

from fieldnote.photo.geometry import Place
from fieldnote.photo.picture import Pixels

_LEVELS = (240, 480, 960)
"""px of the picture's longer side; each level sees characters of 18 to 100 px height."""

_MOST_PLACES = 12


@dataclass(frozen=True, slots=True)
class _Shape:
    """A connected group of strokes: left, top, width, height in px."""

    x: float
    y: float
    w: float
    h: float

    @property
    def middle(self) -> tuple[float, float]:
        return self.x + self.w / 2, self.y + self.h / 2


def find_lines(pixels: Pixels) -> list[Place]:
    """Places of possible displays, likeliest first, at most a dozen."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY) if pixels.ndim == 3 else pixels
    found: list[Place] = []
    longest = max(grey.shape)
    for level in _LEVELS:
        scale = level / longest
        if scale > 2.0:
            continue
        interpolation = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
        small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=interpolation)
        for operation in (cv2.MORPH_BLACKHAT, cv2.MORPH_TOPHAT):
            for place in _lines_of(_shapes(np.asarray(small, np.uint8), operation)):
                found.append(
                    replace(
                        place, x=place.x / scale, y=place.y / scale,
                        width=place.width / scale, height=place.height / scale,
                    )
                )  # fmt: skip
    return _without_doubles(sorted(found, key=lambda p: -p.score))[:_MOST_PLACES]


def _shapes(grey: Pixels, operation: int) -> list[_Shape]:
    """Dark (blackhat) or bright (tophat) strokes, closed until a digit's segments hang together."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (19, 19))
    strokes = cv2.morphologyEx(cv2.GaussianBlur(grey, (0, 0), 0.8), operation, kernel)
    level = max(12.0, float(cv2.threshold(strokes, 0, 255, cv2.THRESH_OTSU)[0]))
    binary = (strokes > level).astype(np.uint8)
    closed = cv2.morphologyEx(binary, cv2.MORPH_CLOSE, np.ones((5, 3), np.uint8))
    _, _, stats, _ = cv2.connectedComponentsWithStats(closed)
    shapes = []
    for x, y, w, h, area in stats[1:]:
        digit_like = 18 <= h <= 100 and 0.08 * h <= w <= 1.15 * h and 0.12 <= area / (w * h) <= 1.0
        # A closed '1' or a narrow fragment is nearly solid; anything wide and solid is a patch.
        if digit_like and not (w > 0.5 * h and area / (w * h) > 0.85):
            shapes.append(_Shape(float(x), float(y), float(w), float(h)))
    return shapes


def _lines_of(shapes: list[_Shape]) -> list[Place]:
    """Joins neighbours of like height into lines."""
    shapes = sorted(shapes, key=lambda s: s.x)
    group = list(range(len(shapes)))

    def root(i: int) -> int:
        while group[i] != i:
            i = group[i]
        return i

    for i, left in enumerate(shapes):
        for j in range(i + 1, len(shapes)):
            right = shapes[j]
            tall = max(left.h, right.h)
            gap = right.x - (left.x + left.w)
            if right.x - left.x > 2.6 * tall:
                if right.x - left.x > 300:
                    break
                continue
            level = abs((right.y + right.h) - (left.y + left.h)) < 0.15 * tall + 0.36 * abs(
                right.middle[0] - left.middle[0]
            )
            if level and gap < 1.1 * tall and min(left.h, right.h) > 0.72 * tall:
                group[root(j)] = root(i)
    lines: dict[int, list[_Shape]] = {}
    for i, shape in enumerate(shapes):
        lines.setdefault(root(i), []).append(shape)
    return [_place_of(members) for members in lines.values() if len(members) >= 2]


def _place_of(members: list[_Shape]) -> Place:
    xs = np.array([m.middle[0] for m in members])
    bottoms = np.array([m.y + m.h for m in members])
    tops = np.array([m.y for m in members])
    slope = 0.0
    if np.ptp(xs) > 0:
        slope = float((np.polyfit(xs, bottoms, 1)[0] + np.polyfit(xs, tops, 1)[0]) / 2)
    angle = atan2(slope, 1.0)
    corners = np.array(
        [(x, y) for m in members for x in (m.x, m.x + m.w) for y in (m.y, m.y + m.h)]
    )
    along = np.array([cos(angle), sin(angle)])
    across = np.array([-sin(angle), cos(angle)])
    u, v = corners @ along, corners @ across
    height = float(np.median([m.h for m in members])) * cos(angle)
    middle = along * (u.min() + u.max()) / 2 + across * (v.min() + v.max()) / 2
    alike = 1.0 - min(1.0, float(np.std([m.h for m in members])) / height * 3)
    score = (1 - 0.5 ** len(members)) * (0.3 + 0.7 * alike) * min(1.0, 0.5 + height / 80)
    return Place(
        x=float(middle[0]), y=float(middle[1]), width=float(np.ptp(u)),
        height=min(float(np.ptp(v)), height * 1.15), angle=degrees(angle), score=score,
    )  # fmt: skip


def _without_doubles(places: list[Place]) -> list[Place]:
    kept: list[Place] = []
    for place in places:
        if all(place.overlap(other) < 0.6 for other in kept):
            kept.append(place)
    return kept


def turned_picture(pixels: Pixels, quarters: int) -> Pixels:
    """The picture turned clockwise by `quarters` of 90 degrees."""
    return np.ascontiguousarray(np.rot90(pixels, -quarters))


def turn_back(place: Place, quarters: int, shape: tuple[int, ...]) -> Place:
    """A place found in `turned_picture(pixels, quarters)`, in `pixels` of this shape."""
    turn = radians(90 * quarters)
    height, width = shape[:2]
    turned = (height, width) if quarters % 2 == 0 else (width, height)
    dx, dy = place.x - turned[1] / 2, place.y - turned[0] / 2
    return replace(
        place,
        x=width / 2 + cos(turn) * dx + sin(turn) * dy,
        y=height / 2 - sin(turn) * dx + cos(turn) * dy,
        angle=(place.angle - 90 * quarters + 180) % 360 - 180,
    )
