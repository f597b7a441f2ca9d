"""Travel checks: made series with one known fault each, and peers for the figures."""

import random
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.acceptance import Window
from fieldnote.acceptance.travel import TravelLimits, TravelPoint, TravelReport, check_travel
from fieldnote.errors import BadInputError

ALL = TravelLimits(
    direction="rising",
    first=Window.plus_minus("20", "2", "Ohm"),
    last=Window.plus_minus("180", "6", "Ohm"),
    every=Window.between("10", "190", "Ohm"),
    largest_jump="25",
    smallest_move="4",
    hysteresis="3",
    straightness="3",
    both_ways=True,
)
OUT = ["20", "40", "60", "80", "100", "120", "140", "160", "180"]


def series(values: list[str], back: list[str] | None = None) -> list[TravelPoint]:
    """Readings at -40, -30 … 40° and back, one a second."""
    back = list(reversed(values[:-1])) if back is None else back
    places = [str(10 * i - 40) for i in range(len(values))]
    all_places = places + list(reversed(places[:-1]))
    return [
        TravelPoint(v, p, str(i))
        for i, (v, p) in enumerate(zip([*values, *back], all_places, strict=True))
    ]


def failing(report: TravelReport) -> list[str]:
    return [each.name for each in report.findings if each.result != "pass"]


def test_a_good_sender_passes_everything() -> None:
    report = check_travel(series(OUT), "Ohm", ALL)
    assert report.result == "pass"
    assert failing(report) == []
    assert report.line is not None
    assert (round(report.line.slope, 9), round(report.line.intercept, 9)) == (2, 100)


@pytest.mark.parametrize(
    ("index", "value", "fails"),
    [
        (0, "27.4", ["first end", "straightness"]),
        (8, "170", ["last end", "straightness"]),
        (4, "79", ["direction", "jumps", "dead spots", "straightness"]),
        (5, "138", ["jumps", "dead spots", "straightness"]),
    ],
)
def test_one_wrong_value_is_found_on_both_ways(index: int, value: str, fails: list[str]) -> None:
    values = [*OUT[:index], value, *OUT[index + 1 :]]
    assert failing(check_travel(series(values), "Ohm", ALL)) == fails


def test_a_dead_spot_names_the_value_where_it_stays() -> None:
    values = ["20", "40", "60", "80", "81", "102", "123", "150", "180"]
    limits = TravelLimits("rising", smallest_move="4")
    finding = check_travel([TravelPoint(v) for v in values], "Ohm", limits).finding("dead spots")
    assert finding is not None
    assert (finding.result, finding.words, finding.at) == ("fail", "stays put at 80 Ω", 3)


def test_standing_at_an_end_is_no_dead_spot() -> None:
    values = ["20", "20", "60", "100", "140", "180", "180", "100", "20", "20"]
    limits = TravelLimits("rising", smallest_move="4", both_ways=True)
    report = check_travel([TravelPoint(v) for v in values], "Ohm", limits)
    assert report.result == "pass"


def test_hysteresis_is_the_gap_at_one_position() -> None:
    back = [str(Decimal(v) + Decimal("3.5")) for v in reversed(OUT[:-1])]
    finding = check_travel(series(OUT, back), "Ohm", ALL).finding("hysteresis")
    assert finding is not None
    assert (finding.result, finding.figure) == ("fail", "3.5")


def test_what_cannot_be_known_is_indeterminate_not_passed() -> None:
    bare = [TravelPoint(p.value) for p in series(OUT)]
    report = check_travel(bare, "Ohm", ALL)
    assert report.result == "indeterminate"
    assert failing(report) == ["hysteresis", "straightness"]


def test_line_and_residuals_agree_with_numpys_polyfit() -> None:
    # An outside peer for scipy's regression: numpy.polyfit solves the same least squares by QR.
    rng = random.Random(7)
    values = [f"{20 + 20 * i + rng.uniform(-2, 2):.1f}" for i in range(9)]
    report = check_travel(series(values), "Ohm", ALL)
    x, y = np.arange(-40, 50, 10), np.array([float(v) for v in values])
    slope, intercept = np.polyfit(x, y, 1)
    assert report.line is not None
    assert np.allclose([report.line.slope, report.line.intercept], [slope, intercept])
    assert np.allclose(report.line.residuals, y - (slope * x + intercept))


@pytest.mark.parametrize(
    ("rate", "result", "took"),
    [("2.5", "pass", "26"), ("65/28", "pass", "28"), ("2.3", "fail", None)],
)
def test_rudder_timing_of_solas(rate: str, result: str, took: str | None) -> None:
    # SOLAS II-1, regulation 29.3.2: 35° on either side to 30° on the other in at most 28 s, as the
    # schedule of South Africa's Merchant Shipping Act reprints regulation 29 (acts.co.za).
    degrees_a_second = Fraction(rate)
    points = [
        TravelPoint(f"{float(35 - degrees_a_second * s):.9f}", seconds=str(s)) for s in range(31)
    ]
    if rate == "65/28":  # exactly on the limit, written without rounding: 65° in 28 s
        points = [TravelPoint("35", seconds="0"), TravelPoint("2.5", seconds="14"),
                  TravelPoint("-30", seconds="28"), TravelPoint("-35", seconds="31")]  # fmt: skip
    limits = TravelLimits("falling", timed=("35", "-30", "28"), fewest=3)
    finding = check_travel(points, "deg", limits).finding("time")
    assert finding is not None
    assert finding.result == result
    if took is not None:
        assert finding.figure == took


def test_a_rudder_that_stops_short_fails_the_timing() -> None:
    points = [TravelPoint(v, seconds=s) for v, s in (("35", "0"), ("0", "10"), ("-29", "20"))]
    limits = TravelLimits("falling", timed=("35", "-30", "28"), fewest=3)
    report = check_travel(points, "deg", limits)
    assert report.result == "fail"
    assert "does not go from 35 to -30" in report.findings[-1].words


def test_waiting_at_the_start_is_not_part_of_the_time() -> None:
    points = [TravelPoint(v, seconds=s)
              for v, s in (("35", "0"), ("35", "9"), ("0", "23"), ("-30", "36"))]  # fmt: skip
    limits = TravelLimits("falling", timed=("35", "-30", "28"), fewest=3)
    assert check_travel(points, "deg", limits).findings[-1].figure == "27"


@pytest.mark.parametrize(
    "points",
    [
        series(OUT)[:3],
        [*series(OUT), TravelPoint("20")],
        [TravelPoint(v, seconds=s) for v, s in zip(OUT, "012345676", strict=True)],
        [TravelPoint("ten")] * 9,
    ],
)
def test_a_series_that_cannot_be_used_is_refused(points: list[TravelPoint]) -> None:
    with pytest.raises(BadInputError) as refused:
        check_travel(points, "Ohm", ALL)
    assert refused.value.mend


@given(st.lists(st.decimals(0, 200, places=1), min_size=5, max_size=40), st.booleans())
def test_any_series_gives_a_report_that_json_can_hold(values: list[Decimal], both: bool) -> None:
    points = [TravelPoint(str(v), str(i), str(i)) for i, v in enumerate(values)]
    limits = TravelLimits(
        "rising",
        largest_jump="25",
        smallest_move="1",
        hysteresis="3",
        straightness="3",
        both_ways=both,
    )
    report = check_travel(points, "Ohm", limits)
    straight = all(a <= b for a, b in pairwise(values))
    if not both:
        direction = report.finding("direction")
        assert direction is not None
        assert (direction.result == "pass") == (straight and values[0] < values[-1])
    body = report.to_json()
    assert len(body["points"]) == len(values)
