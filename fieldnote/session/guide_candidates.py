"""What an unclear answer may have been, so that one of the candidates can be chosen."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fieldnote.acceptance import UNITS
from fieldnote.language import Context, Entry, parse

_LONGEST_UNIT = 3
"""Words in the name of a unit at most ("degrees per second")."""

_QUESTION = re.compile(r"^(did you say|two displays show) ")
_DIGITS = re.compile(r"[-−]?\d+(?:\.\d+)?")


def of_command(source: Mapping[str, Any]) -> bool:
    """Whether what was not clear was most likely a command: it is asked for again, and is no open
    question about a reading."""
    return parse(str(source.get("heard") or "")).kind == "command"


def candidates(entry: Entry, unit: str | None) -> tuple[Entry, ...]:
    """The readings or commands that a question names, best first, to choose one of them.

    "thirteen ohms or thirty ohms?" and "four bar or pause?" are taken at their word, each with its
    own unit; what is named nowhere is not offered. unit: the step's; a reading of another kind is
    no candidate. Nothing is confirmed by a choice.
    """
    reason = entry.reason or ""
    if not reason.endswith("?"):
        return ()
    names = _QUESTION.sub("", reason.removesuffix("?")).split(" or ")
    context = Context(unit, unit, (entry.label,) if entry.label else ())
    found = tuple(parse(name, context) for name in names)
    good = all(
        each.command != "yes"
        if each.kind == "command"
        else is_reading(each) and same_kind(each.unit, unit)
        for each in found
    )
    return found if good else ()


def same_kind(one: str | None, other: str | None) -> bool:
    """Whether two units measure the same kind of quantity; an unknown one may be any."""
    if one is None or other is None or one == other:
        return True
    return one in UNITS and other in UNITS and UNITS[one].kind == UNITS[other].kind


def is_reading(entry: Entry) -> bool:
    """A number with its unit."""
    return entry.kind == "reading" and entry.value is not None and entry.unit is not None


def restored(stated: Mapping[str, Any]) -> Entry:
    """An entry from its JSON form."""
    known = {name: value for name, value in stated.items() if name in Entry.__slots__}
    for name in ("values", "pins", "alternatives"):
        known[name] = tuple(known.get(name) or ())
    return Entry(**known)


def with_unit(question: Mapping[str, Any], offered: tuple[Entry, ...], words: str) -> Entry | None:
    """The reading that a unit said alone makes of a question: "is it mV or V?", "volts".

    question: the body of its record. Where it offers readings, the unit picks one of them; else
    its own number, of which no unit was seen, takes it. None where that is not clear.
    """
    if not 0 < len(words.split()) <= _LONGEST_UNIT:
        return None
    asked = restored(question["entry"])
    values = [each.value for each in offered] if offered else [asked.value]
    said = [parse(f"{value} {words}") for value in values if value and _DIGITS.fullmatch(value)]
    if offered:
        fits = [
            o for o, s in zip(offered, said, strict=False) if is_reading(s) and s.unit == o.unit
        ]
        return fits[0] if len(fits) == 1 else None
    if (
        asked.unit is not None
        or not said
        or not is_reading(said[0])
        or said[0].value != asked.value
    ):
        return None
    return replace(said[0], label=asked.label, pins=asked.pins, current=asked.current)


def chosen_of(choices: Sequence[str], entry: Entry) -> list[str]:
    """The choices that an answer names: one where it is clear.

    By its name; by what means the same ("twelve volts" for "12 V"); else by its number in the
    list, which is quick to type and easy to hear.
    """
    heard = {str(word).strip().lower() for word in (entry.label, entry.position, entry.text)}
    named = [choice for choice in choices if choice.lower() in heard]
    if named or entry.value is None:
        return named
    meant = [choice for choice in choices if _means(parse(choice), entry)]
    if meant or entry.kind != "bare":
        return meant
    numbers = {str(number): choice for number, choice in enumerate(choices, 1)}
    return [numbers[entry.value]] if entry.value in numbers else []


def _means(choice: Entry, entry: Entry) -> bool:
    if choice.value is None or entry.value is None or choice.value != entry.value:
        return False
    same_words = choice.kind == entry.kind and choice.reason == entry.reason
    return (same_words and choice.unit == entry.unit) or (
        entry.kind == "bare" and choice.kind == "reading"
    )


def colour_of_cavity(words: str, cavity: str | None) -> Entry | None:
    """A colour said alone, as the wire in the cavity that is known; None where it is something
    else."""
    if cavity is None or parse(words).kind != "unclear":
        return None
    wire = parse(f"cavity {cavity} {words}")
    return wire if wire.kind == "wire" and wire.pins == (cavity,) else None
