"""Two witnesses of one measurement, a photo and a voice: where they differ a person decides."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fieldnote.acceptance import UNITS, Quantity, symbol
from fieldnote.errors import BadInputError
from fieldnote.language import Entry

_VERBS = {"photo": "the photo shows", "voice": "you said", "typed": "you typed"}


def differing(earlier: Mapping[str, Any], entry: Entry, source: Mapping[str, Any]) -> str | None:
    """The question to ask where an answer came by another way than the earlier one and differs.

    Nothing is merged: the earlier record stays, and the new one becomes a question. The same way
    twice is a measurement made again, of which the later counts. 12.4 and 12.40 do not differ, nor
    do 1.2 kΩ and 1200 Ω.

    earlier: body of the record that answers now. source: how the new entry was taken.
    """
    before = earlier.get("source", {}).get("how")
    now = source.get("how", "typed")
    if {before, now} - {"photo", "voice", "typed"} or "photo" not in {before, now}:
        return None
    if before == now:
        return None
    other = earlier.get("entry") or {}
    if _same(other, entry):
        return None
    first = _words(other.get("kind"), other.get("value"), other.get("unit"))
    second = _words(entry.kind, entry.value, entry.unit)
    return f"two sources differ: {_VERBS[before]} {first}, {_VERBS[now]} {second}; which is right"


def _same(other: Mapping[str, Any], entry: Entry) -> bool:
    if other.get("kind") != entry.kind:
        return False
    if entry.kind != "reading":
        return True
    value, unit = other.get("value"), other.get("unit")
    if None in {value, unit, entry.value, entry.unit}:
        return bool(value == entry.value and unit == entry.unit)
    try:
        return Quantity(str(value), str(unit)).to(str(entry.unit)) == Quantity(
            str(entry.value), str(entry.unit)
        ).to(str(entry.unit))
    except BadInputError:
        return False


def _words(kind: Any, value: Any, unit: Any) -> str:
    if kind in {"open", "short"}:
        return f"{kind} circuit"
    name = symbol(str(unit)) if unit in UNITS else ""
    return f"{value} {name}".strip()
