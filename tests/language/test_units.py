"""The unit table against two outside libraries: ucumvert reads the codes, pint the factors."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
import ucumvert

from fieldnote.errors import BadInputError
from fieldnote.language import UNITS, Quantity, kind_of, symbol
from fieldnote.language.quantity import pint_unit

OUTSIDE = ucumvert.PintUcumRegistry()
NOT_IN_PINT = {"[pH]"}
"""A logarithm of an activity, which pint does not have; never converted."""
NOT_UCUMS_FACTOR = {"[in_i'Hg]": 0.003, "[in_i'H2O]": 0.002, "mm[Hg]": 1e-5}
"""ucumvert maps columns of mercury and water to pint's units at 60 °F (the factor is their relative
difference); UCUM defines m[Hg] as 133.3220 kPa and m[H2O] as 9.80665 kPa, which our table uses."""
NOT_UCUMS_DIMENSION = {"G"}
"""ucumvert takes pint's gauss of the Gaussian system; UCUM defines G as 1e-4 T, as ours."""


@pytest.mark.parametrize("code", sorted(set(UNITS) - NOT_IN_PINT))
def test_code_is_ucum_and_has_our_dimension_and_factor(code):
    outside = OUTSIDE.from_ucum(code)
    ours = pint_unit(code)
    if code in NOT_UCUMS_DIMENSION:
        assert ours.to_base_units().magnitude == Fraction(1, 10_000)
        return
    assert dict(outside.dimensionality) == {
        name: int(power) for name, power in ours.dimensionality.items()
    }
    if kind_of(code) in (
        "temperature",
        "level",
    ):  # offsets and logarithms: the unit must be the same
        assert str(outside.units) == str(ours.units)
        return
    exact = ours.to_base_units().magnitude
    assert isinstance(exact, Fraction | int)
    tolerance = NOT_UCUMS_FACTOR.get(code, 1e-6)
    assert float(exact) == pytest.approx(outside.to_base_units().magnitude, rel=tolerance)


@pytest.mark.parametrize(
    ("digits", "unit", "into", "expected"),
    [
        # NIST SP 811 (2008), appendix B.8: exact or to the digits given there
        ("1", "[in_i]", "mm", "25.4"),
        ("1", "[ft_i]", "m", "0.3048"),
        ("1", "[lbf_av].[in_i]", "N.m", "0.1129848"),
        ("1", "[lbf_av].[ft_i]", "N.m", "1.355818"),
        ("1", "[psi]", "kPa", "6.894757"),
        ("1", "bar", "kPa", "100"),
        ("1", "[gal_us]", "L", "3.785412"),
        ("1", "[HP]", "W", "745.6999"),
        ("1", "[mil_i]", "um", "25.4"),
        ("1", "[kn_i]", "m/s", "0.5144444"),
        ("1", "[ft_i]3/min", "m3/s", "0.0004719474"),
        ("1", "[lb_av]", "kg", "0.45359237"),
        ("-40", "Cel", "[degF]", "-40"),
        ("100", "Cel", "[degF]", "212"),
        ("0", "Cel", "K", "273.15"),
        ("98.6", "[degF]", "Cel", "37"),
        # UCUM's definitions
        ("1", "[in_i'Hg]", "kPa", "3.386379"),
        ("1", "circ", "deg", "360"),
        ("1.2", "MOhm", "Ohm", "1200000"),
        ("4.7", "kOhm", "Ohm", "4700"),
    ],
)
def test_conversions_against_published_factors(digits, unit, into, expected):
    """NIST Special Publication 811 and the UCUM table (figures from memory, checked by pint)."""
    places = len(expected.partition(".")[2])
    got = Quantity(digits, unit).to(into)
    assert round(Decimal(got.numerator) / Decimal(got.denominator), places) == Decimal(expected)


def test_conversion_is_exact_and_has_a_way_back():
    assert Quantity("0.1", "kOhm").to("Ohm") == Fraction(100)
    assert Quantity("1", "[lbf_av].[in_i]").to("N.m") == Fraction("0.1129848290276167")


def test_digits_and_resolution_are_kept():
    quantity = Quantity("10.60", "Ohm")
    assert (str(quantity.decimal), quantity.resolution) == ("10.60", Decimal("0.01"))
    assert Quantity("3000", "{rev}/min").resolution == 1
    assert str(quantity) == "10.60 Ω"


@pytest.mark.parametrize("digits", ["ten", "", "NaN", "Infinity", "1,5"])
def test_what_is_no_number_is_refused(digits):
    with pytest.raises(BadInputError):
        Quantity(digits, "Ohm")


def test_units_of_different_kinds_are_not_converted():
    with pytest.raises(BadInputError, match="cannot be turned"):
        Quantity("1", "Ohm").to("V")
    with pytest.raises(BadInputError, match="cannot be turned"):
        Quantity("1", "N.m").to("J")
    with pytest.raises(BadInputError, match="cannot be converted"):
        Quantity("1", "furlong").to("m")


def test_no_written_form_belongs_to_two_units():
    forms: dict[str, str] = {}
    for code, unit in UNITS.items():
        for form in {*unit.spoken, *unit.written}:
            assert forms.setdefault(form, code) == code, form


def test_symbols_are_the_trades_own():
    assert [symbol(code) for code in ("Ohm", "[lbf_av].[in_i]", "Cel", "kOhm", "furlong")] == [
        "Ω", "in·lbf", "°C", "kΩ", "furlong",
    ]  # fmt: skip
