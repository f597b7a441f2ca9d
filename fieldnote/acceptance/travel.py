"""A travel check: a sender, lever or rudder moved from end to end, read on the way.

What is looked at, each against its own limit: the end values, the direction, jumps, dead spots,
hysteresis (the way up against the way down), straightness (residuals from the least-squares line)
and the time between two values. Differences are exact; the line is fitted in binary floats by
scipy, and its figures are told to 6 digits.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any, Literal

import numpy as np

from fieldnote.acceptance.decision import Result, judge
from fieldnote.acceptance.exact import decimal, with_unit, written
from fieldnote.acceptance.window import Window
from fieldnote.errors import BadInputError
from fieldnote.language import Quantity

Direction = Literal["rising", "falling"]


@dataclass(frozen=True, slots=True)
class TravelPoint:
    """One reading of the series, as decimal strings.

    value: in the unit of the check. position: where the moved part stood (any unit, the same for
    all); seconds: time since the start. Either may be unknown.
    """

    value: str
    position: str | None = None
    seconds: str | None = None


@dataclass(frozen=True, slots=True)
class TravelLimits:
    """What is asked of a travel; None is not asked. Numbers are in the check's unit.

    first, last: windows of the end values (of the way out). every: of all readings.
    largest_jump: between neighbours. smallest_move: less between neighbours, on the way, is a dead
    spot. hysteresis: between the two ways at one position. straightness: largest residual.
    timed: (from value, to value, seconds): the time that the part may take between two values.
    """

    direction: Direction
    first: Window | None = None
    last: Window | None = None
    every: Window | None = None
    largest_jump: str | None = None
    smallest_move: str | None = None
    hysteresis: str | None = None
    straightness: str | None = None
    timed: tuple[str, str, str] | None = None
    both_ways: bool = False
    fewest: int = 5


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at. figure: what was found, limit: what was asked, both decimal strings.

    at: index of the reading (the first of a pair) that decided, where there is one.
    """

    name: str
    result: Result
    words: str
    figure: str | None = None
    limit: str | None = None
    at: int | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """Least-squares line through the way out: value = slope x position + intercept.

    residuals: value less line, one a reading of the way out, in order. r: correlation coefficient.
    """

    slope: float
    intercept: float
    r: float
    residuals: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class TravelReport:
    """result: fail if anything fails, else indeterminate if anything is, else pass.

    turn: index of the reading where the way back begins (the last index where there is none).
    """

    result: Result
    findings: tuple[Finding, ...]
    points: tuple[TravelPoint, ...]
    unit: str
    turn: int
    line: Line | None

    def finding(self, name: str) -> Finding | None:
        """The finding of that name ("direction", "jumps", …)."""
        return next((each for each in self.findings if each.name == name), None)

    def to_json(self) -> dict[str, Any]:
        """All of it; numbers as strings, the line's figures to 6 digits."""
        body: dict[str, Any] = {
            "result": self.result,
            "unit": self.unit,
            "turn": self.turn,
            "points": [asdict(each) for each in self.points],
            "findings": [asdict(each) for each in self.findings],
            "line": None,
        }
        if self.line is not None:
            body["line"] = {
                "slope": f"{self.line.slope:.6g}",
                "intercept": f"{self.line.intercept:.6g}",
                "r": f"{self.line.r:.6g}",
                "residuals": [f"{each:.6g}" for each in self.line.residuals],
            }
        return body


def check_travel(
    points: Sequence[TravelPoint],
    unit: str,
    limits: TravelLimits,
    uncertainty: Callable[[Quantity], Decimal] | None = None,
) -> TravelReport:
    """Check a series of readings against what is asked of the travel.

    Args:
        points: in the order taken; with `both_ways`, out and back.
        unit: UCUM code of the values.
        uncertainty: standard uncertainty of a reading (`Accuracy.uncertainty`), for the windows.

    Raises:
        BadInputError: too few readings, or times or positions given for some readings only.
    """
    if len(points) < limits.fewest:
        raise BadInputError(
            f"The travel has {len(points)} readings; {limits.fewest} are needed.",
            "Take it again with more stops on the way.",
        )
    series = _Series(points, unit, limits)
    findings = [_direction(series, limits.direction)]
    for name, window, index in (
        ("first end", limits.first, 0),
        ("last end", limits.last, series.turn),
    ):
        if window is not None:
            findings.append(_end(series, name, window, index, uncertainty))
    if limits.every is not None:
        findings.append(_every(series, limits.every, uncertainty))
    if limits.largest_jump is not None:
        findings.append(_jumps(series, limits.largest_jump))
    if limits.smallest_move is not None:
        findings.append(_dead_spots(series, limits.smallest_move))
    if limits.hysteresis is not None:
        findings.append(_hysteresis(series, limits.hysteresis))
    line = _line(series)
    if limits.straightness is not None:
        findings.append(_straightness(series, line, limits.straightness))
    if limits.timed is not None:
        findings.append(_timed(series, *limits.timed))
    results = {each.result for each in findings}
    worst: Result = next((r for r in _WORST_FIRST if r in results), "pass")
    return TravelReport(worst, tuple(findings), tuple(points), unit, series.turn, line)


