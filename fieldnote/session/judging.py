"""From an entry at a step to its window and verdict."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from fieldnote.acceptance import Quantity, Verdict, Window, judge, judge_open, judge_short
from fieldnote.acceptance.exact import written
from fieldnote.language import Entry
from fieldnote.procedure import Instrument, Step
from fieldnote.procedure.steps import Derived, Measure, Points, Tighten, Travel

SHOWN = {"reading", "open", "short"}
"""Kinds of entry that stand for what an instrument showed."""


def window_for(
    step: Step, entry: Entry, facts: Mapping[str, Any], values: Mapping[str, Fraction]
) -> Window | None:
    """The window that counts for this entry: its point's own, else the step's for this job's facts.

    Raises:
        BadInputError: the window depends on a reading that is missing or beyond its table.
    """
    if not isinstance(step, Measure | Points | Derived | Tighten | Travel):
        return None
    if isinstance(step, Points):
        for point in step.points:
            if point.window is not None and point.label == entry.label:
                return point.window.window(step.unit, values)
    return step.choose(facts, values).window


def verdict_of(entry: Entry, window: Window | None, meter: Instrument | None) -> Verdict | None:
    """The verdict on an entry; None where nothing was measured.

    Raises:
        BadInputError: the value is beyond the meter's range, so it cannot be that meter's reading.
    """
    if entry.kind not in SHOWN:
        return None
    accuracy = meter.accuracy if meter is not None else None
    if entry.kind == "short":
        return judge_short(window)
    if entry.kind == "open":
        reach = None
        if accuracy is not None and window is not None:
            end = accuracy.reach(window.unit)
            reach = None if end is None else Quantity(written(end), window.unit)
        return judge_open(window, reach)
    if entry.value is None or entry.unit is None:
        return None
    quantity = Quantity(entry.value, entry.unit)
    if accuracy is None or accuracy.reach(entry.unit) is None:
        return judge(quantity, window)  # another instrument was used: its uncertainty is not known
    return judge(quantity, window, accuracy.uncertainty(quantity, current=entry.current))
