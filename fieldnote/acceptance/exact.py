"""Exact numbers in and out: decimal strings, fractions, and differences between units.

Binary floats never enter. A value that has no short finite decimal (5 °F is 25/9 K) is written
rounded; it is compared unrounded.
"""

from __future__ import annotations

import re
from decimal import ROUND_CEILING, Context, Decimal
from fractions import Fraction
from functools import cache

from fieldnote.errors import BadInputError
from fieldnote.language import UNITS, Quantity, symbol

_DECIMAL = re.compile(r"[-+]?\d+(\.\d+)?")
_EXACT_DIGITS, _SHOWN_DIGITS = 15, 9


def decimal(digits: str, what: str) -> Decimal:
    """The number that `digits` writes; `what` names it in the error. No exponents."""
    text = digits.strip().replace("−", "-")
    if not _DECIMAL.fullmatch(text):
        raise BadInputError(
            f"{what} is “{digits}”, which is not a decimal number.",
            'Write plain digits with a point, such as "0.50" or "-5".',
        )
    return Decimal(text)


def written(value: Fraction) -> str:
    """`value` as a decimal: exact where up to 15 significant digits say it, else rounded to 9."""
    exact = Context(prec=_EXACT_DIGITS)
    told = exact.divide(Decimal(value.numerator), Decimal(value.denominator))
    if Fraction(told) != value:
        told = Context(prec=_SHOWN_DIGITS).plus(told)
    if told == told.to_integral_value():
        return str(int(told))
    return format(told.normalize(exact), "f")


def rounded_up(value: Decimal, digits: int = 3) -> Decimal:
    """`value` >= 0 to so many significant digits, never below it: an uncertainty is not shaved."""
    if not value:
        return Decimal(0)
    step = Decimal(1).scaleb(value.adjusted() - digits + 1)
    return value.quantize(step, rounding=ROUND_CEILING)


def in_unit(value: Fraction | Decimal, unit: str, target: str) -> Fraction:
    """A value on a scale (80 °C is 176 °F)."""
    if unit == target:
        return Fraction(value)
    # The scales of all our units are straight lines, so two exact points give every other.
    zero = _point("0", unit, target)
    return zero + Fraction(value) * (_point("1", unit, target) - zero)


def difference_in(value: Fraction | Decimal, unit: str, target: str) -> Fraction:
    """A difference, tolerance or uncertainty (5 °C of difference are 9 °F, not 41 °F)."""
    if unit == target:
        return Fraction(value)
    return Fraction(value) * (_point("1", unit, target) - _point("0", unit, target))


def has_offset(unit: str) -> bool:
    """Whether the unit's scale begins elsewhere than at nought, as °C and °F do."""
    known = UNITS.get(unit)
    return known is not None and known.kind == "temperature" and _point("0", unit, "K") != 0


@cache
def _point(digits: str, unit: str, target: str) -> Fraction:
    return Quantity(digits, unit).to(target)


def with_unit(number: str, unit: str) -> str:
    """A number and its unit as people write them; the degree of angle stands close, as ISO 80000-1
    has it."""
    sign = symbol(unit)
    return f"{number}{sign}" if sign == "°" else f"{number} {sign}"