_WORST_FIRST: tuple[Result, ...] = ("fail", "indeterminate")


class _Series:
    """The numbers of a travel, exact, and where it turns."""

    def __init__(self, points: Sequence[TravelPoint], unit: str, limits: TravelLimits) -> None:
        self.unit, self.sign = unit, 1 if limits.direction == "rising" else -1
        self.points = points
        self.values = [Fraction(decimal(p.value, "A reading of the travel")) for p in points]
        self.seconds = _all_or_none([p.seconds for p in points], "time")
        self.positions = _all_or_none([p.position for p in points], "position")
        self.turn = len(points) - 1
        if limits.both_ways:
            # The first of the readings furthest out; a stop there belongs to the way back.
            self.turn = max(range(len(points)), key=lambda i: (self.sign * self.values[i], -i))

    @property
    def places(self) -> list[Fraction]:
        """What the values are set against: position, else time, else their count."""
        return self.positions or self.seconds or [Fraction(i) for i in range(len(self.values))]

    def steps(self) -> list[tuple[int, Fraction]]:
        """(index of the first reading, move in the direction asked) of each pair, out and back."""
        return [
            (i, self.sign * (after - before) * (1 if i < self.turn else -1))
            for i, (before, after) in enumerate(pairwise(self.values))
        ]

    def told(self, value: Fraction) -> str:
        return with_unit(written(value), self.unit)


def _all_or_none(texts: Sequence[str | None], what: str) -> list[Fraction] | None:
    given = [text for text in texts if text is not None]
    if not given:
        return None
    if len(given) < len(texts):
        raise BadInputError(
            f"Some readings of the travel have a {what} and others have none.", "Give all or none."
        )
    numbers = [Fraction(decimal(text, f"A {what}")) for text in given]
    if what == "time" and any(after < before for before, after in pairwise(numbers)):
        raise BadInputError("The times of the travel run backwards.", "Put the readings in order.")
    return numbers


def _direction(series: _Series, direction: Direction) -> Finding:
    way = series.sign * (series.values[series.turn] - series.values[0])
    if way <= 0:
        return Finding("direction", "fail", f"the values are not {direction} over the travel")
    backward = [(i, move) for i, move in series.steps() if move < 0]
    if not backward:
        return Finding("direction", "pass", f"{direction} all the way")
    i, move = min(backward, key=lambda step: step[1])
    words = f"goes back by {series.told(-move)} after reading {i + 1}"
    return Finding("direction", "fail", words, written(-move), "0", i)


def _end(
    series: _Series,
    name: str,
    window: Window,
    index: int,
    uncertainty: Callable[[Quantity], Decimal] | None,
) -> Finding:
    reading = Quantity(series.points[index].value, series.unit)
    verdict = judge(reading, window, uncertainty(reading) if uncertainty else None)
    words = f"{series.told(series.values[index])} against {window.describe()}"
    return Finding(name, verdict.result, words, verdict.value, window.describe(), index)


def _every(
    series: _Series, window: Window, uncertainty: Callable[[Quantity], Decimal] | None
) -> Finding:
    found = [
        _end(series, "every reading", window, i, uncertainty) for i in range(len(series.values))
    ]
    order: Mapping[Result, int] = {"fail": 0, "indeterminate": 1, "pass": 2, "unchecked": 3}
    worst = min(found, key=lambda each: order[each.result])
    if worst.result == "pass":
        return Finding("every reading", "pass", f"all within {window.describe()}")
    return worst


def _jumps(series: _Series, limit: str) -> Finding:
    i, move = max(series.steps(), key=lambda step: abs(step[1]))
    largest = abs(move)
    words = f"largest step {series.told(largest)} after reading {i + 1}"
    good = largest <= Fraction(decimal(limit, "The largest jump"))
    return Finding("jumps", "pass" if good else "fail", words, written(largest), limit, i)


def _dead_spots(series: _Series, limit: str) -> Finding:
    least = Fraction(decimal(limit, "The smallest move"))
    still = [abs(move) < least for _, move in series.steps()]
    # Standing at an end before, after or between the ways is no dead spot.
    resting = _resting(still, series.turn)
    dead = [i for i, is_still in enumerate(still) if is_still and i not in resting]
    if not dead:
        return Finding("dead spots", "pass", f"moves {series.told(least)} or more at every step")
    where = ", ".join(series.told(series.values[i]) for i in dead)
    words = f"stays put at {where}"
    return Finding("dead spots", "fail", words, str(len(dead)), limit, dead[0])


