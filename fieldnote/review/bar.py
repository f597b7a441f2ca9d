"""A window drawn as a bar with the reading on it: the geometry, without any drawing.

A bar is ``WIDTH`` units wide. The accepted band lies in the middle with room on both sides; a
one-sided window runs off the edge on its open side. A reading too far out to be drawn to scale is
put at the edge and said to be off the scale, rather than squeezing the band to a line.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

WIDTH = 220.0
ROOM = Fraction(45, 100)  # of the band's width, drawn on either side of it
FAR = Fraction(2)  # of the band's width: how far out a reading is still drawn to scale
EDGE = 7.0  # units kept free at both ends for the marker


@dataclass(frozen=True, slots=True)
class Bar:
    """Places along the bar, in drawing units from its left end.

    band: where the accepted band begins and ends; an open side lies at 0 or ``WIDTH``.
    guard: the same for the band narrowed by the uncertainty, where that is known and not empty.
    mark: the reading, None where there is no number to draw. off: the side on which the reading
    lies beyond the scale. whisker: reading ± uncertainty, cut at the ends.
    """

    band: tuple[float, float]
    open_below: bool
    open_above: bool
    mark: float | None = None
    off: Literal["below", "above"] | None = None
    whisker: tuple[float, float] | None = None
    guard: tuple[float, float] | None = None


def draw(
    lower: Fraction | None,
    upper: Fraction | None,
    value: Fraction | None = None,
    uncertainty: Fraction | None = None,
) -> Bar | None:
    """The bar of a window from ``lower`` to ``upper`` (None: open), all numbers in one unit.

    None where the window is open on both sides: there is nothing to draw.
    """
    scale = _scale(lower, upper, value)
    if scale is None:
        return None
    start, end = scale

    def place(number: Fraction) -> float:
        share = (number - start) / (end - start)
        return EDGE + float(min(max(share, Fraction(0)), Fraction(1))) * (WIDTH - 2 * EDGE)

    band = (0.0 if lower is None else place(lower), WIDTH if upper is None else place(upper))
    guard = None
    if uncertainty and (lower is None or upper is None or upper - lower > 2 * uncertainty):
        guard = (
            0.0 if lower is None else place(lower + uncertainty),
            WIDTH if upper is None else place(upper - uncertainty),
        )
    if value is None:
        return Bar(band, lower is None, upper is None, guard=guard)
    off: Literal["below", "above"] | None = None
    if value < start:
        off = "below"
    elif value > end:
        off = "above"
    whisker = None
    if uncertainty and off is None:
        whisker = (place(value - uncertainty), place(value + uncertainty))
    return Bar(band, lower is None, upper is None, place(value), off, whisker, guard)


def beyond(lower: Fraction | None, upper: Fraction | None) -> Bar | None:
    """The bar of an open circuit or over-limit display: the reading is above all numbers."""
    plain = draw(lower, upper)
    return None if plain is None else replace(plain, mark=WIDTH - EDGE, off="above")


def _scale(
    lower: Fraction | None, upper: Fraction | None, value: Fraction | None
) -> tuple[Fraction, Fraction] | None:
    if lower is not None and upper is not None:
        band = upper - lower or abs(upper) or Fraction(1)
        start, end = lower - ROOM * band, upper + ROOM * band
        if value is not None and lower - FAR * band <= value <= upper + FAR * band:
            reach = ROOM * band / 5  # so that the marker does not stick to the edge
            start, end = min(start, value - reach), max(end, value + reach)
        return start, end
    limit = lower if lower is not None else upper
    if limit is None:
        return None
    # One-sided: the reading sets the scale, unless it lies many times the limit away.
    size = abs(limit) or Fraction(1)
    away = size if value is None or value == limit else abs(value - limit)
    reach = max(size / 20, min(size * 13, away * Fraction(13, 10)))
    upwards = lower is not None if value is None or value == limit else value > limit
    below, above = (reach * ROOM, reach) if upwards else (reach, reach * ROOM)
    return limit - below, limit + above
