"""A procedure as a paper check sheet, with a QR code that says which content was printed."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import jinja2
import segno

from fieldnote.acceptance import symbol
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
        steps=[{"step": step, "rows": _rows(step)} for step in procedure.steps],
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
            rows = [_row(each.label, step.unit, _limits(step)) for each in step.points]
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
            return [
                _row(f"readings through the travel, {step.direction}", step.unit, _limits(step))
            ]
        case Decide():
            return [
                _row(
                    f"☐ {'; '.join(f'{k}: {_any(v)}' for k, v in row.when.items())}",
                    None,
                    row.say,
                    fill=False,
                )
                for row in step.rows
            ]
        case Part():
            return [_row(f"{step.part} {step.move}, serial", None, "")]
        case Caution():
            return [_row("☐ confirmed", None, "", fill=False)]
        case Photo() | Remark():
            return [_row("", None, "")]


def _row(what: str, unit: str | None, limit: str, *, fill: bool = True) -> Mapping[str, Any]:
    sign = "" if unit is None else symbol(unit)
    return {"what": what, "unit": sign, "limit": limit, "fill": fill}


def _limits(step: Measure | Derived | Points | Tighten | Travel) -> str:
    said = [] if step.limits is None else [step.limits.describe(step.unit)]
    said += [
        f"{each.window.describe(step.unit)} where"
        f" {', '.join(f'{name} is {_any(value)}' for name, value in each.when.items())}"
        for each in step.variants
    ]
    return "; ".join(said)


def _any(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else " or ".join(value)
