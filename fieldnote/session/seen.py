"""Joins what the eye sees with what the step is about: an entry, or a question."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import hypot
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError
from fieldnote.language import Context, Entry, display_entry, symbol
from fieldnote.photo import Display, DisplayProfile, advice, explain, look, reader_named

_NOTHING = "no display was found: take it closer, square on, without flash"

_AUTORANGED = {"Ohm": "Ω, kΩ or MΩ", "V": "mV or V", "A": "µA, mA or A", "F": "nF or µF"}
"""Units whose prefix is a symbol on the display that a photo can miss: a factor of a thousand."""

_PREFIXES = "kMmunG"
_ALIKE = 0.7
"""A second display of this share of the first one's height may as well be the one meant."""
_NO_CONTEXT = Context()


def look_files(
    paths: Iterable[Path | str],
    reader: str | None = None,
    profile: DisplayProfile | None = None,
) -> Iterator[dict[str, Any]]:
    """The lines of `fieldnote look`: one a display, the likeliest first; at least one a file.

    A file without a display gives kind "none". One that is no picture gives kind "none" with the
    message in `reason` and the exit status in `error`, so that the others still get their turn.

    Raises:
        BadInputError: no such reader. MissingPartError: the reader asked for is not installed.
    """
    reader_named(reader, profile)  # a wrong name is told before the first picture
    for path in paths:
        try:
            displays = look(path, profile, reader)
        except BadInputError as error:
            yield {**_no_line(str(path), str(error)), "error": error.exit_status}
            continue
        for display in displays:
            yield {"file": str(path), **display.to_json()}
        if not displays:
            yield _no_line(str(path), "; ".join((*advice(path), _NOTHING)))


def _no_line(file: str, reason: str) -> dict[str, Any]:
    empty = Display("", 0.0, ((0.0, 0.0),) * 4, "", kind="none", reason=reason)
    return {"file": file, **empty.to_json(), "box": None, "reader": None}


def explain_file(
    path: Path | str,
    out: Path,
    reader: str | None = None,
    profile: DisplayProfile | None = None,
) -> Path:
    """Draws into `out` what was found in the picture, what was read and how sure.

    Raises:
        BadInputError: no picture that can be read. StoreError: `out` cannot be written.
    """
    return explain(path, look(path, profile, reader), out)


def entry_shown(
    displays: Sequence[Display], context: Context = _NO_CONTEXT
) -> tuple[Entry, Display]:
    """What a picture says about the current step, and the display that it is of.

    Where a second display of about the same size shows another value nothing tells which is meant,
    and the person is asked. displays: likeliest first, at least one.
    """
    best = displays[0]
    entry = entry_of(best, context)
    if entry.kind not in {"reading", "bare", "open"}:
        return entry, best
    rivals = [
        other
        for other in displays[1:]
        if other.kind != "unclear"
        and other.characters != best.characters
        and _height(other) >= _ALIKE * _height(best)
    ]
    if not rivals:
        return entry, best
    unit = symbol(entry.unit) if entry.unit is not None else ""
    shown = " or ".join(f"{d.characters} {unit}".strip() for d in (best, *rivals))
    values = tuple(d.value for d in rivals if d.value is not None)
    reason = f"two displays show {shown}?"
    return replace(entry, kind="unclear", reason=reason, alternatives=values), best


def _height(display: Display) -> float:
    (ax, ay), _, _, (dx, dy) = display.box
    return hypot(dx - ax, dy - ay)


def entry_of(display: Display, context: Context = _NO_CONTEXT) -> Entry:
    """What the display says about the current step; unclear stays unclear.

    A bare number takes the step's unit only where no prefix can have been missed.
    """
    alternatives = tuple(text for text, _ in display.alternatives)
    if display.kind == "unclear":
        return Entry(
            "unclear", display.value, display.unit, text=display.characters,
            reason=display.reason, alternatives=alternatives,
        )  # fmt: skip
    if display.kind == "open":  # dashes too: a meter shows them for a lead that is off
        return Entry("open", unit=display.unit, text=display.characters)
    entry = display_entry(display.characters, display.unit)
    if display.value is not None and display.reader == "gauge":
        entry = display_entry(display.value, display.unit)
    if entry.kind == "unclear":
        return entry
    if display.current is not None:
        entry = replace(entry, current="AC" if display.current == "AC" else "DC")
    entry = replace(entry, alternatives=alternatives)
    if entry.kind != "bare" or context.unit is None:
        return entry
    family = next((f for f in _AUTORANGED if context.unit.lstrip(_PREFIXES) == f), None)
    if family is not None:
        question = f"the unit could not be seen: is it {_AUTORANGED[family]}?"
        return replace(entry, kind="unclear", reason=question)
    return replace(entry, kind="reading", unit=context.unit, unit_from="step")
