"""Any session, whatever is said and shown in it, is brought back from its log to the same state."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldnote.acceptance.travel import TravelPoint
from fieldnote.errors import BadInputError
from fieldnote.language import Entry, parse
from fieldnote.procedure import Step, load, load_register, shipped
from fieldnote.procedure.steps import (
    Caution,
    Derived,
    Observe,
    Part,
    Photo,
    Points,
    Remark,
    Timed,
    Travel,
    Wire,
)
from fieldnote.session.guide import Guide
from fieldnote.session.guide_events import (
    Event,
    Measured,
    Pictured,
    Said,
    Scanned,
    State,
    Store,
    Stored,
    Ticked,
)

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
REGISTER = load_register()

WORDS = [
    "confirmed", "next", "back", "skip", "no", "repeat", "scratch that", "pause", "resume", "stop",
    "what is the limit", "last value", "start the timer", "stop the timer", "how long", "mark",
    "where am i", "help", "take a picture", "the first one", "the second one", "volts", "ohms",
    "12 volts", "24 V", "plain gauge", "up to 500 V", "one", "two", "three", "ninety ohms",
    "about ninety ohms", "ten six ohms", "open circuit", "short circuit", "ten point four bar",
    "cylinder two ten point nine bar", "eleven, ten, twelve, eleven bar", "five point zero volts",
    "no, make that five point four bar", "nine hundred megohms", "fifty percent", "2 degrees",
    "twenty degrees celsius", "48 newton meters", "bolt one 48.0 newton meters", "sound", "clean",
    "cavity one red", "cavity two black", "cavity three white with blue tracer", "red",
    "note something odd", "terminal is broken off", "four one seven", "hand me that", "",
]  # fmt: skip

UNCLEAR = [
    Entry("unclear", value="13", unit="Ohm", reason="thirteen ohms or thirty ohms?", text="13"),
    Entry("unclear", value="2.46", reason="is it mV or V?", text="2.46"),
    Entry("unclear", value="4", unit="bar", reason="four bar or pause?", text="four bar"),
    Entry("unclear", reason="withdraw or stop?", text="undo"),
]

spoken = st.tuples(st.just("say"), st.sampled_from(WORDS))
events = st.one_of(
    spoken,
    spoken,
    spoken,
    st.tuples(st.just("mumble"), st.sampled_from(UNCLEAR)),
    st.tuples(st.just("wait"), st.sampled_from([0.5, 30.0, 700.0])),
    st.tuples(st.sampled_from(["picture", "scan", "travel"]), st.just("")),
    st.tuples(st.just("answer"), st.sampled_from(["5", "90", "11.0"])),
    st.tuples(st.just("answer"), st.sampled_from(["5", "90", "11.0"])),
)


def answer(step: Step | None, value: str) -> tuple[str, Any]:
    """What the step asks for, so that sessions come far."""
    match step:
        case Caution():
            return "say", "confirmed"
        case Observe():
            return "say", "one"
        case Wire():
            return "say", f"cavity {value[0]} red"
        case Remark():
            return "say", "note all well"
        case Timed():
            return "say", "start the timer"
        case Photo():
            return "picture", ""
        case Part():
            return "scan", ""
        case Travel():
            return "travel", ""
        case None:
            return "say", "back"
    return "read", Entry("reading", value=value, unit=step.unit, text=value)


def event_of(what: tuple[str, Any], guide: Guide, state: State, now: datetime) -> Event:
    if what[0] == "answer":
        what = answer(guide.view(state, now).step, what[1])
    match what:
        case "read", entry:
            return Said(entry, now, {"how": "typed"})
        case "say", words:
            entry = parse(words, guide.context(state))
            return Said(entry, now, {"how": "voice", "heard": words}, ("a clip",))
        case "mumble", entry:
            return Said(entry, now, {"how": "voice", "heard": entry.text}, ("a clip",))
        case "picture", _:
            return Pictured(now, ("a picture",), "as left")
        case "scan", _:
            return Scanned("INV-0042", now, ("a picture",))
        case "travel", _:
            points = tuple(TravelPoint(str(v), str(v), str(v)) for v in range(0, 90, 10))
            return Measured(points, now, {"how": "typed"}, ("a file",))
    return Ticked(now)


def from_log(state: State) -> State:
    """What a log gives back: bodies through JSON, and nothing but the records."""
    return State(tuple(replace(r, body=json.loads(json.dumps(r.body))) for r in state.stored))


@pytest.mark.parametrize("facts", [{}, {"system": "24 V", "meter": "bench-meter"}])
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(name=st.sampled_from(shipped()), session=st.lists(events, max_size=50))
def test_any_session_is_brought_back_from_its_log(
    facts: dict[str, str], name: str, session: list[tuple[str, Any]]
) -> None:
    guide = Guide(load(name), facts, REGISTER)
    state = guide.replay([Stored(1, "start", facts, START)])
    now = START
    for what in session:
        now += timedelta(seconds=what[1] if what[0] == "wait" else 3)
        event = event_of(what, guide, state, now)
        before = state
        state, effects = guide.take(state, event)

        # Each record that was handed out is in the state, in order, and nothing else is.
        stores = [each for each in effects if isinstance(each, Store)]
        written = state.stored[len(before.stored) :]
        assert [(s.kind, s.body, s.refers_to) for s in stores] == [
            (r.kind, r.body, r.refers_to) for r in written
        ]
        assert [r.number for r in state.stored] == list(range(1, len(state.stored) + 1))

        # A crash here: a new guide, made of the log alone, stands at the same place.
        again = Guide(load(name), facts, REGISTER)
        back = again.replay(from_log(state).stored)
        assert again.results(back) == guide.results(state)
        assert again.context(back) == guide.context(state)
        assert again.wanted(back) == guide.wanted(state)
        seen, was = again.view(back, now), guide.view(state, now)
        assert replace(seen, asking=None, lines=()) == replace(was, asking=None, lines=())
        assert [r.number for r in seen.lines] == [r.number for r in was.lines]

        # And it goes on alike, but for a question just asked and a countdown just spoken.
        if before.asking is None and not before.told:
            fresh = Guide(load(name), facts, REGISTER)
            _, repeated = fresh.take(fresh.replay(from_log(before).stored), event)
            assert repeated == effects


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(name=st.sampled_from(shipped()), cut=st.integers(min_value=1, max_value=60))
def test_a_crash_between_any_two_records_leaves_nothing_out(name: str, cut: int) -> None:
    """Power fails after so many records, in the middle of a turn or not; the job is finished."""
    procedure = load(name)
    facts = {fact: each.choices[0] for fact, each in procedure.facts.items()}
    guide, now = Guide(procedure, facts), START
    state = guide.replay([Stored(1, "start", facts, START)])
    crashed = False
    for _ in range(200):
        step = guide.view(state, now).step
        if step is None:
            break
        now += timedelta(seconds=700)
        before = state
        ways = [answer(step, "11.0"), ("say", "next"), ("say", "note left out"), ("wait", 1)]
        for what in ways[state.stored[-1].kind == "question" :]:
            state, _ = guide.take(state, event_of(what, guide, state, now))
            if not crashed and len(state.stored) > cut:
                crashed, guide = True, Guide(procedure, facts)
                state = guide.replay(from_log(state).stored[:cut])
                break
            if state != before:
                break
    assert guide.view(state, now).step is None, "the job never comes to its end"
    # What is worked out is on record, once, wherever what it needs is.
    place = guide.course.place(state)
    for step in guide.course.steps:
        kept = place.answers.get(step.id, [])
        if isinstance(step, Derived):
            try:
                guide.moves.derived(place, step)
            except BadInputError:
                continue
            reached = step.id in {each.body.get("from") for each in state.stored}
            assert len(kept) == reached
        if isinstance(step, Points) and step.spread is not None and kept:
            assert sum(bool(each.body.get("spread")) for each in kept) == 1
