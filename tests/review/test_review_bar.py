"""The drawn bar must never tell another story than the numbers."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from fieldnote.review.bar import EDGE, WIDTH, beyond, draw

numbers = st.fractions(min_value=-10_000, max_value=10_000, max_denominator=1000)
widths = st.fractions(min_value=Fraction(1, 1000), max_value=10_000, max_denominator=1000)


@given(numbers, widths, numbers)
def test_the_pointer_stands_on_the_side_of_each_limit_where_the_reading_is(lower, width, value):
    upper = lower + width
    bar = draw(lower, upper, value)
    assert bar is not None
    assert bar.mark is not None
    left, right = bar.band
    assert left < right
    # A drawing has a resolution; it may show "on the limit", never the wrong side of it.
    assert bar.mark >= left - 1e-9 if value >= lower else bar.mark <= left + 1e-9
    assert bar.mark <= right + 1e-9 if value <= upper else bar.mark >= right - 1e-9
    assert 0 <= bar.mark <= WIDTH


@given(numbers, numbers)
def test_one_sided_windows_run_off_the_open_side(limit, value):
    least, most = draw(limit, None, value), draw(None, limit, value)
    assert least is not None
    assert most is not None
    assert least.band[1] == WIDTH
    assert most.band[0] == 0
    assert least.mark is not None
    assert most.mark is not None
    assert (least.mark >= least.band[0]) == (value >= limit)
    assert (most.mark <= most.band[1]) == (value <= limit)


def test_a_reading_far_out_is_said_to_be_off_the_scale():
    bar = draw(Fraction(10), Fraction(12), Fraction(1000))
    assert bar is not None
    assert bar.off == "above"
    bar = draw(Fraction(10), Fraction(12), Fraction(-1000))
    assert bar is not None
    assert bar.off == "below"


def test_the_middle_of_a_window_is_drawn_in_the_middle():
    bar = draw(Fraction(10), Fraction(12), Fraction(11))
    assert bar is not None
    assert bar.mark == WIDTH / 2


def test_uncertainty_narrows_the_guarded_band_and_spans_the_reading():
    bar = draw(Fraction(10), Fraction(12), Fraction(11), Fraction(1, 4))
    assert bar is not None
    assert bar.guard is not None
    assert bar.whisker is not None
    assert bar.band[0] < bar.guard[0] < bar.guard[1] < bar.band[1]
    assert bar.whisker[0] < bar.mark < bar.whisker[1]  # type: ignore[operator]


def test_an_uncertainty_as_wide_as_the_window_leaves_no_guarded_band():
    bar = draw(Fraction(10), Fraction(12), Fraction(11), Fraction(1))
    assert bar is not None
    assert bar.guard is None


def test_an_open_circuit_lies_above_every_window():
    bar = beyond(Fraction(1), None)
    assert bar is not None
    assert bar.off == "above"
    assert bar.mark == WIDTH - EDGE


def test_no_limits_no_bar():
    assert draw(None, None, Fraction(1)) is None
