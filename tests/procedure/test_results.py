"""Steps that take more than one plain reading."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from fieldnote.acceptance import Quantity
from fieldnote.acceptance.formula import Formula
from fieldnote.errors import BadInputError
from fieldnote.procedure import (
    Taken,
    derive,
    judge_points,
    judge_travel,
    load,
    load_register,
    read_series,
    values_of,
    wire_differences,
)
from fieldnote.procedure.steps import Decide, Derived, Points, Travel, Wire


def test_combined_uncertainty_of_the_guide() -> None:
    # JCGM 100:2008, 5.1.2 and 5.1.6: for a product the relative variances add. P = U I with
    # U = 10 V, u = 0.1 V and I = 2 A, u = 0.05 A: u = sqrt((2 x 0.1)^2 + (10 x 0.05)^2) = 0.5385…
    formula = Formula.parse("u * i")
    values = {"u": Fraction(10), "i": Fraction(2)}
    combined = formula.uncertainty(values, {"u": Fraction("0.1"), "i": Fraction("0.05")})
    assert combined == Decimal("0.539")


def test_a_drop_is_worked_out_with_its_formula_and_uncertainty_shown() -> None:
    procedure = load("voltage-drop")
    meter = load_register().instrument("bench-meter").accuracy
    taken = {
        "source": [Taken.by(Quantity("24.60", "V"), meter, "DC")],
        "consumer": [Taken(Quantity("23400", "mV"), Decimal(0))],
    }
    values, uncertainties = values_of(procedure, {}, taken)
    step = procedure.step("drop")
    assert isinstance(step, Derived)
    result, shown = derive(step, values, uncertainties)
    assert result.quantity.digits == "4.87804878"
    assert shown == "(source - consumer) / source * 100 = (24.6 - 23.4) / 24.6 * 100"
    # By hand: u(source) = (0.5 % of 24.60 + 0.02)/√3 = 0.0826 V, times 2340/24.6² %/V.
    assert result.uncertainty == Decimal("0.320")


def test_an_unknown_uncertainty_of_one_reading_makes_that_of_the_result_unknown() -> None:
    procedure = load("voltage-drop")
    taken = {
        "source": [Taken(Quantity("24.60", "V"), Decimal("0.1"))],
        "consumer": [Taken(Quantity("24.10", "V"))],
    }
    step = procedure.step("drop")
    assert isinstance(step, Derived)
    assert derive(step, *values_of(procedure, {}, taken))[0].uncertainty is None


def test_a_missing_reading_is_named() -> None:
    step = load("voltage-drop").step("drop")
    assert isinstance(step, Derived)
    with pytest.raises(BadInputError, match="needs a value for consumer, source"):
        derive(step, {}, {})


def points(step: Points, *values: str) -> dict[str, Taken]:
    return {
        each.label: Taken(Quantity(value, step.unit))
        for each, value in zip(step.points, values, strict=True)
    }


@pytest.mark.parametrize(
    ("values", "results", "spread", "margin"),
    [
        (("11.0", "10.9", "10.4", "10.0"), ["pass"] * 4, "pass", "0.1"),
        (("11.0", "10.9", "10.4", "9.8"), ["pass"] * 4, "fail", "-0.1"),
        (("11.0", "10.9", "10.4", "8.9"), ["pass"] * 3 + ["fail"], "fail", "-1"),
    ],
)
def test_each_cylinder_and_their_spread(
    values: tuple[str, ...], results: list[str], spread: str, margin: str
) -> None:
    step = load("compression").step("dry")
    assert isinstance(step, Points)
    each, apart = judge_points(step, step.choose({}, {}), points(step, *values))
    assert [verdict.result for verdict in each.values()] == results
    assert apart is not None
    assert (apart.result, apart.margin) == (spread, margin)


def test_a_point_left_out_is_named() -> None:
    step = load("compression").step("dry")
    assert isinstance(step, Points)
    some = dict(list(points(step, "11", "11", "11", "11").items())[:3])
    with pytest.raises(BadInputError, match="No reading yet for cylinder four"):
        judge_points(step, step.choose({}, {}), some)


def test_the_lowest_point_feeds_a_formula() -> None:
    procedure = load("compression")
    dry, gain = procedure.step("dry"), procedure.step("gain")
    assert isinstance(dry, Points)
    assert isinstance(gain, Derived)
    taken = {
        "dry": list(points(dry, "11.0", "10.9", "10.4", "8.0").values()),
        "wet": [Taken(Quantity("1000", "kPa"))],
    }
    values, uncertainties = values_of(procedure, {}, taken)
    result, _ = derive(gain, values, uncertainties)
    assert result.quantity.digits == "25"


def test_a_changed_wire_is_an_alarm() -> None:
    step = load("connector-rework").step("after")
    assert isinstance(step, Wire)
    before = {"1": "RD", "2": "BK/WH", "3": "BU", "4": "GY"}
    assert wire_differences(step, before, before) == ()
    swapped = {"1": "RD", "2": "BU", "3": "BK/WH"}
    said = [str(each) for each in wire_differences(step, swapped, before)]
    assert said == [
        "Cavity 2 should be BK/WH and is BU.",
        "Cavity 3 should be BU and is BK/WH.",
        "Cavity 4 should be GY and was not said.",
    ]


@pytest.mark.parametrize(
    ("results", "says"),
    [
        ({"at-sender": "pass", "at-gauge": "fail"}, "wiring"),
        ({"at-sender": "fail", "at-gauge": "fail"}, "sender is at fault"),
        ({"at-sender": "pass", "at-gauge": "pass"}, "gauge"),
        ({"at-sender": "pass", "at-gauge": "indeterminate"}, None),
        ({"at-sender": "pass"}, None),
    ],
)
def test_good_at_the_part_and_bad_at_the_harness_end_means_wiring(
    results: dict[str, str], says: str | None
) -> None:
    step = load("tank-level-sender").step("verdict")
    assert isinstance(step, Decide)
    row = step.row(results)  # type: ignore[arg-type]
    assert (row is None) == (says is None)
    if row is not None and says is not None:
        assert says in row.say


CSV = """value,position,seconds
0.50,-40,0
1.00,-30,1
1.50,-20,2
2.00,-10,3
2.50,0,4
3.00,10,5
3.50,20,6
4.00,30,7
4.50,40,8
4.00,30,9
3.00,10,11
2.50,0,12
1.50,-20,14
0.50,-40,16
"""


def test_a_travel_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "travel.csv"
    path.write_text(CSV)
    step = load("position-sender").step("travel")
    assert isinstance(step, Travel)
    report = judge_travel(step, read_series(path), {}, {})
    assert report.result == "pass"
    path.write_text(CSV.replace("2.50,0,12", "2.40,0,12"))
    failing = judge_travel(step, read_series(path), {}, {})
    assert [each.name for each in failing.findings if each.result == "fail"] == ["hysteresis"]
    # The meter's uncertainty makes an end that lies near its limit indeterminate.
    path.write_text(CSV.replace("0.50,-40,0", "0.59,-40,0"))
    meter = load_register().instrument("bench-meter").accuracy
    near = judge_travel(step, read_series(path), {}, {}, meter)
    first = near.finding("first end")
    assert first is not None
    assert first.result == "indeterminate"


def test_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    path = tmp_path / "travel.csv"
    path.write_text("\ufeff" + CSV.replace(",", ";").replace(".", ","), encoding="utf-8")
    plain = tmp_path / "plain.csv"
    plain.write_text(CSV)
    assert read_series(path) == read_series(plain)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty"),
        ("valu,seconds\n1,2\n", "Did you mean “value”?"),
        ("seconds\n1\n", "no column “value”"),
        ("value\n1,2\n", "line 2: 2 values for 1 columns"),
        ("value\n1\nten\n", "line 3: value is “ten”"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_by_its_line(
    tmp_path: Path, text: str, words: str
) -> None:
    path = tmp_path / "travel.csv"
    path.write_text(text)
    with pytest.raises(BadInputError, match=words):
        read_series(path)
