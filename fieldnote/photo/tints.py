"""Sees last digits in another colour: a counter's red decimals, which need no point."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from fieldnote.photo.picture import Pixels

_MOST = 3
"""Decimals of a counter."""
_FAR, _CLEARLY = 20.0, 0.5
"""Distance of the two colours in a and b of CIE L*a*b*, and the share of it that lies between the
most alike digits of either."""


def change_of_colour(line: Pixels, middles: Sequence[float], rows: tuple[int, int]) -> int | None:
    """How many digits stand before the first one of another colour; None where all are alike.

    line: upright cut, blue-green-red. middles: of the digits, px from its left. rows: first and
    last of the digits.
    """
    count = len(middles)
    if count < 3:
        return None
    colour = cv2.cvtColor(line, cv2.COLOR_BGR2LAB).astype(np.float64)[
        max(0, rows[0]) : rows[1], :, 1:
    ]
    half = 0.38 * float(np.median(np.diff(middles)))
    cells = [colour[:, max(0, int(x - half)) : int(x + half) + 1] for x in middles]
    if any(cell.size == 0 for cell in cells):
        return None
    tints = np.array([cell.reshape(-1, 2).mean(axis=0) for cell in cells])
    for k in range(count - 1, max(1, count - 1 - _MOST), -1):
        before, after = tints[:k], tints[k:]
        way = after.mean(axis=0) - before.mean(axis=0)
        apart = float(np.linalg.norm(way))
        # Digits with more ink are more coloured: what counts is the gap between the two kinds.
        gap = float((after @ way).min() - (before @ way).max()) / max(apart, 1e-6)
        if apart >= _FAR and gap >= _CLEARLY * apart:
            return k
    return None
