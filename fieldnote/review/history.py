"""One machine over its jobs: every measuring point with its readings in time."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnote.review.charts import Dot, address, trend
from fieldnote.review.points import Key, grouped
from fieldnote.review.report import reading_numbers
from fieldnote.review.story import Line, Story
from fieldnote.review.texts import Texts


@dataclass(frozen=True, slots=True)
class History:
    """One point. jobs: the reference of each reading's job, in the same order as ``lines``."""

    lines: tuple[Line, ...]
    jobs: tuple[str, ...]
    chart: str | None

    @property
    def last(self) -> Line:
        return self.lines[-1]


def histories(stories: list[Story], texts: Texts) -> list[History]:
    """Points of all jobs, given oldest first, in the order in which they first appear."""
    points: dict[Key, list[tuple[str, Line]]] = {}
    for story in stories:
        for name, lines in grouped(story.standing).items():
            points.setdefault(name, []).extend((story.ref, line) for line in lines)
    return [
        History(
            tuple(line for _, line in found),
            tuple(ref for ref, _ in found),
            _chart([line for _, line in found], texts),
        )
        for found in points.values()
    ]


def _chart(lines: list[Line], texts: Texts) -> str | None:
    """A drawn trend as an address of its own; None where fewer than two moments have a number."""
    last = lines[-1].now
    unit = last.window.unit if last.window else last.entry.get("unit")
    dots = []
    for line in lines:
        numbers = reading_numbers(line.now, unit)
        if numbers is not None:
            value, uncertainty = numbers
            dots.append(Dot(line.at, float(value), float(uncertainty), line.result))
    if unit is None or len({dot.at for dot in dots}) < 2:
        return None
    return address(trend(dots, last.window, unit, texts))
