"""A procedure as a paper check sheet, with a QR code that says which content was printed."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from importlib.resources import files
from itertools import cycle
from typing import Any

import jinja2
import segno

from fieldnote.acceptance import symbol
from fieldnote.acceptance.exact import with_unit, written
from fieldnote.procedure.limits import Limits
from fieldnote.procedure.model import Procedure
from fieldnote.procedure.steps import (
    Caution,
    Decide,
    Derived,
    Measure,
    Observe,
    Part,
    Photo,
    Points,
    Remark,
    Step,
    Tighten,
    Timed,
    Travel,
    Wire,
)


def sheet(procedure: Procedure) -> str:
    """One self-contained HTML page for printing; boxes to fill in, limits beside them.

    The QR code holds `digest_text(procedure)`.
    """
    code = segno.make(digest_text(procedure), error="m", micro=False)
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined)
    page = environment.from_string(
        (files("fieldnote.procedure") / "sheet.html").read_text(encoding="utf-8")
    )
    return page.render(
        procedure=procedure,
        steps=[
            {"step": step, "rows": [*_rows(step), *_computed(step, procedure)]}
            for step in procedure.steps
        ],
        code=code.svg_inline(scale=3, border=2),
        digest=procedure.digest,
    )


def digest_text(procedure: Procedure) -> str:
    """What the QR code says: name, version and SHA-256 of the content."""
    return f"{procedure.name} {procedure.version} sha256:{procedure.digest}"


def _rows(step: Step) -> list[Mapping[str, Any]]:
    """Lines to fill in: what, the unit, and the limits in words."""
    match step:
        case Measure():
            return [_row("", step.unit, _limits(step))]
        case Derived():
            return [_row(f"= {step.formula.replace('_', ' ')}", step.unit, _limits(step))]
        case Points():
            rows = [_row(each.label, step.unit, _limits(step, each.window)) for each in step.points]
            if step.spread is not None:
                limit = f"highest less lowest at most {step.spread.at_most}"
                if step.spread.at_most.endswith("%"):
                    limit += f" of {step.spread.of}"
                rows.append(_row("spread", step.unit, limit))
            return rows
        case Tighten():
            last = [_row(each, step.unit, _limits(step)) for each in step.order]
            rounds = [_row(f"round at {share} % in order", None, "") for share in step.rounds[:-1]]
            return rounds + last
        case Wire():
            return [_row(each, None, (step.expect or {}).get(each, "")) for each in step.cavities]
        case Observe():
            return [
                _row(f"☐ {each}", None, "good" if each in step.good else "", fill=False)
                for each in step.choices
            ]
        case Timed():
            return [_row(f"{step.mode} {step.seconds} s", "s", "")]
        case Travel():
            limits = [_row(each, None, "", wide=True) for each in _travel_limits(step)]
            readings = [f"reading {number}" for number in range(1, min(step.fewest, 12) + 1)]
            return [*limits, *(_row(each, step.unit, "") for each in readings)]
        case Decide():
            return [
                _row(
                    f"☐ {'; '.join(f'{k}: {_any(v)}' for k, v in row.when.items())}: {row.say}",
                    None,
                    "",
                    wide=True,
                )
                for row in step.rows
            ]
        case Part():
            return [_row(f"{step.part} {step.move}, serial", None, "")]
        case Caution():
            return [_row("☐ confirmed", None, "", fill=False)]
        case Photo():
            return [_row(f"☐ taken ({step.at_least} or more)", None, "", wide=True)]
        case Remark():
            return [_row("", None, "", wide=True, fill=True)] * 2


def _row(
    what: str, unit: str | None, limit: str, *, wide: bool = False, fill: bool | None = None
) -> Mapping[str, Any]:
    """wide: its words have the whole line, with nothing to fill in unless `fill` says so."""
    sign = "" if unit is None else symbol(unit)
    fill = not wide if fill is None else fill
    return {"what": what, "unit": sign, "limit": limit, "wide": wide, "fill": fill}


def _travel_limits(step: Travel) -> list[str]:
    """All that a travel is held against, a line each."""
    unit = step.unit
    said = [f"{step.direction}{' and back' if step.both_ways else ''}, {step.fewest} or more"]
    if step.limits is not None or step.variants:
        said.append(f"every reading {_limits(step)}")
    for name, end in (("first", step.first), ("last", step.last)):
        said += [] if end is None else [f"{name} {end.describe(unit)}"]
    for name, limit in (
        ("no step above", step.largest_jump),
        ("no step below", step.smallest_move),
        ("both ways within", step.hysteresis),
        ("off the straight line at most", step.straightness),
    ):
        said += [] if limit is None else [f"{name} {with_unit(limit, unit)}"]
    if step.timed is not None:
        ends = f"from {step.timed.from_} to {with_unit(step.timed.to, unit)}"
        said.append(f"{ends} within {step.timed.within_seconds} s")
    return said


def _computed(step: Step, procedure: Procedure) -> list[Mapping[str, Any]]:
    """A formula's limits worked out at round values, for who has no Fieldnote at hand.

    Only where it depends on one earlier reading whose own window says how far that may go.
    """
    if not isinstance(step, Measure) or step.limits is None or step.limits.formula is None:
        return []
    by = step.limits.by_names[0]
    earlier = procedure.step(by)
    if len(step.limits.by_names) > 1 or not isinstance(earlier, Measure) or not earlier.limits:
        return []
    span = earlier.limits.fixed(earlier.unit)
    low, high = (None, None) if span is None else span.limits
    if low is None or high is None:
        return []
    rows = []
    for value in _round_values(low, high):
        said = [_worked_out(step.limits, step.unit, by, value)]
        said += [
            f"{_worked_out(each.window, step.unit, by, value)} where"
            f" {', '.join(_any(wanted) for wanted in each.when.values())}"
            for each in step.variants
        ]
        words = f"at {with_unit(written(value), earlier.unit)}: {'; '.join(said)}"
        rows.append(_row(words, None, "", wide=True))
    return rows


def _worked_out(limits: Limits, unit: str, by: str, value: Fraction) -> str:
    window = limits.window(unit, {by: value})
    lower, upper = (written(_five(each or Fraction(0))) for each in window.limits)
    return f"{lower} to {with_unit(upper, window.unit)}"


def _five(value: Fraction) -> Fraction:
    """Rounded to five significant digits."""
    return Fraction(f"{float(value):.5g}")


def _round_values(low: Fraction, high: Fraction) -> list[Fraction]:
    """At most a dozen round numbers from low to high."""
    step = Fraction(1, 1000)
    for factor in cycle((Fraction(2), Fraction(5, 2), Fraction(2))):
        if (high - low) / step <= 11:
            break
        step *= factor
    first = -(-low // step) * step
    return [first + i * step for i in range(int((high - first) // step) + 1)]


def _limits(step: Measure | Derived | Points | Tighten | Travel, own: Limits | None = None) -> str:
    """The step's limits in words, or a point's own."""
    if own is not None:
        return own.describe(step.unit)
    if isinstance(step, Measure) and step.limits is not None and step.limits.formula is not None:
        return f"by {', '.join(step.limits.by_names)}, see below or the formula in the file"
    said = [] if step.limits is None else [step.limits.describe(step.unit)]
    said += [
        f"{each.window.describe(step.unit)} where"
        f" {', '.join(f'{name} is {_any(value)}' for name, value in each.when.items())}"
        for each in step.variants
    ]
    return "; ".join(said)


def _any(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else " or ".join(value)
