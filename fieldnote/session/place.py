"""Where a job stands in its procedure: derived from the log's records, never stored beside them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from fieldnote.joblog import Standing
from fieldnote.procedure import Step

TAKEN = {"reading", "remark", "wire", "photo"}
"""Kinds of record that answer a step."""


def place(standing: Sequence[Standing], steps: Sequence[Step]) -> int:
    """Index of the step that is next; ``len(steps)`` at the end.

    A step is left when it has as many answers as it wants, or by a `step` record (next, back,
    skip); withdrawing an answer leads back to its step.
    """
    index = {step.id: number for number, step in enumerate(steps)}
    answered: Counter[str] = Counter()
    here = 0
    for item in standing:
        body = item.record.body
        step_id = body.get("step")
        if item.original.kind == "step":
            here = len(steps) if step_id is None else index.get(step_id, here)
            continue
        if item.original.kind not in TAKEN or step_id not in index:
            continue
        if item.state == "withdrawn":
            here = min(here, index[step_id])
            continue
        answered[step_id] += 1
        if step_id == steps[here].id if here < len(steps) else False:
            while here < len(steps) and answered[steps[here].id] >= wanted(steps[here]) > 0:
                here += 1
    return here


def wanted(step: Step) -> int:
    """How many answers a step takes before it is left by itself; 0: it is left by command only."""
    match step.kind:
        case "measure" | "observe" | "remark" | "part":
            return 1
        case "points":
            return len(step.points)
        case "wire":
            return len(step.cavities)
        case "tighten":
            return len(step.order)
        case "photo":
            return step.at_least
        case _:
            return 0
