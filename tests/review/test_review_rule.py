"""The time rule: every entry has its mark, in order, on the rule."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from fieldnote.review.rule import MOST_TICKS, WIDTH, lay

START = datetime(2031, 3, 4, 9, 12, 5, tzinfo=UTC)


@given(st.lists(st.integers(0, 60 * 60 * 24 * 400), max_size=60))
def test_marks_stand_in_the_order_of_their_times(seconds: list[int]):
    times = sorted(START + timedelta(seconds=s) for s in seconds)
    rule = lay(times, START, times[-1] if times else START)
    places = [mark.x for mark in rule.marks]
    assert places == sorted(places)
    assert len(places) == len(times)
    assert all(0 <= x <= WIDTH for x in places)
    assert len(rule.ticks) <= MOST_TICKS + 1


def test_ticks_stand_at_round_times():
    rule = lay([], START, START + timedelta(minutes=40))
    assert [tick.at.minute for tick in rule.ticks] == [15, 20, 25, 30, 35, 40, 45, 50]
    assert {tick.at.second for tick in rule.ticks} == {0}


def test_a_job_of_no_length_still_has_a_rule():
    assert lay([START], START, START).marks[0].x > 0
