"""Travel checks: the curve of a moved part, drawn, with what was found on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fieldnote.acceptance import symbol
from fieldnote.review.charts import address, curve
from fieldnote.review.story import Line
from fieldnote.review.texts import Texts


@dataclass(frozen=True, slots=True)
class Travel:
    """chart: address of the drawn curve. findings: result and words of each thing asked."""

    line: Line
    chart: str
    findings: tuple[tuple[str, str], ...]


def travels(lines: Sequence[Line], texts: Texts, *, for_paper: bool = False) -> list[Travel]:
    """The travel checks among readings, as far as they can be drawn."""
    found = []
    for line in lines:
        told = line.now.body.get("travel")
        if isinstance(told, Mapping) and len(told.get("points") or ()) > 1:
            findings = tuple(
                (str(each.get("result")), str(each.get("words") or each.get("name") or ""))
                for each in told.get("findings") or ()
            )
            found.append(Travel(line, address(_drawn(told, texts, for_paper)), findings))
    return found


def _drawn(told: Mapping[str, Any], texts: Texts, for_paper: bool) -> str:
    points = told["points"]
    values = [float(point["value"]) for point in points]
    across, name = _along(points, texts)
    marked = [
        (int(each["at"]), str(each["result"]))
        for each in told.get("findings") or ()
        if isinstance(each.get("at"), int) and 0 <= each["at"] < len(points)
        if each.get("result") in ("fail", "indeterminate")
    ]
    turn = min(max(int(told.get("turn") or 0), 0), len(points) - 1)
    unit = symbol(str(told["unit"])) if told.get("unit") else ""
    return curve(values, across, turn, marked, (name, unit), for_paper=for_paper)


def _along(points: Sequence[Mapping[str, Any]], texts: Texts) -> tuple[list[float] | None, str]:
    """Where the readings lie: by position, else by time, else by their order."""
    for key, name in (("position", texts("position")), ("seconds", texts("time in s"))):
        if all(point.get(key) is not None for point in points):
            return [float(point[key]) for point in points], name
    return None, texts("reading number")
