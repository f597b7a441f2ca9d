"""What a meter's specification makes of a reading."""

from decimal import Decimal
from fractions import Fraction

import pytest

from fieldnote.acceptance import Accuracy, AccuracyRange, Quantity, Window, judge
from fieldnote.errors import BadInputError
from fieldnote.procedure import load_register

METER = Accuracy(
    (
        AccuracyRange("Ohm", "600.0", "0.1", percent="0.9", digits="3"),
        AccuracyRange("kOhm", "6.000", "0.001", percent="0.9", digits="2"),
        AccuracyRange("V", "60.00", "0.01", percent="0.5", digits="2", current="DC"),
        AccuracyRange("V", "60.00", "0.01", percent="1.0", digits="3", current="AC"),
    )
)


@pytest.mark.parametrize(
    ("digits", "unit", "error"),
    [
        # percent of reading + digits, by hand: 0.9 % of 103.2 is 0.9288, and 3 x 0.1.
        ("103.2", "Ohm", "1.2288"),
        ("0.1032", "kOhm", "0.0012288"),  # the same display, told in kΩ
        ("1.032", "kOhm", "0.011288"),  # next range: 0.9 % + 2 x 0.001
        ("-0.0", "Ohm", "0.3"),
    ],
)
def test_percent_of_reading_plus_digits(digits: str, unit: str, error: str) -> None:
    assert METER.permissible_error(Quantity(digits, unit)) == Decimal(error)


def test_the_display_tells_the_range() -> None:
    # 0.103 kΩ was shown in the 6 kΩ range, although 600 Ω would reach.
    assert METER.range_of(Quantity("0.103", "kOhm")).upto == "6.000"
    # Said without its last digit, it is taken as read more coarsely, never more finely.
    assert METER.permissible_error(Quantity("103", "Ohm")) == Decimal("2.927")


def test_rectangular_standard_uncertainty_is_never_rounded_down() -> None:
    u = METER.uncertainty(Quantity("103.2", "Ohm"))
    assert u == Decimal("0.710")
    assert Fraction(u) ** 2 * 3 >= Fraction("1.2288") ** 2


def test_alternating_and_direct_current() -> None:
    reading = Quantity("24.60", "V")
    assert METER.permissible_error(reading, "DC") == Decimal("0.143")
    assert METER.permissible_error(reading, "AC") == Decimal("0.276")
    assert METER.permissible_error(reading) == Decimal("0.276"), "unknown: the worse counts"


def test_pressure_gauge_class_is_percent_of_range() -> None:
    # EN 837-1: class 1.6 means ±1.6 % of the span, wherever the pointer stands.
    gauge = Accuracy((AccuracyRange("bar", "16", "0.2", percent_of_range="1.6"),))
    assert gauge.permissible_error(Quantity("4.2", "bar")) == Decimal("0.256")
    assert gauge.permissible_error(Quantity("420", "kPa")) == Decimal("25.6")


def test_torque_tool() -> None:
    # ISO 6789-1, Type II up to 10 N·m: ±6 % of reading (from memory).
    tool = Accuracy((AccuracyRange("N.m", "6.00", "0.01", percent="6", downto="0.5"),))
    assert tool.permissible_error(Quantity("2.40", "N.m")) == Decimal("0.144")
    with pytest.raises(BadInputError, match="range"):
        tool.uncertainty(Quantity("0.30", "N.m"))


@pytest.mark.parametrize(
    ("tool", "torque", "error", "u"),
    # ISO 6789 (Type II, Class A), as tool makers' manuals reprint it: ±6 % of the reading for tools
    # of at most 10 N·m, ±4 % above. Rectangular, JCGM 100:2008, 4.3.7: u = error / √3, rounded up.
    [("torque-driver", "2.40", "0.144", "0.0832"), ("torque-wrench", "48.0", "1.92", "1.11")],
)
def test_torque_tools_of_iso_6789(tool: str, torque: str, error: str, u: str) -> None:
    accuracy = load_register().instrument(tool).accuracy
    assert accuracy is not None
    assert accuracy.permissible_error(Quantity(torque, "N.m")) == Decimal(error)
    assert accuracy.uncertainty(Quantity(torque, "N.m")) == Decimal(u)


def test_the_tools_uncertainty_decides_a_torque() -> None:
    # 50 ± 4 N·m, tool within 4 %: at 52.0 N·m, U = 2 x 0.04 x 52.0 / √3 = 2.41 N·m > 2.0 left.
    accuracy = load_register().instrument("torque-wrench").accuracy
    assert accuracy is not None
    window = Window.plus_minus("50", "4", "N.m")
    for torque, result in (("50.0", "pass"), ("52.0", "indeterminate"), ("57.0", "fail")):
        reading = Quantity(torque, "N.m")
        assert judge(reading, window, accuracy.uncertainty(reading)).result == result


@pytest.mark.parametrize(("digits", "unit"), [("6.001", "kOhm"), ("12", "MOhm"), ("3", "A")])
def test_a_value_beyond_the_range_is_no_reading_of_this_meter(digits: str, unit: str) -> None:
    with pytest.raises(BadInputError) as refused:
        METER.uncertainty(Quantity(digits, unit))
    assert "Name the meter" in refused.value.mend or "name the meter" in refused.value.mend


def test_temperature_differences() -> None:
    meter = Accuracy((AccuracyRange("Cel", "100.0", "0.1", digits="5"),))
    assert meter.permissible_error(Quantity("77.0", "[degF]")) == Decimal("0.9")
    percent = Accuracy((AccuracyRange("Cel", "100.0", "0.1", percent="1"),))
    # 77 °F is 25 °C; 1 % of that is 0.25 °C, a difference of 0.45 °F.
    assert percent.permissible_error(Quantity("77.0", "[degF]")) == Decimal("0.45")


@pytest.mark.parametrize("field", ["upto", "resolution"])
def test_a_range_needs_an_end_and_a_step(field: str) -> None:
    numbers = {"upto": "6", "resolution": "0.1", field: "0"}
    with pytest.raises(BadInputError, match=field):
        Accuracy((AccuracyRange("V", **numbers),))


def test_json_round_trip() -> None:
    assert Accuracy.from_json(METER.to_json()) == METER
    assert METER.reach("Ohm") == 6000
    assert METER.reach("A") is None