def _resting(still: Sequence[bool], turn: int) -> set[int]:
    """Indices of the still steps that touch one of the ends."""
    resting: set[int] = set()
    for start, step in ((0, 1), (len(still) - 1, -1), (turn - 1, -1), (turn, 1)):
        i = start
        while 0 <= i < len(still) and still[i]:
            resting.add(i)
            i += step
    return resting


def _hysteresis(series: _Series, limit: str) -> Finding:
    if series.positions is None:
        words = "the positions are not known, so the two ways cannot be set against each other"
        return Finding("hysteresis", "indeterminate", words, None, limit)
    x = np.array([float(p) for p in series.positions])
    y = np.array([float(v) for v in series.values])
    out, back = slice(0, series.turn + 1), slice(series.turn, None)
    if len(y[back]) < 2:
        return Finding("hysteresis", "indeterminate", "there is no way back", None, limit)
    low = max(x[out].min(), x[back].min())
    high = min(x[out].max(), x[back].max())
    # Both ways are straight between readings, so the largest gap lies at a reading of one of them.
    at = np.unique(x[(x >= low) & (x <= high)])
    gap = np.abs(_along(x[out], y[out], at) - _along(x[back], y[back], at))
    largest = float(gap.max())
    words = f"largest {with_unit(_six(largest), series.unit)} at position {_six(at[gap.argmax()])}"
    good = largest <= float(decimal(limit, "The hysteresis")) * (1 + 1e-12)
    return Finding("hysteresis", "pass" if good else "fail", words, _six(largest), limit)


def _along(x: Any, y: Any, at: Any) -> Any:
    order = np.argsort(x, kind="stable")
    return np.interp(at, x[order], y[order])


def _line(series: _Series) -> Line | None:
    from scipy import stats

    x = np.array([float(p) for p in series.places[: series.turn + 1]])
    y = np.array([float(v) for v in series.values[: series.turn + 1]])
    if len(x) < 3 or np.ptp(x) == 0:
        return None
    fit = stats.linregress(x, y)
    residuals = tuple(float(each) for each in y - (fit.slope * x + fit.intercept))
    return Line(float(fit.slope), float(fit.intercept), float(fit.rvalue), residuals)


def _straightness(series: _Series, line: Line | None, limit: str) -> Finding:
    if line is None or (series.positions is None and series.seconds is None):
        words = "neither positions nor times are known, so no line can be laid"
        return Finding("straightness", "indeterminate", words, None, limit)
    sizes = [abs(each) for each in line.residuals]
    at = int(np.argmax(sizes))
    words = (
        f"reading {at + 1} lies {with_unit(_six(sizes[at]), series.unit)} off the line"
        f" (slope {_six(line.slope)})"
    )
    good = sizes[at] <= float(decimal(limit, "The straightness")) * (1 + 1e-12)
    return Finding("straightness", "pass" if good else "fail", words, _six(sizes[at]), limit, at)


def _timed(series: _Series, start: str, end: str, seconds: str) -> Finding:
    if series.seconds is None:
        words = "the times are not known"
        return Finding("time", "indeterminate", words, None, seconds)
    left = _crossing(series, Fraction(decimal(start, "The start of the timing")), last=True)
    reached = _crossing(series, Fraction(decimal(end, "The end of the timing")), last=False)
    if left is None or reached is None or reached < left:
        words = f"the travel does not go from {start} to {with_unit(end, series.unit)}"
        return Finding("time", "fail", words, None, seconds)
    took = reached - left
    words = f"{written(took)} s from {start} to {with_unit(end, series.unit)}"
    good = took <= Fraction(decimal(seconds, "The time allowed"))
    return Finding("time", "pass" if good else "fail", words, written(took), seconds)


def _crossing(series: _Series, value: Fraction, *, last: bool) -> Fraction | None:
    """Time at which the way out passes a value, between readings by a straight line.

    last: the last moment at it (leaving it), else the first (reaching it).
    """
    assert series.seconds is not None
    times = []
    for i in range(series.turn):
        low, high = series.values[i], series.values[i + 1]
        before, after = series.seconds[i], series.seconds[i + 1]
        if low == high == value:
            times += [before, after]
        elif low != high and min(low, high) <= value <= max(low, high):
            times.append(before + (value - low) / (high - low) * (after - before))
    if not times:
        return None
    return max(times) if last else min(times)


def _six(value: float) -> str:
    return f"{value:.6g}"
