"""What an unclear answer may have been, so that one of the candidates can be chosen."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fieldnote.acceptance import UNITS
from fieldnote.language import Context, Entry, parse

_DIGITS = re.compile(r"[-−]?\d+(?:\.\d+)?")


def candidates(entry: Entry, source: Mapping[str, Any], unit: str | None) -> tuple[Entry, ...]:
    """The readings to choose from, best first; none where a choice would have to guess a unit.

    A question that names them ("thirteen ohms or thirty ohms?") is taken at its word, with the
    unit of each. Else the alternatives of one utterance share its unit. unit: the step's; what
    is of another kind is not offered.
    """
    reason = entry.reason or ""
    if reason.endswith("?"):
        names = reason.removesuffix("?").removeprefix("did you say ").split(" or ")
        context = Context(unit, unit, (entry.label,) if entry.label else ())
        found = tuple(parse(name, context) for name in names)
    elif source.get("how") == "photo" or not entry.alternatives or not entry.value:
        return ()
    else:
        found = tuple(
            replace(entry, kind="reading", value=value, reason=None, alternatives=())
            for value in (entry.value, *entry.alternatives)
            if _DIGITS.fullmatch(value)
        )
    good = all(is_reading(each) and same_kind(each.unit, unit) for each in found)
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
