"""Where a display lies in a picture, and the cut that brings it upright."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, degrees, hypot, radians, sin

import cv2
import numpy as np

from fieldnote.photo.display import Box
from fieldnote.photo.picture import Pixels


@dataclass(frozen=True, slots=True)
class Place:
    """An oriented rectangle round a line of characters.

    x, y: its middle, px. width: along the line of reading, px. height: of the characters, px.
    angle: degrees, clockwise on the screen, from the picture's right to the reading direction;
        180 is a display standing on its head. score: in [0, 1], the finder's own belief.
    """

    x: float
    y: float
    width: float
    height: float
    angle: float = 0.0
    score: float = 1.0

    @classmethod
    def whole(cls, pixels: Pixels) -> Place:
        """The whole picture as one line, for pictures that were cropped to the display."""
        height, width = pixels.shape[:2]
        return cls(width / 2, height / 2, width, height)

    def box(self, scale: float = 1.0) -> Box:
        """Corners as `Display.box` has them; `scale` goes back to the picture as taken."""
        along, across = self._half_sides()
        middle = np.array([self.x, self.y])
        corners = (
            middle - along - across,
            middle + along - across,
            middle + along + across,
            middle - along + across,
        )
        a, b, c, d = ((float(x) * scale, float(y) * scale) for x, y in corners)
        return (a, b, c, d)

    def _half_sides(self) -> tuple[np.ndarray, np.ndarray]:
        turn = radians(self.angle)
        return (
            np.array([cos(turn), sin(turn)]) * self.width / 2,
            np.array([-sin(turn), cos(turn)]) * self.height / 2,
        )

    def widened(self, left: float, right: float, up: float, down: float) -> Place:
        """With margins added at its sides, in heights of the characters."""
        grow_x, grow_y = (right - left) / 2 * self.height, (down - up) / 2 * self.height
        turn = radians(self.angle)
        return replace(
            self,
            x=self.x + cos(turn) * grow_x - sin(turn) * grow_y,
            y=self.y + sin(turn) * grow_x + cos(turn) * grow_y,
            width=max(1.0, self.width + (left + right) * self.height),
            height=max(1.0, self.height * (1 + up + down)),
        )

    def turned(self, degrees_clockwise: float) -> Place:
        """Read in another direction: by 180 the same rectangle, by 90 with its sides exchanged."""
        angle = (self.angle + degrees_clockwise + 180) % 360 - 180
        if abs(degrees_clockwise) % 180 == 90:
            return replace(self, width=self.height, height=self.width, angle=angle)
        return replace(self, angle=angle)

    def part(self, left: float, right: float) -> Place:
        """The stretch between two fractions of its width."""
        turn, middle = radians(self.angle), ((left + right) / 2 - 0.5) * self.width
        return replace(
            self,
            x=self.x + cos(turn) * middle,
            y=self.y + sin(turn) * middle,
            width=max(1.0, (right - left) * self.width),
        )

    def overlap(self, other: Place) -> float:
        """Shared area over the smaller of the two areas, in [0, 1]."""
        shape, points = cv2.rotatedRectangleIntersection(self._rotated(), other._rotated())
        if shape == cv2.INTERSECT_NONE or points is None:
            return 0.0
        shared = cv2.contourArea(cv2.convexHull(points))
        return float(shared / max(1.0, min(self.width * self.height, other.width * other.height)))

    def _rotated(self) -> tuple[tuple[float, float], tuple[float, float], float]:
        return ((self.x, self.y), (self.width, self.height), self.angle)


def place_of_box(box: Box) -> Place:
    """The rectangle that a `Display.box` (px of the picture as taken) spans."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = box
    return Place(
        x=(ax + bx + cx + dx) / 4,
        y=(ay + by + cy + dy) / 4,
        width=hypot(bx - ax, by - ay),
        height=hypot(dx - ax, dy - ay),
        angle=degrees(atan2(by - ay, bx - ax)),
    )


def cut(pixels: Pixels, place: Place, width: int, height: int) -> Pixels:
    """The rectangle at `place`, brought upright and to `width` × `height` px.

    Outside the picture the edge is repeated. Strong reductions are smoothed first: a warp alone
    would skip pixels and break thin segments.
    """
    reduction = min(place.width / width, place.height / height)
    scale = 1.0
    if reduction > 1.8:
        # Reduce the neighbourhood, not the whole picture.
        pixels, place = _neighbourhood(pixels, place)
        scale = 1.0 / reduction
        pixels = np.asarray(
            cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8
        )
    source = np.array(place.box(scale)[:3], np.float32)
    target = np.array([[0, 0], [width, 0], [width, height]], np.float32)
    matrix = cv2.getAffineTransform(source, target)
    upright = cv2.warpAffine(
        pixels, matrix, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(upright, np.uint8)


def _neighbourhood(pixels: Pixels, place: Place) -> tuple[Pixels, Place]:
    xs, ys = zip(*place.box(), strict=True)
    height, width = pixels.shape[:2]
    left, top = (max(0, min(int(min(v)) - 2, most - 2)) for v, most in ((xs, width), (ys, height)))
    right, bottom = min(width, int(max(xs)) + 3), min(height, int(max(ys)) + 3)
    part = pixels[top : max(bottom, top + 1), left : max(right, left + 1)]
    return part, replace(place, x=place.x - left, y=place.y - top)
