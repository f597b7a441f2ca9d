"""What the guided job says: short sentences for the ear, numbers and units in words."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fieldnote.acceptance import UNITS, Verdict, Window
from fieldnote.acceptance.exact import written
from fieldnote.language import Entry, speak, speak_number
from fieldnote.procedure import Step
from fieldnote.procedure.steps import Wire

TONES = {"pass": "good", "fail": "alarm", "indeterminate": "ask", "unchecked": None}

HELP = (
    "You can say a reading, next, back, skip, repeat, scratch that, what is the limit,"
    " last value, where am I, pause, and stop."
)


def value_words(digits: str, unit: str) -> str:
    """ "10.6", "Ohm" → "ten point six ohms"."""
    return speak(Entry("reading", value=digits, unit=unit))


def window_words(window: Window) -> str:
    """A window for the ear; its limits are good themselves."""
    lower, upper = window.lower, window.upper
    if lower is not None and upper is not None:
        return f"from {speak_number(lower)} to {value_words(upper, window.unit)}"
    if lower is not None:
        return f"at least {value_words(lower, window.unit)}"
    return f"at most {value_words(upper or '', window.unit)}"


def verdict_words(verdict: Verdict | None) -> str:
    """After a value: inside, outside by how much, undecided; nothing where it was not checked."""
    if verdict is None or verdict.result == "unchecked":
        return ""
    if verdict.result == "pass":
        return "inside"
    if verdict.result == "indeterminate":
        return "undecided: too near the limit for this meter"
    if verdict.margin is None or verdict.unit is None:
        return "outside"
    side = "below" if verdict.nearest == "lower" else "above"
    return f"outside, {value_words(_short(verdict.margin), verdict.unit)} {side} the limit"


def announcement(step: Step, number: int, of: int) -> str:
    """What is said when a step begins, its cautions first."""
    cautions = " ".join(f"Caution: {each}" for each in step.cautions)
    return f"{cautions} Step {number} of {of}. {step.say}".strip()


def point_words(step: Step, label: str) -> str:
    """Which point of a step is next."""
    return f"Cavity {label}." if isinstance(step, Wire) else f"{label}."


def unit_words(unit: str) -> str:
    """A unit in words ("ohms")."""
    spoken = UNITS[unit].spoken
    return spoken[0] if spoken else UNITS[unit].symbol


def entry_words(entry: Mapping[str, Any]) -> str:
    """A stored entry read back."""
    known = {name: value for name, value in entry.items() if name in Entry.__slots__}
    for name in ("values", "pins", "alternatives"):
        known[name] = tuple(known.get(name) or ())
    return speak(Entry(**known))


def _short(margin: str) -> str:
    """A distance to at most three digits for the ear; the record keeps it whole."""
    size = abs(Decimal(margin))
    if not size:
        return "0"
    places = max(0, 2 - size.adjusted())
    return written(Fraction(round(size, places)))
