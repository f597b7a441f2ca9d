"""What the guided job says: short sentences for the ear, numbers and units in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from fieldnote.acceptance import UNITS, Verdict, Window
from fieldnote.acceptance.exact import written
from fieldnote.language import Entry, speak, speak_number
from fieldnote.procedure import Step
from fieldnote.procedure.steps import (
    Caution,
    Measure,
    Observe,
    Part,
    Photo,
    Points,
    Remark,
    Tighten,
    Timed,
    Travel,
    Wire,
)
from fieldnote.session.guide_candidates import restored
from fieldnote.session.wording import CHOSEN, WIRED

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


def limit_of_time(step: Timed) -> str:
    """The limit of a step against the clock."""
    words = value_words(str(step.seconds), "s")
    return {"wait": f"wait {words}", "hold": f"at least {words}", "within": f"at most {words}"}[
        step.mode
    ]


def travel_limits(step: Travel, window: Window | None) -> str:
    """Everything that a travel is held against, a short phrase each."""
    unit = step.unit
    said = [f"every reading {window_words(window)}"] if window is not None else []
    for name, end in (("first", step.first), ("last", step.last)):
        fixed = None if end is None else end.fixed(unit)
        said += [f"{name} {window_words(fixed)}"] if fixed is not None else []
    for name, limit in (
        ("no step above", step.largest_jump),
        ("none below", step.smallest_move),
        ("both ways within", step.hysteresis),
        ("off the line at most", step.straightness),
    ):
        said += [f"{name} {value_words(limit, unit)}"] if limit is not None else []
    if step.timed is not None:
        ends = f"{speak_number(step.timed.from_)} to {value_words(step.timed.to, unit)}"
        said.append(f"{ends} within {value_words(step.timed.within_seconds, 's')}")
    return "; ".join([step.direction, *said])


def verdict_words(verdict: Verdict | None) -> str:
    """After a value: inside, outside by how much, undecided; nothing where it was not checked."""
    if verdict is None or verdict.result == "unchecked":
        return ""
    if verdict.result == "pass":
        return "inside"
    if verdict.result == "indeterminate":
        return "undecided, too near the limit for this meter"
    if verdict.margin is None or verdict.unit is None:
        return "outside"
    side = "below" if verdict.nearest == "lower" else "above"
    return f"outside, {value_words(_short(verdict.margin), verdict.unit)} {side} the limit"


def announcement(step: Step, number: int, of: int) -> tuple[str, ...]:
    """What is said when a step begins, its cautions first."""
    return (*(f"Caution: {each}" for each in step.cautions), f"Step {number} of {of}. {step.say}")


def point_words(step: Step, label: str) -> str:
    """Which point of a step is next."""
    return f"Cavity {label}." if isinstance(step, Wire) else f"{label}."


def order_words(step: Tighten) -> str:
    """The fasteners in their order, and the share of the first round where there are several."""
    order = f"In this order: {', '.join(step.order)}."
    if len(step.rounds) == 1:
        return order
    return f"{order} First all of them to {step.rounds[0]} percent; say next when it is done."


def wire_words(cavity: str, entry: Entry) -> str:
    """A wire read back: "Cavity 3, white with blue tracer"."""
    return f"Cavity {cavity}, {speak(replace(entry, pins=(), label=None))}"


def judged_words(value: str, verdict: Verdict | None) -> str:
    """A value read back with its verdict: "Ninety ohms: inside"."""
    words = verdict_words(verdict)
    return f"{value}: {words}" if words else value


def sentence(text: str) -> str:
    """So that what is said one after the other reads as sentences."""
    text = text.strip()
    if not text:
        return text
    text = text[:1].upper() + text[1:]
    return text if text.endswith((".", "?", "!", ":")) else f"{text}."


def choice_words(step: Observe) -> str:
    """The choices with their numbers, which are quick to type and easy to hear."""
    return ", ".join(f"{number} {each}" for number, each in enumerate(step.choices, 1))


def wanted_words(
    step: Step, label: str | None, round_left: str | None = None, *, running: bool = False
) -> str:
    """What a step is waiting for.

    label: the point, fastener or cavity that is next. round_left: the share in percent of a round
    of tightening that is not done yet. running: whether the step's timer is.
    """
    match step:
        case Tighten() if round_left is not None:
            return f"next, when all are at {round_left} percent"
        case Caution():
            return "confirmed, or stop"
        case Observe():
            return choice_words(step)
        case Measure():
            return f"a reading in {unit_words(step.unit)}"
        case Points() | Tighten():
            return f"a reading in {unit_words(step.unit)} for {label or 'a point'}"
        case Travel():
            return f"readings in {unit_words(step.unit)}, and next after the last"
        case Wire() if label is None:
            return "confirmed, or scratch that"
        case Wire():
            return f"the colours in cavity {label}"
        case Part(serial="required"):
            return "a serial number"
        case Part():
            return "a serial number, or next if there is none"
        case Photo():
            return "a picture"
        case Timed() if not running:
            return "start the timer"
        case Timed(mode="wait"):
            return "nothing: it goes on by itself when the time is up"
        case Timed():
            return "next, when it is done"
        case Remark():
            return "a remark"
    return "next"


def unit_words(unit: str) -> str:
    """A unit in words ("ohms")."""
    spoken = UNITS[unit].spoken
    return spoken[0] if spoken else UNITS[unit].symbol


def entry_words(entry: Mapping[str, Any]) -> str:
    """A stored entry read back."""
    what = restored(entry)
    if what.kind == "wire" and len(what.pins) == 1:
        return wire_words(what.pins[0], what)
    return speak(what)


def answer_words(kind: str, body: Mapping[str, Any]) -> str:
    """A record read back with its verdict; a wire is the same or not, a choice good or not."""
    words, stated = entry_words(body["entry"]), body.get("verdict")
    if stated is None:
        return words
    told = WIRED if kind == "wire" else CHOSEN if body.get("choice") else None
    if told is None:
        return judged_words(words, Verdict.from_json(stated))
    result = told.get(stated["result"], "").lower()
    return f"{words}: {result}" if result else words


def _short(margin: str) -> str:
    """A distance to at most three digits for the ear; the record keeps it whole."""
    size = abs(Decimal(margin))
    if not size:
        return "0"
    places = max(0, 2 - size.adjusted())
    return written(Fraction(round(size, places)))
