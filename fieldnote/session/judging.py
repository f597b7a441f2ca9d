"""From an entry at a step to its window and verdict."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from fieldnote.acceptance import Quantity, Verdict, Window, judge, judge_open, judge_short
from fieldnote.acceptance.exact import rounded_up, written
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


def uncertainty_of(
    quantity: Quantity, meter: Instrument | None, current: str | None, source: Mapping[str, Any]
) -> Decimal | None:
    """Standard uncertainty in the reading's unit; None where nothing is known of it.

    source: how it was taken. A dial read from a picture brings the uncertainty of the reading
    itself ("uncertainty"), which joins the meter's as squares (JCGM 100:2008, 5.1.2).

    Raises:
        BadInputError: the value is beyond the meter's range, so it cannot be that meter's reading.
    """
    accuracy = meter.accuracy if meter is not None else None
    parts = [Decimal(str(source["uncertainty"]))] if source.get("uncertainty") else []
    # Another instrument was used where it has no range of this kind.
    if accuracy is not None and accuracy.reach(quantity.unit) is not None:
        parts.append(accuracy.uncertainty(quantity, current))
    if len(parts) < 2:
        return parts[0] if parts else None
    return rounded_up(sum((part * part for part in parts), Decimal(0)).sqrt())


def verdict_of(
    entry: Entry,
    window: Window | None,
    meter: Instrument | None,
    source: Mapping[str, Any] = MappingProxyType({}),
) -> Verdict | None:
    """The verdict on an entry; None where nothing was measured.

    source: how it was taken, as its record keeps it.

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
    return judge(quantity, window, uncertainty_of(quantity, meter, entry.current, source))
