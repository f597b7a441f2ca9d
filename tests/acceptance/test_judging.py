"""Windows and verdicts: limits included, exact, in any unit of the kind."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.acceptance import (
    SIMPLE,
    Quantity,
    Verdict,
    Window,
    judge,
    judge_open,
    judge_short,
)
from fieldnote.errors import BadInputError

decimals = st.decimals(-(10**6), 10**6, allow_nan=False, allow_infinity=False, places=3)


@pytest.mark.parametrize(
    ("window", "limits", "words"),
    [
        (Window.plus_minus("11", "1", "Ohm"), (10, 12), "11 ± 1 Ω (10 to 12 Ω)"),
        (Window.plus_minus("10", "5 %", "kOhm"), ("9.5", "10.5"), "10 kΩ ± 5 % (9.5 to 10.5 kΩ)"),
        (Window.plus_minus("-5", "20 %", "V"), (-6, -4), "-5 V ± 20 % (-6 to -4 V)"),
        (Window.between("12.40", "14.8", "V"), ("12.4", "14.8"), "12.40 to 14.8 V"),
        (Window.at_least("1", "MOhm"), (1, None), "at least 1 MΩ"),
        (Window.at_most("0.5", "Ohm"), (None, "0.5"), "at most 0.5 Ω"),
        (Window.plus_minus("35", "1", "deg"), (34, 36), "35 ± 1° (34 to 36°)"),
    ],
)
def test_builders_and_words(
    window: Window, limits: tuple[str | int | None, ...], words: str
) -> None:
    assert window.limits == tuple(None if x is None else Fraction(x) for x in limits)
    assert window.describe() == words
    assert Window.from_json(window.to_json()) == window


def test_a_tolerance_is_a_difference_also_between_temperature_scales() -> None:
    window = Window.plus_minus("80", "9", "Cel", tolerance_unit="[degF]")
    assert window.limits == (75, 85)
    assert window.describe() == "80 °C ± 9 °F (75 to 85 °C)"
    # 185 °F is 85 °C: on the limit, so inside.
    assert judge(Quantity("185", "[degF]"), window).margin == "0"


def test_an_uncertainty_in_fahrenheit_is_a_difference_too() -> None:
    verdict = judge(Quantity("176", "[degF]"), Window.plus_minus("80", "5", "Cel"), Decimal("0.9"))
    assert (verdict.value, verdict.uncertainty, verdict.margin) == ("80", "1", "5")


@pytest.mark.parametrize(
    ("digits", "result", "margin", "nearest"),
    [("10", "pass", "0", "lower"), ("12.0", "pass", "0", "upper"), ("9.9", "fail", "-0.1", "lower"),
     ("12.001", "fail", "-0.001", "upper"), ("11.6", "pass", "0.4", "upper")],
)  # fmt: skip
def test_limits_belong_to_the_window(digits: str, result: str, margin: str, nearest: str) -> None:
    verdict = judge(Quantity(digits, "Ohm"), Window.plus_minus("11", "1", "Ohm"))
    assert (verdict.result, verdict.margin, verdict.nearest) == (result, margin, nearest)
    assert "no uncertainty given" in verdict.rule


def test_a_tenth_is_a_tenth() -> None:
    # In binary floats 0.1 + 0.2 > 0.3 and this limit would be missed.
    window = Window.plus_minus("0.1", "0.2", "V")
    assert judge(Quantity("0.3", "V"), window).margin == "0"


@pytest.mark.parametrize(
    ("digits", "result"),
    [("103.2", "indeterminate"), ("102.58", "pass"), ("102.59", "indeterminate"),
     ("104", "indeterminate"), ("105.42", "indeterminate"), ("105.43", "fail")],
)  # fmt: skip
def test_the_guard_band_lies_on_both_sides_of_a_limit(digits: str, result: str) -> None:
    verdict = judge(Quantity(digits, "Ohm"), Window.plus_minus("100", "4", "Ohm"), Decimal("0.71"))
    assert verdict.result == result
    assert "U = 1.42 Ω (k = 2), guard band 1.42 Ω" in verdict.rule


def test_simple_acceptance_leaves_the_uncertainty_out_but_reports_it() -> None:
    window = Window.plus_minus("100", "4", "Ohm")
    verdict = judge(Quantity("103.9", "Ohm"), window, Decimal("0.71"), rule=SIMPLE)
    assert (verdict.result, verdict.uncertainty) == ("pass", "1.42")


def test_a_window_narrower_than_the_guard_bands_cannot_be_passed() -> None:
    verdict = judge(Quantity("5", "V"), Window.plus_minus("5", "0.1", "V"), Decimal("0.2"))
    assert verdict.result == "indeterminate"


def test_no_limit_is_unchecked() -> None:
    verdict = judge(Quantity("5", "V"), None, Decimal("0.2"))
    assert verdict == Verdict("unchecked", None, None, "no limit given")


@given(decimals, decimals, decimals)
def test_a_verdict_is_the_same_in_any_unit(value: Decimal, one: Decimal, other: Decimal) -> None:
    window = Window.between(str(min(one, other)), str(max(one, other)), "V")
    in_volts = judge(Quantity(f"{value:f}", "V"), window)
    in_millivolts = judge(Quantity(f"{value * 1000:f}", "mV"), window)
    assert in_volts == in_millivolts


@given(decimals, decimals, st.decimals(0, 10**3, places=3))
def test_json_keeps_windows_and_verdicts(value: Decimal, nominal: Decimal, reach: Decimal) -> None:
    window = Window.plus_minus(f"{nominal:f}", f"{reach:f}", "kPa")
    assert Window.from_json(window.to_json()) == window
    verdict = judge(Quantity(f"{value:f}", "kPa"), window, Decimal("0.3"))
    assert Verdict.from_json(verdict.to_json()) == verdict
    assert all(x is None or isinstance(x, str) for x in verdict.to_json().values())


def test_another_kind_of_quantity_is_refused_with_the_mend() -> None:
    with pytest.raises(BadInputError, match=r"5 V cannot be compared .* Ω.*Say the reading in Ω"):
        judge(Quantity("5", "V"), Window.at_most("1", "Ohm"))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Window.between("12", "10", "V"),
        lambda: Window.plus_minus("12", "-1", "V"),
        lambda: Window.at_least("1e3", "V"),
        lambda: Window.at_most("NaN", "V"),
        lambda: Window.plus_minus("ten", "1", "V"),
        lambda: Window.from_json({"unit": "V"}),
        lambda: Window.plus_minus("20", "5 %", "Cel"),
        lambda: Window.plus_minus("0", "5 %", "V"),
    ],
)
def test_senseless_windows_are_refused(make: object) -> None:
    with pytest.raises(BadInputError) as refused:
        make()  # type: ignore[operator]
    assert refused.value.mend


def test_open_circuit() -> None:
    assert judge_open(Window.at_most("0.5", "Ohm")).result == "fail"
    assert judge_open(Window.plus_minus("11", "1", "Ohm")).result == "fail"
    insulation = Window.at_least("1", "MOhm")
    assert judge_open(insulation).result == "indeterminate"
    assert judge_open(insulation, Quantity("60.00", "MOhm")).result == "pass"
    assert judge_open(insulation, Quantity("600.0", "kOhm")).result == "indeterminate"
    assert judge_open(None).result == "unchecked"


def test_short_circuit() -> None:
    assert judge_short(Window.at_least("1", "MOhm")).result == "fail"
    assert judge_short(Window.at_most("0.5", "Ohm")).result == "indeterminate"
    assert judge_short(None).result == "unchecked"


@given(decimals, decimals, decimals, st.decimals(0, 10**3, places=3))
def test_the_rule_is_that_of_intervals(
    value: Decimal, one: Decimal, other: Decimal, u: Decimal
) -> None:
    low, high = min(one, other), max(one, other)
    window = Window.between(f"{low:f}", f"{high:f}", "V")
    verdict = judge(Quantity(f"{value:f}", "V"), window, u)
    lowest, highest = value - 2 * u, value + 2 * u
    if low <= lowest and highest <= high:
        assert verdict.result == "pass"
    elif highest < low or lowest > high:
        assert verdict.result == "fail"
    else:
        assert verdict.result == "indeterminate"
    # A better meter never turns a proven verdict round.
    better = judge(Quantity(f"{value:f}", "V"), window, u / 2)
    if verdict.result != "indeterminate":
        assert better.result == verdict.result
