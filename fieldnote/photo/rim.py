"""Finds a dial's rim, round or seen from the side, and brings the picture square on.

A circle seen from the side is an ellipse, shortened along one direction. Seen from near by, its
middle also lies off the ellipse's middle, along the same direction. Both known, the dial can be
brought square on exactly: the projective maps that keep a circle and move its middle are the
translations of the Klein model (e.g. Coxeter, Non-Euclidean Geometry; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin, sqrt

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.picture import Pixels

_SIDE = 480
"""px of the longer side of the picture in which the rim is looked for."""
_FEWEST = 40
"""Points of an edge that may be part of a rim."""
_SEEN = 0.7
"""Share of the rim that must lie on edges."""
_NEAR = 2.0
"""px between rim and edge."""


@dataclass(frozen=True, slots=True)
class Rim:
    """An ellipse, px. long, short: half axes. turn: degrees, clockwise, of the long axis."""

    x: float
    y: float
    long: float
    short: float
    turn: float

    @property
    def flatness(self) -> float:
        """Short over long: 1 square on, 0 from the side. The cosine of the tilt."""
        return self.short / self.long

    @property
    def most_offset(self) -> float:
        """How far the dial's middle can lie off the ellipse's, as a share of the short axis, for a
        camera no nearer than twice the dial's width."""
        return 0.25 * sqrt(max(0.0, 1 - self.flatness**2))

    def scaled(self, factor: float) -> Rim:
        """The same rim in a picture brought to another size."""
        return Rim(
            self.x * factor, self.y * factor, self.long * factor, self.short * factor, self.turn
        )


def find_rim(pixels: Pixels) -> Rim | None:
    """The largest ellipse that stands out; None where there is none."""
    grey = cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY) if pixels.ndim == 3 else pixels
    scale = min(1.0, _SIDE / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    soft = np.asarray(cv2.GaussianBlur(small, (0, 0), 1.5), np.uint8)
    edges = np.asarray(cv2.Canny(soft, 40, 110), np.uint8)
    away = cv2.distanceTransform(np.asarray(255 - edges, np.uint8), cv2.DIST_L2, 3)
    contours, _ = cv2.findContours(edges, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
    best: tuple[float, Rim] | None = None
    for contour in contours:
        if len(contour) < _FEWEST:
            continue
        # Of the ragged edge of a dial its outline is the rim, not the marks that touch it.
        for points in (contour, cv2.convexHull(contour)):
            if len(points) < 6:
                continue
            (x, y), (width, height), turn = cv2.fitEllipseAMS(points)
            rim = _rim(x, y, width, height, turn)
            if not _likely(rim, small.shape[:2]):
                continue
            seen = _seen(rim, np.asarray(away, np.float32))
            if seen >= _SEEN and (best is None or rim.long * seen > best[0]):
                best = rim.long * seen, rim
    if best is None:
        return None
    rim = best[1]
    return Rim(rim.x / scale, rim.y / scale, rim.long / scale, rim.short / scale, rim.turn)


def square_on(pixels: Pixels, rim: Rim, offset: float = 0.0) -> Pixels:
    """The dial square on: a circle that fills a square of twice the long axis.

    offset: of the dial's own middle from the ellipse's, along the short axis, as a share of it.
    """
    turn = np.radians(rim.turn)
    axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    to_unit = np.diag([1 / rim.long, 1 / rim.short]) @ axes.T
    unit = np.eye(3)
    unit[:2, :2] = to_unit
    unit[:2, 2] = -to_unit @ [rim.x, rim.y]
    narrower = np.sqrt(1 - offset**2)
    move = np.array([[narrower, 0, 0], [0, 1, -offset], [0, -offset, 1]])
    side = max(16, round(2 * rim.long))
    back = np.eye(3)
    back[:2, :2] = axes * side / 2
    back[:2, 2] = side / 2
    return np.asarray(
        cv2.warpPerspective(
            pixels, back @ move @ unit, (side, side), borderMode=cv2.BORDER_REPLICATE
        ),
        np.uint8,
    )


def _rim(x: float, y: float, width: float, height: float, turn: float) -> Rim:
    if width >= height:
        return Rim(x, y, width / 2, height / 2, turn)
    return Rim(x, y, height / 2, width / 2, turn + 90)


def _likely(rim: Rim, shape: tuple[int, ...]) -> bool:
    side = min(shape)
    sane = np.isfinite([rim.x, rim.y, rim.long, rim.short]).all()
    inside = 0 < rim.x < shape[1] and 0 < rim.y < shape[0]
    return bool(sane and inside and side / 6 <= rim.long <= 0.75 * max(shape) and rim.short > 8)


def _seen(rim: Rim, away: npt.NDArray[np.float32]) -> float:
    """Share of the rim's points that lie on an edge; those outside the picture do not."""
    angles = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    turn = radians(rim.turn)
    u, v = rim.long * np.cos(angles), rim.short * np.sin(angles)
    xs = np.round(rim.x + u * cos(turn) - v * sin(turn)).astype(int)
    ys = np.round(rim.y + u * sin(turn) + v * cos(turn)).astype(int)
    inside = (xs >= 0) & (ys >= 0) & (xs < away.shape[1]) & (ys < away.shape[0])
    return float((away[ys[inside], xs[inside]] <= _NEAR).sum() / len(angles))
