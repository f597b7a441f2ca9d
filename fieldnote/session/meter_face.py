"""What a meter's specification tells of its display: which units and how many digits it can show.

That is knowledge of the instrument and never of the step: no limit passes here.
"""

from __future__ import annotations

from decimal import Decimal

from fieldnote.photo import DisplayProfile, DisplayRange, GaugeScale
from fieldnote.procedure import Instrument
from fieldnote.procedure.instruments import Dial


def display_profile(meter: Instrument | None) -> DisplayProfile | None:
    """The profile by which photos of a meter are read; None where nothing is known of its face.

    A range "up to 600.0, in steps of 0.1" shows at most four digits, one of them after the point.
    """
    if meter is None or not (meter.ranges or meter.display.dial):
        return None
    dial = meter.display.dial
    return DisplayProfile(
        name=meter.id,
        signed=meter.display.signed,
        printed=meter.display.printed,
        ranges=tuple(
            DisplayRange(
                unit=each.unit,
                digits=_places(each.resolution) + len(str(int(Decimal(each.upto)))),
                decimals=_places(each.resolution),
            )
            for each in meter.ranges
        ),
        gauge=None if dial is None else _scale(dial),
    )


def _scale(dial: Dial) -> GaugeScale:
    x, y = map(float, dial.centre)
    (low, low_angle), (high, high_angle) = dial.low, dial.high
    return GaugeScale(
        centre=(x, y),
        low=(low, float(low_angle)),
        high=(high, float(high_angle)),
        division=dial.division,
        reach=float(dial.reach),
        unit=dial.unit,
    )


def _places(resolution: str) -> int:
    exponent = Decimal(resolution).as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
