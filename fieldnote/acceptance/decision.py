"""The decision: does a reading, with its uncertainty, lie within a window?

Rules after JCGM 106:2012 clause 8. A guard band as wide as the expanded uncertainty U = k·u is
laid on both sides of each limit. ``EITHER_WAY`` (the default of ISO 14253-1) proves both ways:
*pass* only where the reading keeps the guard band inside the window (guarded acceptance, 8.3.2),
*fail* only where it lies beyond the guard band outside (guarded rejection, 8.3.3), *indeterminate*
between. ``SIMPLE`` (simple acceptance, 8.2) takes the reading as it stands; it is also what holds
where no uncertainty is known, and the rule then says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from statistics import NormalDist
from typing import Any, Literal

from fieldnote.acceptance.exact import difference_in, in_unit, written
from fieldnote.acceptance.window import Window
from fieldnote.errors import BadInputError
from fieldnote.language import Quantity, symbol

Result = Literal["pass", "fail", "indeterminate", "unchecked"]


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """coverage: k of the expanded uncertainty U = k·u. guard: the guard band in units of U."""

    name: str
    coverage: str = "2"
    guard: str = "1"


EITHER_WAY = DecisionRule("guard band both ways (ISO 14253-1; JCGM 106:2012, 8.3)")
SIMPLE = DecisionRule("simple acceptance (JCGM 106:2012, 8.2)", guard="0")


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was decided and why.

    margin: distance to the nearest limit, signed (negative is outside), exact decimal in `unit`
        (rounded to 9 digits where no finite decimal exists). nearest: which limit that is.
    value: the reading in `unit`, the unit of the window. uncertainty: expanded, in `unit`.
    rule: the decision rule and its figures in words.
    """

    result: Result
    margin: str | None
    unit: str | None
    rule: str
    uncertainty: str | None = None
    value: str | None = None
    nearest: Literal["lower", "upper"] | None = None

    def to_json(self) -> dict[str, str | None]:
        """All fields by name; numbers as strings."""
        return {name: getattr(self, name) for name in self.__slots__}

    @classmethod
    def from_json(cls, body: Mapping[str, Any]) -> Verdict:
        return cls(**{name: body.get(name) for name in cls.__slots__})  # type: ignore[arg-type]


def judge(
    quantity: Quantity,
    window: Window | None,
    uncertainty: Decimal | None = None,
    *,
    rule: DecisionRule = EITHER_WAY,
) -> Verdict:
    """Judge a reading against a window.

    Args:
        quantity: the reading, in any unit of the window's kind.
        window: None where there is no limit: the verdict is then *unchecked*.
        uncertainty: standard uncertainty (k = 1) in the reading's unit: `Accuracy.uncertainty`.
        rule: how the uncertainty counts.

    Raises:
        BadInputError: the reading and the window are of different kinds.
    """
    if window is None:
        return Verdict("unchecked", None, None, "no limit given")
    value = _value(quantity, window)
    nearest, margin = _nearest(value, window)
    expanded = guard = Fraction(0)
    if uncertainty is not None:
        expanded = Fraction(Decimal(rule.coverage)) * difference_in(
            abs(uncertainty), quantity.unit, window.unit
        )
        guard = expanded * Fraction(Decimal(rule.guard))
    if margin >= guard:
        result: Result = "pass"
    elif margin < -guard:
        result = "fail"
    else:
        result = "indeterminate"
    return Verdict(
        result=result,
        margin=written(margin),
        unit=window.unit,
        rule=_words(rule, uncertainty, expanded, guard, window.unit),
        uncertainty=None if uncertainty is None else written(expanded),
        value=written(value),
        nearest=nearest,
    )


def conformance_probability(quantity: Quantity, window: Window, uncertainty: Decimal) -> float:
    """Probability that the true value lies in the window, normally distributed about the reading.

    JCGM 106:2012, 7.2 and 7.4. uncertainty: standard, above nought, in the reading's unit.
    """
    value = _value(quantity, window)
    spread = difference_in(abs(uncertainty), quantity.unit, window.unit)
    lower, upper = window.limits
    normal = NormalDist()
    below = 0.0 if lower is None else normal.cdf(float((lower - value) / spread))
    above = 0.0 if upper is None else normal.cdf(float((value - upper) / spread))
    return 1.0 - below - above


def judge_open(window: Window | None, reach: Quantity | None = None) -> Verdict:
    """Judge an open circuit or over-limit display, which says "more than the meter can show".

    reach: the top of the meter's longest range; without it, above a lower limit nothing is proven.
    """
    if window is None:
        return Verdict("unchecked", None, None, "no limit given")
    lower, upper = window.limits
    if upper is not None:
        return Verdict(
            "fail", None, window.unit, "open circuit: above any upper limit", nearest="upper"
        )
    if reach is not None and lower is not None and _value(reach, window) >= lower:
        rule = (
            f"over limit: above the meter's {reach.digits} {symbol(reach.unit)}, so the limit too"
        )
        return Verdict("pass", None, window.unit, rule, nearest="lower")
    rule = "over limit: the meter's range is not known to reach the lower limit"
    return Verdict("indeterminate", None, window.unit, rule, nearest="lower")


def judge_short(window: Window | None) -> Verdict:
    """Judge a short circuit told without a value, which says "near nought"."""
    if window is None:
        return Verdict("unchecked", None, None, "no limit given")
    lower, _ = window.limits
    if lower is not None and lower > 0:
        return Verdict(
            "fail",
            None,
            window.unit,
            "short circuit: below a lower limit above nought",
            nearest="lower",
        )
    rule = "short circuit told without a value: say the reading to compare it with the upper limit"
    return Verdict("indeterminate", None, window.unit, rule, nearest="upper")


def _value(quantity: Quantity, window: Window) -> Fraction:
    try:
        return in_unit(quantity.decimal, quantity.unit, window.unit)
    except BadInputError:
        raise BadInputError(
            f"{quantity.digits} {symbol(quantity.unit)} cannot be compared with limits in "
            f"{symbol(window.unit)}: they are different kinds of quantity.",
            f"Say the reading in {symbol(window.unit)} or a unit of the same kind.",
        ) from None


def _nearest(value: Fraction, window: Window) -> tuple[Literal["lower", "upper"], Fraction]:
    lower, upper = window.limits
    distances: list[tuple[Fraction, Literal["lower", "upper"]]] = []
    if lower is not None:
        distances.append((value - lower, "lower"))
    if upper is not None:
        distances.append((upper - value, "upper"))
    if not distances:
        raise BadInputError("The window has no limit.", "Give lower, upper or both.")
    margin, nearest = min(distances)
    return nearest, margin


def _words(
    rule: DecisionRule, uncertainty: Decimal | None, expanded: Fraction, guard: Fraction, unit: str
) -> str:
    if uncertainty is None:
        return "limits included; no uncertainty given, reading taken as it stands"
    sign = symbol(unit)
    return (
        f"{rule.name}; limits included, U = {written(expanded)} {sign} (k = {rule.coverage}), "
        f"guard band {written(guard)} {sign}"
    )
