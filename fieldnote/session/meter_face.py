"""What a meter's specification tells of its display: which units and how many digits it can show.

That is knowledge of the instrument and never of the step: no limit passes here.
"""

from __future__ import annotations

from decimal import Decimal

from fieldnote.photo import DisplayProfile, DisplayRange
from fieldnote.procedure import Instrument


def display_profile(meter: Instrument | None) -> DisplayProfile | None:
    """The profile by which photos of a meter are read; None where its ranges are not known.

    A range "up to 600.0, in steps of 0.1" shows at most four digits, one of them after the point.
    """
    if meter is None or not meter.ranges:
        return None
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
    )


def _places(resolution: str) -> int:
    exponent = Decimal(resolution).as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0
