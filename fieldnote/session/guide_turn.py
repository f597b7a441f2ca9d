"""One event being handled: the state as it grows, and the effects so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from fieldnote.acceptance import Verdict
from fieldnote.language import Entry
from fieldnote.procedure import Step
from fieldnote.procedure.steps import Observe
from fieldnote.session.guide_candidates import same_kind
from fieldnote.session.guide_events import Effect, Said, Say, State, Store, Stored
from fieldnote.session.guide_wording import sentence

ANSWERS = {"reading", "wire"}
"""Kinds of record that answer an open question of their step."""


class Turn:
    """state: already holds what was stored. at: the event's time."""

    def __init__(self, state: State, at: datetime) -> None:
        self.state, self.at = state, at
        self.effects: list[Effect] = []

    @classmethod
    def of(cls, state: State) -> Turn:
        """To look at a state, where nothing happens."""
        return cls(state, state.stored[-1].at)

    def say(self, text: str, tone: str | None = None, *, of_step: bool = False) -> None:
        self.effects.append(Say(sentence(text), tone, of_step))

    def store(
        self,
        kind: str,
        body: Mapping[str, Any],
        refers_to: int | None = None,
        evidence: tuple[str, ...] = (),
    ) -> Stored:
        asked = self.question(body.get("step"), about=body.get("entry") or {})
        answers = kind in ANSWERS or "choice" in body or "part" in body
        if asked is not None and asked.body.get("command") and answers and not _offers(asked, body):
            self.store("withdrawal", {"why": "asked again"}, asked.number)
        elif asked is not None and refers_to is None and answers and _fits(asked.body, body):
            refers_to = asked.number
        elif asked is not None and kind == "question" and not body.get("misplaced"):
            self.store("withdrawal", {"why": "asked again"}, asked.number)
        number = self.state.stored[-1].number + 1 if self.state.stored else 1
        record = Stored(number, kind, body, self.at, refers_to)
        self.state = replace(self.state, stored=(*self.state.stored, record))
        self.effects.append(Store(kind, body, refers_to, evidence))
        return record

    def question(
        self,
        step: str | None,
        *,
        misplaced: bool = False,
        about: Mapping[str, Any] = MappingProxyType({}),
    ) -> Stored | None:
        """The step's latest question that nothing has answered yet.

        misplaced: also what was clear but belongs to another step. about: an entry; a question
        about another pin or point of the step than it names is passed over.
        """
        gone = {r.refers_to for r in self.state.stored if r.kind == "withdrawal"}
        answered = {r.refers_to for r in self.state.stored if r.number not in gone}
        for record in reversed(self.state.stored):
            if record.kind != "question" or record.body.get("step") != step:
                continue
            counts = misplaced or not record.body.get("misplaced")
            counts = counts and _same_place(record.body.get("entry") or {}, about)
            if counts and record.number not in gone | answered:
                return record
        return None

    def ask(self, what: str | None, by: Said | None = None) -> None:
        self.state = replace(self.state, asking=what, asked_by=by)


def _same_place(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two entries can be about the same point: neither names another pin or label."""
    return all(
        not one.get(key) or not other.get(key) or list(one[key]) == list(other[key])
        for key in ("pins", "label")
    )


def _offers(question: Stored, answer: Mapping[str, Any]) -> bool:
    """Whether an answer is one of the readings that a question offered."""
    given = answer.get("entry") or {}
    return any(
        each.get("value") == given.get("value") and each.get("unit") == given.get("unit")
        for each in question.body.get("offered", ())
    )


def _fits(question: Mapping[str, Any], answer: Mapping[str, Any]) -> bool:
    """Whether an answer can be what the question was about: a unit of the same kind."""
    asked = (question.get("entry") or {}).get("unit")
    given = (answer.get("entry") or {}).get("unit")
    return same_kind(asked, given)


def body_of(entry: Entry, step: Step | None, source: Mapping[str, Any]) -> dict[str, Any]:
    """The body of a record that holds an entry, with nothing judged yet."""
    return {
        "entry": entry.to_json(),
        "step": None if step is None else step.id,
        "source": {"how": "typed", **source},
        "window": None,
        "verdict": None,
        "meter": None,
    }


def choice_body(step: Observe, choice: str, source: Mapping[str, Any]) -> dict[str, Any]:
    """The body of a record that holds one of an observation's choices."""
    good = f"good: {', '.join(step.good)}" if step.good else ""
    verdict = Verdict(step.result(choice), None, None, good)
    entry = Entry("remark", text=choice)
    return body_of(entry, step, source) | {"choice": choice, "verdict": verdict.to_json()}
