"""Measuring points: which readings belong together, in one job and across jobs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fieldnote.review.story import Line, Story

Key = tuple[str, ...]


def key(line: Line) -> Key | None:
    """What makes two readings readings of the same thing; None where nothing names it.

    A step alone is not enough: several places may be measured in one step, and a later good reading
    of one must never speak for an earlier bad one of another.
    """
    entry = line.now.entry
    named = entry.get("label") or entry.get("pins")
    if not named:
        return None
    pins = tuple(str(pin) for pin in entry.get("pins") or ())
    words = (entry.get("label"), entry.get("position"), entry.get("state"), line.now.step)
    return (*(str(word or "") for word in words), *pins)


@dataclass(frozen=True, slots=True)
class Repeat:
    """One point measured more than once in a job: before and after."""

    first: Line
    last: Line
    times: int


def repeats(story: Story) -> list[Repeat]:
    """Points with several standing readings, in the order of their first."""
    return [
        Repeat(lines[0], lines[-1], len(lines))
        for lines in grouped(story.standing).values()
        if len(lines) > 1
    ]


def later(story: Story) -> dict[int, Line]:
    """For each reading that was taken again, by its number: the last one of the same point."""
    return {
        line.number: lines[-1] for lines in grouped(story.standing).values() for line in lines[:-1]
    }


def grouped(lines: Iterable[Line]) -> dict[Key, list[Line]]:
    """Readings by their point, each in the order taken; what has no name is left out."""
    groups: dict[Key, list[Line]] = {}
    for line in lines:
        name = key(line) if line.kind == "reading" else None
        if name is not None:
            groups.setdefault(name, []).append(line)
    return groups
