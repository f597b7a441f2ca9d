"""Joins what the eye sees with what the step is about: an entry, or a question."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError, FieldnoteError
from fieldnote.language import Context, Entry
from fieldnote.photo import Display, DisplayProfile, look, reader_named

_NOTHING = "no display was found: take it closer, square on, without flash"

_AUTORANGED = {"Ohm": "Ω, kΩ or MΩ", "V": "mV or V", "A": "µA, mA or A", "F": "nF or µF"}
"""Units whose prefix is a symbol on the display that a photo can miss: a factor of a thousand."""


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
            yield _no_line(str(path), _NOTHING)


def _no_line(file: str, reason: str) -> dict[str, Any]:
    empty = Display("", 0.0, ((0.0, 0.0),) * 4, "", kind="none", reason=reason)
    return {"file": file, **empty.to_json(), "box": None, "reader": None}


def entry_of(display: Display, context: Context = Context()) -> Entry:  # noqa: B008
    """What the display says about the current step; unclear stays unclear.

    A bare number takes the step's unit only where no prefix can have been missed.
    """
    alternatives = tuple(text for text, _ in display.alternatives)
    if display.kind in {"unclear", "none"}:
        kind = "unclear" if display.kind == "unclear" else "none"
        return Entry(
            kind, value=display.value, unit=display.unit, text=display.characters,
            reason=display.reason, alternatives=alternatives,
        )  # fmt: skip
    from fieldnote.language import display_entry

    try:
        entry = display_entry(display.characters, display.unit)
    except FieldnoteError as error:
        return Entry("unclear", display.value, text=display.characters, reason=str(error))
    if display.current in {"AC", "DC"}:
        entry = replace(entry, current=display.current)
    if entry.kind != "bare" or context.unit is None:
        return replace(entry, alternatives=alternatives)
    if context.unit.lstrip("kMmun") in _AUTORANGED or context.unit in _AUTORANGED:
        base = context.unit if context.unit in _AUTORANGED else context.unit.lstrip("kMmun")
        return replace(
            entry, kind="unclear", alternatives=alternatives,
            reason=f"the unit could not be seen: is it {_AUTORANGED[base]}?",
        )  # fmt: skip
    return replace(
        entry, kind="reading", unit=context.unit, unit_from="step", alternatives=alternatives
    )
