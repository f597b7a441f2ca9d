"""A travel from a video of the meter's display: one reading every half second of the motion."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from fieldnote.acceptance import Quantity, symbol
from fieldnote.acceptance.exact import written
from fieldnote.acceptance.travel import TravelPoint
from fieldnote.errors import BadInputError
from fieldnote.photo import Burst, DisplayProfile, read_burst

EVERY = Fraction(1, 2)
"""s between readings: most meters renew their display two to five times a second, so that frames
closer together show the same value again and would look like a dead spot."""

LONGEST_GAP = Fraction(3, 2)
"""s for which the display may go unread; over a longer gap a jump could be missed."""


def travel_of_video(
    path: Path,
    unit: str,
    profile: DisplayProfile | None = None,
    progress: Callable[[int], None] | None = None,
) -> tuple[TravelPoint, ...]:
    """The travel that a video of the display shows, in `unit` (UCUM).

    progress: called with the count of frames read so far.

    Raises:
        BadInputError: no video, a display of another kind, or too little of it read.
    """
    return travel_of_burst(read_burst(path, profile, progress=progress), unit)


def travel_of_burst(burst: Burst, unit: str) -> tuple[TravelPoint, ...]:
    """The frames' readings thinned to one in `EVERY`; a display without a unit is taken in `unit`.

    Raises:
        BadInputError: as `travel_of_video`.
    """
    read = [
        (Fraction(f"{each.time:.3f}"), each.value)
        for each in burst.readings
        if each.value is not None and each.time is not None
    ]
    if len(read) < 2:
        raise BadInputError(
            "Too little of the video could be read for a travel.",
            "Take it closer and steadier, or say the readings at stops.",
        )
    gap, start = max((after - before, before) for (before, _), (after, _) in pairwise(read))
    if gap > LONGEST_GAP:
        raise BadInputError(
            f"The display could not be read for {float(gap):.1f} s from {float(start):.1f} s on.",
            "Take the video again with the display in view all the time.",
        )
    points, due = [], read[0][0]
    for time, value in read:
        if time >= due or (time, value) == read[-1]:
            points.append(TravelPoint(_in_unit(value, burst.unit, unit), seconds=written(time)))
            due = time + EVERY
    return tuple(points)


def _in_unit(value: str, seen: str | None, unit: str) -> str:
    if seen is None or seen == unit:
        return value
    try:
        return written(Quantity(value, seen).to(unit))
    except BadInputError:
        raise BadInputError(
            f"The display shows {symbol(seen)}, and this travel is in {symbol(unit)}.",
            "Set the meter, or choose the right step.",
        ) from None
