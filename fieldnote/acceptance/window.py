"""An acceptance window: the limits between which a reading is good. The limits belong to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fieldnote.acceptance.exact import (
    decimal,
    difference_in,
    has_offset,
    in_unit,
    with_unit,
    written,
)
from fieldnote.errors import BadInputError


@dataclass(frozen=True, slots=True)
class Window:
    """Limits in one unit; a value on a limit is inside. Make it with one of the four builders.

    unit: UCUM code. lower, upper: limits as decimal strings in that unit, None where there is none.
    nominal, tolerance: as the procedure states them, where it states them so; tolerance may be a
    share of the nominal value ("5 %"). tolerance_unit: UCUM, where it is not `unit`.
    """

    unit: str
    lower: str | None = None
    upper: str | None = None
    nominal: str | None = None
    tolerance: str | None = None
    tolerance_unit: str | None = None

    @classmethod
    def plus_minus(
        cls, nominal: str, tolerance: str, unit: str, tolerance_unit: str | None = None
    ) -> Window:
        """Nominal value ± tolerance: `plus_minus("11", "1", "Ohm")`, `("4.7", "5 %", "kOhm")`.

        The tolerance is a difference: 80 °C ± 9 °F reaches from 75 to 85 °C.
        """
        middle = decimal(nominal, "The nominal value")
        reach = _reach(middle, tolerance, unit, tolerance_unit)
        if reach < 0:
            raise BadInputError(
                f"The tolerance {tolerance} is negative.",
                "Write it without a sign: it goes both ways.",
            )
        lower, upper = Fraction(middle) - reach, Fraction(middle) + reach
        return cls(unit, written(lower), written(upper), nominal, tolerance, tolerance_unit)

    @classmethod
    def between(cls, lower: str, upper: str, unit: str) -> Window:
        """From `lower` to `upper`, both good."""
        if decimal(lower, "The lower limit") > decimal(upper, "The upper limit"):
            raise BadInputError(
                f"The window is upside down: its lower limit {lower} is above the upper, {upper}.",
                "Swap the two.",
            )
        return cls(unit, lower.strip(), upper.strip())

    @classmethod
    def at_least(cls, limit: str, unit: str) -> Window:
        """`limit` and everything above."""
        decimal(limit, "The lower limit")
        return cls(unit, lower=limit.strip())

    @classmethod
    def at_most(cls, limit: str, unit: str) -> Window:
        """`limit` and everything below."""
        decimal(limit, "The upper limit")
        return cls(unit, upper=limit.strip())

    @property
    def limits(self) -> tuple[Fraction | None, Fraction | None]:
        """Lower and upper limit, exact, in `unit`."""
        if self.nominal is not None and self.tolerance is not None:
            middle = Decimal(self.nominal)
            reach = _reach(middle, self.tolerance, self.unit, self.tolerance_unit)
            return Fraction(middle) - reach, Fraction(middle) + reach
        lower = None if self.lower is None else Fraction(Decimal(self.lower))
        upper = None if self.upper is None else Fraction(Decimal(self.upper))
        return lower, upper

    def within(self, unit: str) -> Window:
        """The same window told in another unit of the same kind."""
        told = [None if x is None else written(in_unit(x, self.unit, unit)) for x in self.limits]
        return Window(unit, *told)

    def describe(self) -> str:
        """For people: "11 ± 1 Ω (10 to 12 Ω)", "at least 1 MΩ"; the limits are always included."""
        unit = self.unit
        lower, upper = self.lower or "", with_unit(self.upper or "", unit)
        if self.upper is None:
            return f"at least {with_unit(lower, unit)}"
        if self.lower is None:
            return f"at most {upper}"
        if self.nominal is None or self.tolerance is None:
            return f"{lower} to {upper}"
        nominal, tolerance = with_unit(self.nominal, unit), self.tolerance
        if self.tolerance_unit and self.tolerance_unit != unit:
            reach = with_unit(tolerance, self.tolerance_unit)
        elif tolerance.endswith("%"):
            reach = f"{tolerance.rstrip('% ')} %"
        else:
            nominal, reach = self.nominal, with_unit(tolerance, unit)
        return f"{nominal} ± {reach} ({lower} to {upper})"

    def to_json(self) -> dict[str, str | None]:
        """All fields by name; numbers as strings."""
        return {name: getattr(self, name) for name in self.__slots__}

    @classmethod
    def from_json(cls, body: Mapping[str, Any]) -> Window:
        """The window that `to_json` wrote, its limits checked again."""
        unit = str(body["unit"])
        nominal, tolerance = body.get("nominal"), body.get("tolerance")
        if nominal is not None and tolerance is not None:
            return cls.plus_minus(nominal, tolerance, unit, body.get("tolerance_unit"))
        lower, upper = body.get("lower"), body.get("upper")
        if lower is not None and upper is not None:
            return cls.between(lower, upper, unit)
        if lower is not None:
            return cls.at_least(lower, unit)
        if upper is not None:
            return cls.at_most(upper, unit)
        raise BadInputError("The window has no limit.", "Give lower, upper or both.")


def _reach(middle: Decimal, tolerance: str, unit: str, tolerance_unit: str | None) -> Fraction:
    if tolerance.strip().endswith("%"):
        share = decimal(tolerance.strip().removesuffix("%").strip(), "The tolerance in percent")
        if not middle or has_offset(unit):
            raise BadInputError(
                f"{tolerance} of {with_unit(format(middle, 'f'), unit)} has no meaning.",
                "Write the tolerance as a difference.",
            )
        return abs(Fraction(middle)) * Fraction(share) / 100
    reach = decimal(tolerance, "The tolerance")
    return difference_in(reach, tolerance_unit or unit, unit)
