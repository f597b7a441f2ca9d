"""Windows that depend on facts or on another reading, against standards' tables."""

import re
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.acceptance import Quantity, Window, judge
from fieldnote.acceptance.curve import Curve
from fieldnote.acceptance.formula import Formula
from fieldnote.errors import BadInputError
from fieldnote.procedure import load
from fieldnote.procedure.limits import Chosen
from fieldnote.procedure.steps import Measure, Points

# IEC 60751, Table 1 (Pt100, ohms by °C), as reprinted at sensorsci.com/reference.htm.
PT100 = [(-200, "18.52"), (-100, "60.26"), (-50, "80.31"), (-10, "96.09"), (0, "100.00"),
         (10, "103.90"), (50, "119.40"), (100, "138.51"), (200, "175.86"), (300, "212.05"),
         (400, "247.09"),
         (500, "280.98"), (600, "313.71")]  # fmt: skip
# IEC 60751:1995, tolerances of class A and B in ohms by °C, as reprinted on makers' data sheets.
TOLERANCES = [(-200, "0.24", "0.56"), (-100, "0.14", "0.32"), (0, "0.06", "0.12"),
              (100, "0.13", "0.30"), (200, "0.20", "0.48"), (300, "0.27", "0.64"),
              (400, "0.33", "0.79"),
              (500, "0.38", "0.93"), (600, "0.43", "1.06")]  # fmt: skip


def element(temperature: int, class_: str) -> Window:
    step = load("pt100").step("element")
    assert isinstance(step, Measure)
    chosen = step.choose({"class": f"class {class_}"}, {"bath": Fraction(temperature)})
    assert chosen.window is not None
    return chosen.window


@pytest.mark.parametrize(("celsius", "ohms"), PT100)
def test_pt100_resistance_of_iec_60751(celsius: int, ohms: str) -> None:
    low, high = element(celsius, "B").limits
    assert low is not None
    assert high is not None
    assert abs((low + high) / 2 - Fraction(ohms)) <= Fraction("0.005")


@pytest.mark.parametrize(("celsius", "class_a", "class_b"), TOLERANCES)
def test_pt100_tolerances_of_iec_60751(celsius: int, class_a: str, class_b: str) -> None:
    for class_, printed in (("A", class_a), ("B", class_b)):
        low, high = element(celsius, class_).limits
        assert low is not None
        assert high is not None
        # Printed to 0.01 Ω; the class A table rounds a few values up by another 0.005.
        assert abs((high - low) / 2 - Fraction(printed)) <= Fraction("0.0105")


def test_a_pt100_reading_is_judged_at_its_temperature() -> None:
    assert judge(Quantity("138.75", "Ohm"), element(100, "B")).result == "pass"
    assert judge(Quantity("138.75", "Ohm"), element(100, "A")).result == "fail"
    assert judge(Quantity("138.75", "Ohm"), element(101, "A")).result == "fail"


@pytest.mark.parametrize(
    ("circuit", "megohms", "volts"),
    # IEC 60364-6, Table 6.1, as reprinted by Bane NOR's technical rules (trv.banenor.no).
    [("SELV or PELV", "0.5", "250"), ("up to 500 V", "1", "500"), ("above 500 V", "1", "1000")],
)
def test_insulation_minima_of_iec_60364_6(circuit: str, megohms: str, volts: str) -> None:
    procedure = load("insulation-resistance")
    pairs, voltage = procedure.step("insulation"), procedure.step("test-voltage")
    assert isinstance(pairs, Points)
    assert isinstance(voltage, Measure)
    least = pairs.choose({"circuit": circuit}, {}).window
    asked = voltage.choose({"circuit": circuit}, {}).window
    assert least is not None
    assert asked is not None
    assert (least.limits[0], asked.limits[0]) == (Fraction(megohms), Fraction(volts))


def test_the_record_says_which_variant_was_used_and_why() -> None:
    step = load("tank-level-sender").step("empty")
    assert isinstance(step, Measure)
    assert step.window is None, "it depends on the job's facts"
    plain = step.choose({"gauge": "plain gauge"}, {})
    learning = step.choose({"gauge": "learning control"}, {})
    assert plain == Chosen(
        Window.plus_minus("10.0", "0.5", "Ohm"), "a plain gauge shows the sender's own zero"
    )
    assert learning.window == Window.between("8.0", "12.5", "Ohm")
    assert learning.why.endswith("(gauge is learning control)")


def test_a_window_that_waits_for_a_reading_says_so() -> None:
    step = load("pt100").step("element")
    assert isinstance(step, Measure)
    with pytest.raises(BadInputError, match="“bath”, which has no value yet"):
        step.choose({"class": "class B"}, {})


def test_a_table_is_never_read_beyond_its_ends() -> None:
    step = load("tank-level-sender").step("at-sender")
    assert isinstance(step, Measure)
    with pytest.raises(BadInputError, match="101 lies beyond the table, which goes from 0 to 100"):
        step.choose({}, {"level": Fraction(101)})


@given(st.fractions(-40, 60))
def test_interpolation_agrees_with_numpy(x: Fraction) -> None:
    points = (("-40", "1.5"), ("-10", "3"), ("0", "2.25"), ("60", "-7"))
    expected = np.interp(float(x), [float(a) for a, _ in points], [float(b) for _, b in points])
    assert abs(float(Curve(points)(x)) - expected) < 1e-9


names = st.sampled_from(["a", "b", "c_2"])
numbers = st.decimals(-100, 100, places=2).map(lambda d: f"({d:f})")
formulas = st.recursive(
    names | numbers,
    lambda inner: (
        st.tuples(inner, st.sampled_from("+-*"), inner).map(lambda t: f"({' '.join(t)})")
        | inner.map(lambda t: f"-{t}")
        | inner.map(lambda t: f"({t})^2")
    ),
    max_leaves=8,
)


@given(formulas, st.fractions(-9, 9), st.fractions(-9, 9))
def test_formulas_agree_with_pythons_own_arithmetic(text: str, a: Fraction, b: Fraction) -> None:
    values = {"a": a, "b": b, "c_2": Fraction(1, 3)}
    python = re.sub(r"\d+\.\d+", lambda m: f"F('{m.group()}')", text.replace("^", "**"))
    expected = eval(python, {"F": Fraction, **values})
    assert Formula.parse(text)(values) == expected


@pytest.mark.parametrize(
    "text",
    ["a.b", "a[0]", "lambda: 1", "f'{a}'", "a if b else 1", "open('x')", "a ** b", "a ** 99",
     "a // b", "'a'", "True", "sqrt()", "sqrt(a, b)", "max(a, key=b)", "(a := 1)", "a = 1", "",
     "1 " * 400],
)  # fmt: skip
def test_a_formula_is_arithmetic_and_nothing_else(text: str) -> None:
    with pytest.raises(BadInputError):
        Formula.parse(text)


@pytest.mark.parametrize("text", ["1 / a", "ln(a)", "sqrt(a - 1)"])
def test_a_formula_without_a_result_is_told_as_such(text: str) -> None:
    with pytest.raises(BadInputError, match="has no value for these readings"):
        Formula.parse(text)({"a": Fraction(0)})


def test_functions_to_28_digits() -> None:
    # Abramowitz & Stegun, Table 1.1 (from memory): e, ln 10 and √2 to 20 digits.
    known = {
        "exp(1)": "2.71828182845904523536",
        "ln(10)": "2.30258509299404568402",
        "sqrt(2)": "1.41421356237309504880",
    }
    for text, digits in known.items():
        assert abs(Formula.parse(text)({}) - Fraction(digits)) < Fraction(1, 10**20)
