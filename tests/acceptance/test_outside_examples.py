"""Verdicts and conversions against worked examples that others published, source beside each."""

from decimal import Decimal
from fractions import Fraction

import pytest

from fieldnote.acceptance import (
    SIMPLE,
    DecisionRule,
    Quantity,
    Window,
    conformance_probability,
    judge,
)

# NIST SP 811 (2008), Appendix B.8, factors to SI as printed, 7 significant digits (from memory).
SP_811 = [
    ("[lbf_av].[in_i]", "N.m", "0.1129848"),
    ("[lbf_av].[ft_i]", "N.m", "1.355818"),
    ("[psi]", "kPa", "6.894757"),
    ("[in_i]", "mm", "25.4"),
    ("[ft_i]", "m", "0.3048"),
    ("[mi_i]", "km", "1.609344"),
    ("[lbf_av]", "N", "4.448222"),
    ("[lb_av]", "kg", "0.4535924"),
    ("[gal_us]", "L", "3.785412"),
    ("bar", "kPa", "100"),
    ("[kn_i]", "m/s", "0.5144444"),
    ("[in_i'H2O]", "Pa", "249.0889"),
]


@pytest.mark.parametrize(("unit", "si", "factor"), SP_811)
def test_factors_of_nist_sp_811(unit: str, si: str, factor: str) -> None:
    printed = Decimal(factor)
    half_a_digit = Decimal(1).scaleb(printed.as_tuple().exponent) / 2
    assert abs(Quantity("1", unit).to(si) - Fraction(printed)) <= Fraction(half_a_digit)


def test_inch_of_mercury_is_ucums_and_so_differs_in_the_sixth_digit() -> None:
    # SP 811 (conventional): 3.386 389 kPa. UCUM builds it on m[Hg] = 133.3220 kPa: 3.386 379 kPa.
    assert abs(Quantity("1", "[in_i'Hg]").to("kPa") / Fraction("3.386389") - 1) < Fraction(
        1, 250_000
    )


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    # SP 811, B.8, t/°C = (t/°F - 32)/1.8; the two fixed points and the one where both scales meet.
    [("32", "0"), ("212", "100"), ("-40", "-40"), ("98.6", "37")],
)
def test_fahrenheit_is_a_scale_with_an_offset(fahrenheit: str, celsius: str) -> None:
    verdict = judge(Quantity(fahrenheit, "[degF]"), Window.plus_minus(celsius, "0", "Cel"))
    assert (verdict.result, verdict.margin, verdict.value) == ("pass", "0", celsius)


def test_zener_diode_of_jcgm_106() -> None:
    # JCGM 106:2012, 7.4, breakdown voltage of a Zener diode, from memory: y = -5.47 V, u = 0.05 V,
    # upper limit -5.40 V, conformance probability 0.92.
    reading, window, u = Quantity("-5.47", "V"), Window.at_most("-5.40", "V"), Decimal("0.05")
    assert round(conformance_probability(reading, window, u), 2) == 0.92
    assert judge(reading, window, u, rule=SIMPLE).result == "pass"
    # 92 % is below the 97.7 % that a guard band of 2u asks for on one side.
    assert judge(reading, window, u).result == "indeterminate"


@pytest.mark.parametrize(
    ("z", "probability"),
    # JCGM 106:2012, Table 1, from memory: conformance probability for one-sided limits, normal.
    [("0.84", "0.80"), ("1.28", "0.90"), ("1.64", "0.95"), ("2.33", "0.99"), ("3.09", "0.999")],
)
def test_table_1_of_jcgm_106(z: str, probability: str) -> None:
    computed = conformance_probability(Quantity("0", "V"), Window.at_most(z, "V"), Decimal(1))
    assert abs(computed - float(probability)) < 0.0011


@pytest.mark.parametrize(
    ("speed", "result"), [("100", "indeterminate"), ("106.5", "indeterminate"), ("107", "fail")]
)
def test_speed_trap_of_jcgm_106(speed: str, result: str) -> None:
    # JCGM 106:2012, 8.3.3 (guarded rejection), from memory: limit 100 km/h, u(v)/v = 2 %, at least
    # 99.9 % sure (z = 3.09): penalties from 100 / (1 - 0.02 x 3.09) = 107 km/h.
    u = Decimal(speed) * Decimal("0.02")
    rule = DecisionRule("guarded rejection", coverage="3.09")
    assert (
        judge(Quantity(speed, "km/h"), Window.at_most("100", "km/h"), u, rule=rule).result == result
    )


@pytest.mark.parametrize(
    ("ohms", "result"),
    [("1500.12", "pass"), ("1500.13", "indeterminate"), ("1500.28", "indeterminate"),
     ("1500.29", "fail"), ("1499.88", "pass"), ("1499.87", "indeterminate"), ("1499.71", "fail")],
)  # fmt: skip
def test_resistors_of_jcgm_106_with_a_guard_band(ohms: str, result: str) -> None:
    # The resistor example in JCGM 106:2012, 9.5, from memory: 1500 Ω ± 0.2 Ω, u = 0.04 Ω;
    # guarded acceptance with w = U = 2u = 0.08 Ω accepts from 1499.88 to 1500.12 Ω.
    window = Window.plus_minus("1500", "0.2", "Ohm")
    assert judge(Quantity(ohms, "Ohm"), window, Decimal("0.04")).result == result
