"""Readings in the units that a customer is used to, beside those in which they were taken.

A conversion is for reading only: verdicts are made, and values stored, in the units taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from math import floor, log10

from fieldnote.acceptance import UNITS, Quantity
from fieldnote.acceptance.exact import difference_in
from fieldnote.errors import BadInputError

LEAST_DIGITS = 2  # significant digits that a difference keeps, so that it is never rounded to 0

_SI_LENGTH = {"[in_i]": "mm", "[mil_i]": "mm", "[ft_i]": "m", "[yd_i]": "m", "[mi_i]": "km"}
_US_LENGTH = {"um": "[mil_i]", "mm": "[in_i]", "cm": "[in_i]", "m": "[ft_i]", "km": "[mi_i]"}
_SI_OTHERS = {
    "[HP]": "kW", "[lbf_av].[in_i]": "N.m", "[lbf_av].[ft_i]": "N.m", "[lbf_av]": "N",
    "[psi]": "kPa", "[in_i'Hg]": "kPa", "[in_i'H2O]": "Pa", "[degF]": "Cel", "[in_i]/s": "mm/s",
    "[ft_i]/s": "m/s", "[ft_i]/min": "m/s", "[mi_i]/h": "km/h", "[gal_us]/min": "L/min",
    "[gal_us]/h": "L/h", "[ft_i]3/min": "m3/h", "[gal_us]": "L", "[gal_br]": "L", "[qt_us]": "L",
    "[pt_us]": "L", "[pt_br]": "L", "[foz_us]": "mL", "[lb_av]": "kg", "[oz_av]": "g",
}  # fmt: skip
_US_OTHERS = {
    "N.m": "[lbf_av].[ft_i]", "N": "[lbf_av]", "kN": "[lbf_av]", "bar": "[psi]", "mbar": "[psi]",
    "Pa": "[in_i'H2O]", "hPa": "[in_i'H2O]", "kPa": "[psi]", "MPa": "[psi]", "mm[Hg]": "[in_i'Hg]",
    "mm[H2O]": "[in_i'H2O]", "m[H2O]": "[psi]", "Cel": "[degF]", "K": "[degF]", "mm/s": "[in_i]/s",
    "m/s": "[ft_i]/s", "km/h": "[mi_i]/h", "L/min": "[gal_us]/min", "mL/min": "[gal_us]/h",
    "L/s": "[gal_us]/min", "L/h": "[gal_us]/h", "m3/h": "[ft_i]3/min", "m3/s": "[ft_i]3/min",
    "L": "[gal_us]", "mL": "[foz_us]", "m3": "[gal_us]", "kg": "[lb_av]", "g": "[oz_av]",
}  # fmt: skip
SYSTEMS: Mapping[str, Mapping[str, str]] = {  # unit taken: unit shown
    "SI": _SI_LENGTH | _SI_OTHERS,
    "US": _US_LENGTH | _US_OTHERS,  # customary units as NIST Handbook 44, Appendix C, names them
}


class Preferred:
    """Which unit each reading is shown in."""

    def __init__(self, stated: str | None = None) -> None:
        """stated: ``SI`` or ``US`` (customary) or UCUM codes, each for all readings of its kind,
        separated by commas: ``US,N.m``. None leaves every reading as taken.

        Raises:
            BadInputError: a word is neither a system of units nor a known UCUM code.
        """
        self._systems: list[Mapping[str, str]] = []
        self._by_kind: dict[str, str] = {}
        for word in (part.strip() for part in (stated or "").split(",")):
            if word.upper() in SYSTEMS:
                self._systems.append(SYSTEMS[word.upper()])
            elif word in UNITS:
                self._by_kind[UNITS[word].kind] = word
            elif word or stated:
                raise BadInputError(
                    f"“{word}” is no system of units and no known UCUM code.",
                    "Give SI, US, or UCUM codes such as N.m,Cel,[psi] (docs/language.md).",
                )

    def instead_of(self, unit: str | None) -> str | None:
        """The unit to show, None where the reading is already in it or none is preferred."""
        if unit not in UNITS:
            return None
        wanted = self._by_kind.get(UNITS[unit].kind)
        for system in self._systems:
            wanted = wanted or system.get(unit)
        return None if wanted == unit else wanted


def converted(digits: str, unit: str, target: str) -> str:
    """``digits`` in another unit of the same kind, rounded to what they are worth.

    The last digit kept is the largest that is no coarser than the last digit taken, as in the
    example of NIST SP 811, B.7.2: 36 ft are 11.0 m.
    """
    taken = Quantity(digits, unit)
    step = abs(difference_in(taken.resolution, unit, target))
    return rounded(taken.to(target), -floor(log10(step)))


def difference(digits: str, unit: str, target: str, places: int) -> str:
    """A margin in ``target`` for people: to so many decimals, or two digits where that is more."""
    value = difference_in(Decimal(digits), unit, target)
    if not value:
        return "0"
    needed = LEAST_DIGITS - 1 - floor(log10(abs(value)))
    own = decimals(digits) if unit == target else needed  # no digit that is not there
    return rounded(value, max(places, min(needed, own)))


def decimals(digits: str) -> int:
    """Digits after the point: 2 of ``10.60``."""
    return len(digits.partition(".")[2])


def rounded(value: Fraction, places: int) -> str:
    """Half to even at ``places`` after the point; negative places round before it."""
    step = Fraction(10) ** -places
    return format(Decimal(round(value / step)).scaleb(-places), "f")
