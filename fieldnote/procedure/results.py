"""Results of steps that take more than one plain reading: points, derived values, wires, travel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fieldnote.acceptance import Accuracy, Quantity, Verdict, Window, judge
from fieldnote.acceptance.exact import difference_in, rounded_up, written
from fieldnote.acceptance.formula import Formula
from fieldnote.acceptance.travel import TravelLimits, TravelPoint, TravelReport, check_travel
from fieldnote.errors import BadInputError
from fieldnote.procedure.limits import Chosen, Limits, number_of
from fieldnote.procedure.model import Procedure
from fieldnote.procedure.steps import Derived, Measure, Points, Travel, Wire


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading as it entered: its quantity, and its standard uncertainty in the same unit."""

    quantity: Quantity
    uncertainty: Decimal | None = None

    @classmethod
    def by(cls, quantity: Quantity, accuracy: Accuracy | None, current: str | None = None) -> Taken:
        """Taken with a meter.

        Raises:
            BadInputError: the value is beyond the meter's range, so it is no reading of that meter.
        """
        return cls(quantity, None if accuracy is None else accuracy.uncertainty(quantity, current))


def values_of(
    procedure: Procedure, facts: Mapping[str, Any], taken: Mapping[str, Sequence[Taken]]
) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """Numbers that limits and formulas refer to, and their standard uncertainties, by name.

    taken: readings that stand, by step id (several for a points step). A step's number is in the
    step's unit; a points step gives `<id>-highest`, `-lowest`, `-mean`; a numeric fact as given.
    """
    values: dict[str, Fraction] = {}
    uncertainties: dict[str, Fraction] = {}
    for name, fact in procedure.facts.items():
        if fact.unit is not None and facts.get(name) not in (None, ""):
            values[name], uncertainties[name] = number_of(str(facts[name])), Fraction(0)
    for step in procedure.steps:
        readings = taken.get(step.id)
        if not readings or not isinstance(step, Measure | Derived | Points):
            continue
        numbers = [each.quantity.to(step.unit) for each in readings]
        spreads = [_in_step_unit(each, step.unit) for each in readings]
        if isinstance(step, Points):
            ends = {"highest": max(numbers), "lowest": min(numbers)}
            for which, number in ends.items():
                values[f"{step.id}-{which}"] = number
                _note(uncertainties, f"{step.id}-{which}", spreads[numbers.index(number)])
            values[f"{step.id}-mean"] = sum(numbers, Fraction(0)) / len(numbers)
        else:
            values[step.id] = numbers[-1]
            _note(uncertainties, step.id, spreads[-1])
    return values, uncertainties


def _note(uncertainties: dict[str, Fraction], name: str, u: Fraction | None) -> None:
    if u is not None:
        uncertainties[name] = u


def _in_step_unit(taken: Taken, unit: str) -> Fraction | None:
    if taken.uncertainty is None:
        return None
    return difference_in(taken.uncertainty, taken.quantity.unit, unit)


def derive(
    step: Derived, values: Mapping[str, Fraction], uncertainties: Mapping[str, Fraction]
) -> tuple[Taken, str]:
    """The derived reading, and its formula with the numbers put in, for the record.

    Raises:
        BadInputError: a reading that it needs is missing, or there is no result.
    """
    formula = Formula.parse(step.formula)
    named = {name.replace("-", "_"): value for name, value in values.items()}
    spreads = {name.replace("-", "_"): u for name, u in uncertainties.items()}
    result = formula(named)
    # An uncertainty that leaves one of its readings out would be too small, so it is all or none.
    known = all(name in spreads for name in formula.names)
    uncertainty = formula.uncertainty(named, spreads) if known else None
    shown = step.formula
    for name in sorted(formula.names, key=len, reverse=True):
        shown = shown.replace(name, written(named[name]))
    return Taken(Quantity(written(result), step.unit), uncertainty), f"{step.formula} = {shown}"


