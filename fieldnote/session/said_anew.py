"""What an entry should have said, judged anew: corrections and late answers to questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fieldnote.acceptance import Verdict, Window
from fieldnote.errors import BadInputError
from fieldnote.language import Context, Entry, parse
from fieldnote.procedure import Step
from fieldnote.procedure.steps import Derived, Measure, Observe, Points, Tighten, Wire
from fieldnote.session.guide import Guide
from fieldnote.session.guide_candidates import chosen_of, colour_of_cavity, restored
from fieldnote.session.guide_course import Place
from fieldnote.session.guide_events import State, Stored
from fieldnote.session.guide_turn import body_of, choice_body
from fieldnote.session.guide_wording import choice_words
from fieldnote.session.judging import verdict_of, window_for

_KIND = {"remark": "remark", "wire": "wire"}
_NOTHING = {"none", "unclear", "command"}
_ITSELF = {"derived": "worked out", "timer": "timed"}


def said_anew(
    old: Mapping[str, Any], text: str, labels: tuple[str, ...] = ()
) -> tuple[str, dict[str, Any]]:
    """The kind and the body of the record that takes an older one's place in a free job.

    Args:
        old: its body. text: what it should have said. labels: names that may be said.

    Raises:
        BadInputError: the text cannot stand there.
    """
    unit = (old.get("entry") or {}).get("unit")
    entry = _parsed(text, Context(unit=unit, kind=unit, labels=labels))
    stated = old.get("window")
    window = Window.from_json(stated) if stated else None
    return _body(entry, old, text, window, verdict_of(entry, window, None))


def said_anew_at_step(
    guide: Guide, state: State, old: Mapping[str, Any], text: str
) -> tuple[str, dict[str, Any]]:
    """The same in a job that follows a procedure: judged as its step judges.

    Raises:
        BadInputError: the text cannot stand there, or the older record was worked out.
    """
    course = guide.course
    place = course.place(state)
    step = course.step_named(str(old["step"])) if old.get("step") else None
    if step is None:
        return said_anew(old, text, course.labels)
    how = _ITSELF.get((old.get("source") or {}).get("how", ""))
    if how is not None:
        raise BadInputError(
            f"This value was {how}.", "Correct what it comes from, or measure anew."
        )
    was = old.get("entry") or {}
    if isinstance(step, Observe) and ("choice" in old or was.get("kind") == "unclear"):
        return "remark", _choice(step, text, course.labels)
    if isinstance(step, Wire):
        entry = colour_of_cavity(text, next(iter(was.get("pins") or ()), None)) or parse(text)
        if entry.kind != "wire" or not entry.pins or entry.pins[0] not in step.cavities:
            raise BadInputError(
                f"“{text}” names no wire of this step.",
                f"Name the cavity and its colours: cavity {step.cavities[0]} red.",
            )
        return _body(entry, old, text, None, course.wire_verdict(place, step, entry))
    entry = _parsed(text, Context(unit=step.unit, kind=step.unit, labels=course.labels))
    if isinstance(step, Points | Tighten) and entry.label not in step.labels:
        entry = replace(entry, label=was.get("label") or course.next_label(step, place))
    window = Window.from_json(old["window"]) if old.get("window") else None
    if window is None:
        window = window_for(step, entry, course.facts, course.values(place)[0])
    return _body(entry, old, text, window, verdict_of(entry, window, course.meter(step)))


def follow_up(guide: Guide, state: State) -> tuple[int, dict[str, Any]] | None:
    """The first record that no longer fits the readings it was worked out from: its number, and
    the body of its correction. None where all fit.

    Derived values, spreads, and readings whose limits depend on another reading.
    """
    course, place = guide.course, guide.course.place(state)
    for step in course.steps:
        for record in place.answers.get(step.id, []):
            body = _worked_out_anew(guide, place, step, record)
            if body is not None and any(
                body.get(key) != record.body.get(key) for key in ("entry", "window", "verdict")
            ):
                return record.number, body
    return None


def left_over(guide: Guide, state: State) -> list[int]:
    """Numbers of what was worked out from a reading that no longer stands, latest first."""
    course, place = guide.course, guide.course.place(state)
    gone = []
    for step in course.steps:
        for record in place.answers.get(step.id, []):
            try:
                if isinstance(step, Derived):
                    guide.moves.derived(place, step)
                elif isinstance(step, Points) and record.body.get("spread"):
                    gone += [] if guide.moves.spread(place, step) else [record.number]
            except BadInputError:
                gone.append(record.number)
    return sorted(gone, reverse=True)


def _worked_out_anew(
    guide: Guide, place: Place, step: Step, record: Stored
) -> dict[str, Any] | None:
    course = guide.course
    try:
        if isinstance(step, Derived):
            return guide.moves.derived(place, step).body
        if isinstance(step, Points) and record.body.get("spread"):
            found = guide.moves.spread(place, step)
            return None if found is None else found.body
        limits = getattr(step, "limits", None)
        if not isinstance(step, Measure | Points) or limits is None or limits.by is None:
            return None
        entry = restored(record.body["entry"])
        window = window_for(step, entry, course.facts, course.values(place)[0])
    except BadInputError:
        return None  # what it depends on has been withdrawn; it is taken again or stays as it was
    meter = course.meter_for(step, entry.unit)
    verdict = verdict_of(entry, window, meter, record.body.get("source") or {})
    return {
        **record.body,
        "window": None if window is None else window.to_json(),
        "verdict": None if verdict is None else verdict.to_json(),
    }


def _choice(step: Observe, text: str, labels: tuple[str, ...]) -> dict[str, Any]:
    entry = parse(text, Context(labels=labels, choices=step.choices))
    chosen = chosen_of(step.choices, entry)
    if len(chosen) != 1:
        raise BadInputError(
            f"“{text}” is not one of the choices.", f"They are {choice_words(step)}."
        )
    return choice_body(step, chosen[0], {"how": "typed", "heard": text})


def _parsed(text: str, context: Context) -> Entry:
    entry = parse(text, context)
    if entry.kind in _NOTHING:
        raise BadInputError(
            f"“{text}” cannot stand there: {entry.reason or 'it is no entry'}.",
            'Write the whole reading, for instance "ten point four ohms".',
        )
    return entry


def _body(
    entry: Entry,
    old: Mapping[str, Any],
    text: str,
    window: Window | None,
    verdict: Verdict | None,
) -> tuple[str, dict[str, Any]]:
    return _KIND.get(entry.kind, "reading"), {
        **body_of(entry, None, {"how": "typed", "heard": text}),
        "step": old.get("step"),
        "window": window.to_json() if window is not None else None,
        "verdict": verdict.to_json() if verdict is not None else None,
        "meter": old.get("meter"),
    }
