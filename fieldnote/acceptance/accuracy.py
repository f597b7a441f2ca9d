"""A meter's accuracy specification, and the uncertainty that it gives to a reading."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from fieldnote.acceptance.exact import (
    decimal,
    difference_in,
    in_unit,
    rounded_up,
    written,
)
from fieldnote.errors import BadInputError
from fieldnote.language import Quantity, symbol


@dataclass(frozen=True, slots=True)
class AccuracyRange:
    """One range of a meter: `upto` in `unit`, shown in steps of `resolution`.

    The maximum permissible error (JCGM 200:2012, 4.26) in it is
    ``percent`` % of the reading + ``percent_of_range`` % of `upto` + ``digits`` x `resolution`.
    Multimeters state percent and digits, pressure gauges a class in percent of range (EN 837-1),
    torque tools percent of reading (ISO 6789). downto: where a range has a lower end of its own.
    current: where the range holds for alternating or for direct current only.
    """

    unit: str
    upto: str
    resolution: str
    percent: str = "0"
    digits: str = "0"
    percent_of_range: str = "0"
    downto: str | None = None
    current: Literal["AC", "DC"] | None = None

    def describe(self) -> str:
        """For people: "600.0 Ω range: ±(0.9 % + 2 digits of 0.1 Ω)"."""
        sign = symbol(self.unit)
        terms = []
        if Decimal(self.percent):
            terms.append(f"{self.percent} %")
        if Decimal(self.percent_of_range):
            terms.append(f"{self.percent_of_range} % of range")
        if Decimal(self.digits):
            terms.append(f"{self.digits} digits of {self.resolution} {sign}")
        return f"{self.upto} {sign} range: ±({' + '.join(terms) or '0'})"


@dataclass(frozen=True, slots=True)
class Accuracy:
    """The ranges of one meter, any order; several kinds of quantity may stand together."""

    ranges: tuple[AccuracyRange, ...]

    def __post_init__(self) -> None:
        for each in self.ranges:
            for name in ("upto", "resolution", "percent", "digits", "percent_of_range"):
                number = decimal(getattr(each, name), f"`{name}` of the {each.unit} range")
                if number < 0 or (number == 0 and name in ("upto", "resolution")):
                    raise BadInputError(
                        f"`{name}` of the {symbol(each.unit)} range up to {each.upto} is {number}.",
                        "It must be a number above nought.",
                    )

    def range_of(self, quantity: Quantity, current: str | None = None) -> AccuracyRange:
        """The range that a reading was taken in.

        current: "AC" or "DC" where known; where it is not, the worse of two such ranges counts.

        The display tells it: of the ranges that reach far enough, the one that shows the reading's
        own last digit; where none does, the smallest. A reading said with fewer digits than the
        meter shows is therefore taken as read in a coarser range, never in a finer one.

        Raises:
            BadInputError: the meter has no range of that kind, or none that reaches so far.
        """
        kin = [
            r
            for r in self.ranges
            if _same_kind(r.unit, quantity.unit)
            and (None in (current, r.current) or r.current == current)
        ]
        shown = f"{quantity.digits} {symbol(quantity.unit)}"
        if not kin:
            raise BadInputError(
                f"This meter has no range for {symbol(quantity.unit)}: {shown} is not its reading.",
                "Name the meter that was used, or say the reading again.",
            )
        reaching = [r for r in kin if _reaches(r, quantity)]
        if not reaching:
            longest = max(kin, key=lambda r: _full(r, quantity.unit))
            raise BadInputError(
                f"{shown} is beyond this meter's range ({longest.upto} {symbol(longest.unit)}).",
                "Say the reading again, or name the meter that was used.",
            )
        reaching.sort(
            key=lambda r: (
                difference_in(Decimal(r.upto), r.unit, quantity.unit),
                -_error(r, quantity),
            )
        )
        for each in reaching:
            if _step(each, quantity.unit) == Fraction(quantity.resolution):
                return each
        return reaching[0]

    def permissible_error(self, quantity: Quantity, current: str | None = None) -> Decimal:
        """Maximum permissible error, in the unit of `quantity`, as a difference.

        Where the reading carries fewer digits than its range shows, its own last digit is counted.
        """
        return Decimal(written(_error(self.range_of(quantity, current), quantity)))

    def uncertainty(self, quantity: Quantity, current: str | None = None) -> Decimal:
        """Standard uncertainty (k = 1) in the unit of `quantity`, rounded up to 3 digits.

        Nothing is known of where the error lies within the specification, so it is taken as
        rectangular: u = maximum permissible error / √3 (JCGM 100:2008, 4.3.7).
        """
        return rounded_up(self.permissible_error(quantity, current) / Decimal(3).sqrt())

    def reach(self, unit: str) -> Fraction | None:
        """The largest value that the meter can show, in `unit`; None where it has no range."""
        ends = [
            in_unit(Decimal(r.upto), r.unit, unit) for r in self.ranges if _same_kind(r.unit, unit)
        ]
        return max(ends, default=None)

    def describe(self, quantity: Quantity) -> str:
        """The specification used for a reading, for people."""
        return self.range_of(quantity).describe()

    def to_json(self) -> list[dict[str, str | None]]:
        """The ranges, numbers as strings."""
        return [{name: getattr(r, name) for name in r.__slots__} for r in self.ranges]

    @classmethod
    def from_json(cls, body: list[Mapping[str, Any]]) -> Accuracy:
        return cls(tuple(AccuracyRange(**each) for each in body))


def _same_kind(one: str, other: str) -> bool:
    try:
        Quantity("1", one).to(other)
    except BadInputError:
        return False
    return True


def _error(spec: AccuracyRange, quantity: Quantity) -> Fraction:
    unit = quantity.unit
    step = max(_step(spec, unit), Fraction(quantity.resolution))
    return (
        # A share of a reading is one of the meter's own scale: 1 % of 25 °C is not 1 % of 77 °F.
        difference_in(abs(in_unit(quantity.decimal, unit, spec.unit)), spec.unit, unit)
        * Fraction(Decimal(spec.percent))
        / 100
        + _full(spec, unit) * Fraction(Decimal(spec.percent_of_range)) / 100
        + step * Fraction(Decimal(spec.digits))
    )


def _full(spec: AccuracyRange, unit: str) -> Fraction:
    return difference_in(Decimal(spec.upto), spec.unit, unit)


def _step(spec: AccuracyRange, unit: str) -> Fraction:
    return difference_in(Decimal(spec.resolution), spec.unit, unit)


def _reaches(spec: AccuracyRange, quantity: Quantity) -> bool:
    value = in_unit(quantity.decimal, quantity.unit, spec.unit)
    if spec.downto is not None:
        return Fraction(Decimal(spec.downto)) <= value <= Fraction(Decimal(spec.upto))
    return abs(value) <= Fraction(Decimal(spec.upto))
