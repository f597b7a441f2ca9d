"""The reader "gauge": a needle's angle on a dial, given two points of its scale.

The uncertainty follows JCGM 100:2008: the reading of a scale has a rectangular distribution of half
a division either side (4.3.7), and the contributions add as squares (5.1.2).
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from math import ceil, sqrt

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.geometry import Place
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import GaugeScale
from fieldnote.photo.rim import Rim, find_rim, square_on

_STEPS = 1440
"""Angles that are looked at: quarters of a degree."""
_RADII = 96
_RADIUS = 360
"""px to which a larger dial is brought."""
_TILT = 1.5
"""Degrees, half width: how far from level a hand holds a camera (common practice, no source)."""
_FLATTEST = 0.75
"""Short over long axis of the rim, 41 degrees from square on: beyond it marks hide each other."""


@dataclass(frozen=True, slots=True)
class Dial:
    """A dial's middle and radius, px."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True)
class _Needle:
    """angle: degrees clockwise from up. score: how far it stands out, in [0, 1]. spread: standard
    deviation, degrees. strength: grey levels by which it differs from the dial."""

    angle: float
    score: float
    spread: float
    strength: float


@dataclass(frozen=True, slots=True)
class GaugeReading:
    """What the needle says.

    value: exact decimals, to a tenth of a division. uncertainty: standard uncertainty, in the same
    unit. angle: of the needle, degrees clockwise from straight up. score: in [0, 1], how far it
    stands out from everything else. reason: why it cannot be taken, or None.
    """

    value: str
    uncertainty: str
    angle: float
    score: float
    place: Place
    reason: str | None = None


def read_gauge(pixels: Pixels, scale: GaugeScale) -> GaugeReading:
    """Reads the needle of the dial in `pixels`.

    The dial is found by its rim, and brought square on by it; where no rim shows, it is taken to
    be where the profile puts it, and asked about.
    """
    height, width = pixels.shape[:2]
    rim = find_rim(pixels)
    if rim is not None:
        needle = _needle_square_on(pixels, rim)
        dial = Dial(rim.x, rim.y, rim.long)
    else:
        x, y = scale.centre
        dial = Dial(x * width, y * height, scale.reach * min(width, height) / 0.8)
        needle = _needle(pixels, dial)
    angle, score, spread = needle.angle, needle.score, needle.spread
    place = Place(dial.x, dial.y, 2 * dial.radius, 2 * dial.radius)

    (low, low_angle), (high, high_angle) = scale.low, scale.high
    span = high_angle - low_angle
    # The needle's angle on the turn that holds the scale, its ends stretched by a little.
    turned = low_angle - 0.1 * span + (angle - (low_angle - 0.1 * span)) % 360
    per_degree = (Decimal(high) - Decimal(low)) / Decimal(str(span))
    exact = Decimal(low) + per_degree * Decimal(str(round(turned - low_angle, 4)))
    division = abs(Decimal(scale.division))
    value = exact.quantize(_tenth(division), ROUND_HALF_EVEN)
    spread_in_value = abs(float(per_degree)) * sqrt(spread**2 + (_TILT / sqrt(3)) ** 2)
    uncertainty = sqrt((float(division) / 2 / sqrt(3)) ** 2 + spread_in_value**2)

    reason = None
    if score < 0.35:
        reason = "no needle stands out from the dial"
    elif not low_angle - 0.04 * span <= turned <= high_angle + 0.04 * span:
        reason = "the needle is off the scale"
    elif rim is None:
        reason = "the dial's rim was not seen: take the whole dial, square on"
    elif rim.flatness < _FLATTEST:
        reason = "the dial is seen too much from the side: take it square on"
    return GaugeReading(
        str(value + 0),
        str(Decimal(repr(uncertainty)).quantize(_tenth(division) / 10)),
        angle,
        score,
        place,
        reason,
    )


def _tenth(division: Decimal) -> Decimal:
    """The decimal place of a tenth of a division: 0.01 for a division of 0.1, 0.2 or 0.5."""
    return Decimal(1).scaleb(division.adjusted() - 1)


def _needle_square_on(pixels: Pixels, rim: Rim) -> _Needle:
    """The needle of a dial with this rim: of all middles it may have, that from which one shows
    best, for a needle points away from the middle."""
    shrink = min(1.0, _RADIUS / rim.long)
    if shrink < 1:
        pixels = np.asarray(
            cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8
        )
        rim = rim.scaled(shrink)
    most = rim.most_offset
    found = []
    for offset in np.linspace(-most, most, 1 + 2 * ceil(most / 0.015)):
        view = square_on(pixels, rim, float(offset))
        middle = view.shape[0] / 2
        found.append(_needle(view, Dial(middle, middle, middle)))
    return max(found, key=lambda needle: needle.strength)


def _needle(pixels: Pixels, dial: Dial) -> _Needle:
    """The needle about the dial's middle.

    A needle is the one thing that differs from the dial all the way from its axis outwards;
    figures and marks do so only for a part of it.
    """
    grey = cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY) if pixels.ndim == 3 else pixels
    rays = _rays(np.asarray(grey, np.uint8), dial, 0.22, 0.68)
    plain = np.median(rays, axis=0, keepdims=True)
    contrast = np.abs(rays - plain)
    contrast = cv2.GaussianBlur(contrast, (1, 9), 0, sigmaY=1.5, borderType=cv2.BORDER_REPLICATE)
    along = np.percentile(contrast, 20, axis=1)
    peak = int(np.argmax(along))
    top = float(along[peak])
    if top < 8:
        return _Needle(0.0, 0.0, 180.0, top)
    # The needle's tail points the other way and is no rival.
    distance = np.abs((np.arange(_STEPS) - peak + _STEPS // 2) % _STEPS - _STEPS // 2)
    apart = (distance > _STEPS * 8 // 360) & (distance < _STEPS // 2 - _STEPS * 12 // 360)
    rival = float(along[apart].max())
    near = np.arange(-16, 17)
    weights = np.maximum(0.0, along[(peak + near) % _STEPS] - 0.4 * top)
    shift = float((weights * near).sum() / weights.sum())
    spread = sqrt(float((weights * (near - shift) ** 2).sum() / weights.sum()))
    step = 360 / _STEPS
    score = max(0.0, 1 - rival / top)
    # The middle of a symmetrical needle is known far better than its width.
    return _Needle((peak + shift) * step % 360, score, max(0.2, spread * step / 3), top)


def _rays(grey: Pixels, dial: Dial, start: float, end: float) -> npt.NDArray[np.float32]:
    """(angles, radii): the picture along rays from the dial's middle, clockwise from up."""
    angles = np.radians(np.arange(_STEPS) * 360 / _STEPS)[:, None]
    radii = np.linspace(start, end, _RADII)[None] * dial.radius
    xs = (dial.x + np.sin(angles) * radii).astype(np.float32)
    ys = (dial.y - np.cos(angles) * radii).astype(np.float32)
    return cv2.remap(grey, xs, ys, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).astype(
        np.float32
    )
