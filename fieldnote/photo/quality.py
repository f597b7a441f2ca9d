"""Says what is wrong with a picture as such, and what to do about it."""

from __future__ import annotations

import cv2
import numpy as np

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.picture import Pixels


def faults(pixels: Pixels, place: Place | None = None) -> tuple[str, ...]:
    """Faults of the picture, or of the display at `place` in it; each with its mend."""
    if place is not None:
        wide = place.widened(0.4, 0.4, 0.3, 0.3)
        width = max(16, min(600, round(wide.width)))
        height = max(12, min(200, round(wide.height)))
        pixels = cut(pixels, wide, width, height)
    grey = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY), np.uint8)
    dark, middle, bright = (float(v) for v in np.percentile(grey, (2, 50, 98)))
    found = []
    if bright < 60:
        found.append("the picture is dark: bring more light, or hold the camera still for longer")
    elif middle > 245 or float((grey >= 252).mean()) > 0.35:
        found.append("the picture is over-exposed: no flash, and tap on the display to expose it")
    elif bright - dark < 30:
        found.append("there is hardly any contrast: avoid reflections, take it square on")
    if place is None:
        return tuple(found)
    if place.height < 14:
        found.append("the digits are tiny: take it closer")
    elif _blur(grey) and not found:
        found.append("the display is blurred: hold still, let the camera focus")
    return tuple(found)


def _blur(grey: Pixels) -> bool:
    """Whether even the strongest edges are spread over many pixels of the line's height."""
    scaled = cv2.resize(grey, None, fx=48 / grey.shape[0], fy=48 / grey.shape[0])
    contrast = float(np.ptp(np.percentile(scaled, (2, 98)))) + 1.0
    steps = np.abs(np.diff(scaled.astype(np.float32), axis=1))
    return float(np.percentile(steps, 99)) / contrast < 0.12
