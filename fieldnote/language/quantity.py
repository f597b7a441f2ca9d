"""A measured value with its digits kept, and exact conversion between units of one kind."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cache
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.language.units import UNITS, symbol


@cache
def _registry() -> Any:
    import pint  # slow to import: only conversion needs it

    return pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)


@cache
def pint_unit(ucum: str) -> Any:
    """The unit as a pint quantity with an exact factor (`Fraction`)."""
    unit = UNITS.get(ucum)
    if unit is None or not unit.pint:
        raise BadInputError(
            f"The unit {ucum} cannot be converted.", "Use a unit of the list in docs/language.md."
        )
    return _registry().parse_expression(unit.pint)


@dataclass(frozen=True, slots=True)
class Quantity:
    """digits: exact decimal as said or shown ("10.60"). unit: UCUM code.

    Raises:
        BadInputError: digits are not a decimal number.
    """

    digits: str
    unit: str

    def __post_init__(self) -> None:
        try:
            finite = Decimal(self.digits).is_finite()
        except InvalidOperation:
            finite = False
        if not finite:
            raise BadInputError(
                f'"{self.digits}" is not a number.', "Give it as digits, like 10.60."
            )

    @property
    def decimal(self) -> Decimal:
        """The value in its unit."""
        return Decimal(self.digits)

    @property
    def resolution(self) -> Decimal:
        """One step of the last digit ("10.60" → 0.01), in the unit (JCGM 200, 4.14)."""
        exponent = self.decimal.as_tuple().exponent
        return Decimal(1).scaleb(exponent if isinstance(exponent, int) else 0)

    def to(self, unit: str) -> Fraction:
        """The exact value in another unit of the same kind.

        Raises:
            BadInputError: the units are of different kinds, or not in the table.
        """
        if unit == self.unit:
            return Fraction(self.decimal)
        here, there = pint_unit(self.unit), pint_unit(unit)
        registry = _registry()
        mine, theirs = UNITS[self.unit].kind, UNITS[unit].kind
        if mine != theirs:
            raise BadInputError(
                f"{symbol(self.unit)} ({mine}) cannot be turned into {symbol(unit)} ({theirs}).",
                "Both must measure the same kind of quantity.",
            )
        if mine == "temperature":
            value = registry.Quantity(Fraction(self.decimal), here.units).to(there.units).magnitude
            return Fraction(value)
        factor = (here / there).to_base_units()
        return Fraction(self.decimal) * Fraction(factor.magnitude)

    def __str__(self) -> str:
        return f"{self.digits} {symbol(self.unit)}"