def judge_points(
    step: Points, chosen: Chosen, taken: Mapping[str, Taken]
) -> tuple[dict[str, Verdict], Verdict | None]:
    """A verdict for each point by its label, and one for the spread (None without a limit).

    Raises:
        BadInputError: a point is missing.
    """
    missing = [each.label for each in step.points if each.label not in taken]
    if missing:
        raise BadInputError(f"No reading yet for {', '.join(missing)}.", "Take it first.")
    each_verdict = {}
    for point in step.points:
        window = chosen.window if point.window is None else point.window.window(step.unit, {})
        reading = taken[point.label]
        each_verdict[point.label] = judge(reading.quantity, window, reading.uncertainty)
    return each_verdict, _spread(step, list(taken.values()))


def _spread(step: Points, taken: Sequence[Taken]) -> Verdict | None:
    if step.spread is None:
        return None
    numbers = [each.quantity.to(step.unit) for each in taken]
    high, low = max(numbers), min(numbers)
    of = {"highest": high, "lowest": low, "mean": sum(numbers, Fraction(0)) / len(numbers)}
    limit = step.spread.at_most
    if limit.endswith("%"):
        share = Fraction(limit.removesuffix("%").strip()) / 100
        limit = written(abs(of[step.spread.of]) * share)
    ends = [taken[numbers.index(high)], taken[numbers.index(low)]]
    uncertainty = None
    known = [u for each in ends if (u := _in_step_unit(each, step.unit)) is not None]
    if len(known) == len(ends):
        squares = sum((u**2 for u in known), Fraction(0))
        root = (Decimal(squares.numerator) / Decimal(squares.denominator)).sqrt()
        uncertainty = rounded_up(root)
    # A spread is a difference, so it is judged as a plain number of the unit, without its offset.
    plain = Quantity(written(high - low), step.unit)
    return judge(plain, Window.at_most(limit, step.unit), uncertainty)


@dataclass(frozen=True, slots=True)
class WireDifference:
    """A wire that is not what it should be. wanted, found: IEC 60757; found None: not said."""

    cavity: str
    wanted: str
    found: str | None

    def __str__(self) -> str:
        found = "was not said" if self.found is None else f"is {self.found}"
        return f"Cavity {self.cavity} should be {self.wanted} and {found}."


def wire_differences(
    step: Wire, said: Mapping[str, str], earlier: Mapping[str, str] | None = None
) -> tuple[WireDifference, ...]:
    """Where the wires differ from what is expected, or from those written down before.

    said, earlier: cavity to colour code; earlier is what the step named by `same_as` took.
    """
    wanted = {**(step.expect or {}), **((earlier or {}) if step.same_as else {})}
    return tuple(
        WireDifference(cavity, wanted[cavity], said.get(cavity))
        for cavity in step.cavities
        if cavity in wanted and said.get(cavity) != wanted[cavity]
    )


def judge_travel(
    step: Travel,
    points: Sequence[TravelPoint],
    facts: Mapping[str, Any],
    values: Mapping[str, Fraction],
    accuracy: Accuracy | None = None,
) -> TravelReport:
    """Check a travel against its step's limits.

    Raises:
        BadInputError: too few readings, or a value beyond the meter's range.
    """

    def window(limits: Limits | None) -> Window | None:
        return None if limits is None else limits.window(step.unit, values)

    timed = None
    if step.timed is not None:
        timed = (step.timed.from_, step.timed.to, step.timed.within_seconds)
    limits = TravelLimits(
        direction=step.direction,
        first=window(step.first),
        last=window(step.last),
        every=step.choose(facts, values).window,
        largest_jump=step.largest_jump,
        smallest_move=step.smallest_move,
        hysteresis=step.hysteresis,
        straightness=step.straightness,
        timed=timed,
        both_ways=step.both_ways,
        fewest=step.fewest,
    )
    uncertainty = None if accuracy is None else accuracy.uncertainty
    return check_travel(points, step.unit, limits, uncertainty)
