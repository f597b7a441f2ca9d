"""The job's time drawn as a rule: ticks at round times, one mark an entry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

WIDTH = 720.0
EDGE = 14.0  # units free at both ends
APART = 15.0  # units between marks on one row
ROWS = 4  # marks that find no room lie over one another on the last row
STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 720, 1440, 2880, 10080, 43200)  # minutes
MOST_TICKS = 9


@dataclass(frozen=True, slots=True)
class Tick:
    x: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Mark:
    """row: 0 is the one next to the rule."""

    x: float
    row: int
    index: int


@dataclass(frozen=True, slots=True)
class Rule:
    """ticks: labelled, at round times; by_day: at midnights only. fine: small ticks between."""

    ticks: tuple[Tick, ...]
    by_day: bool
    fine: tuple[float, ...]
    marks: tuple[Mark, ...]

    @property
    def rows(self) -> int:
        return max((mark.row for mark in self.marks), default=0) + 1


def lay(times: Sequence[datetime], start: datetime, end: datetime) -> Rule:
    """Rule from ``start`` to ``end`` with a mark for each of ``times``, in their order."""
    end = max(end, start + timedelta(minutes=1))
    span = (end - start).total_seconds()
    many = ceil(span / 60 / STEPS[-1] / MOST_TICKS) * STEPS[-1]  # a job of years
    step = next((s for s in STEPS if span / 60 / s <= MOST_TICKS), many)

    def place(when: datetime) -> float:
        share = (when - start).total_seconds() / span
        return round(EDGE + min(max(share, 0.0), 1.0) * (WIDTH - 2 * EDGE), 1)

    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    past = (start - midnight).total_seconds() / 60
    first = midnight + timedelta(minutes=step * -(-past // step))
    ticks, when = [], first
    while when <= end:
        ticks.append(Tick(place(when), when))
        when += timedelta(minutes=step)
    fine_step = timedelta(minutes=step) / 5
    fine, when = [], first - timedelta(minutes=step)
    while when <= end:
        if when >= start:
            fine.append(place(when))
        when += fine_step
    return Rule(
        tuple(ticks), step >= 1440, tuple(fine), tuple(_spread([place(when) for when in times]))
    )


def _spread(places: list[float]) -> list[Mark]:
    last = [-APART] * ROWS
    marks: list[Mark] = []
    for index, x in sorted(enumerate(places), key=lambda item: item[1]):
        row = next((r for r in range(ROWS) if x - last[r] >= APART), ROWS - 1)
        last[row] = x
        marks.append(Mark(x, row, index))
    return sorted(marks, key=lambda mark: mark.index)
