"""Where a guided job stands, worked out from its stored records and nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from fractions import Fraction
from typing import Any

from fieldnote.acceptance import Quantity, Result, Verdict
from fieldnote.acceptance.exact import written
from fieldnote.language import Entry
from fieldnote.procedure import (
    Instrument,
    Procedure,
    Register,
    Step,
    Taken,
    values_of,
    wire_differences,
)
from fieldnote.procedure.steps import (
    Measure,
    Observe,
    Part,
    Photo,
    Points,
    Remark,
    Tighten,
    Wire,
)
from fieldnote.session.guide_events import State, Stored
from fieldnote.session.judging import uncertainty_of

_TAKEN = {"reading", "remark", "wire", "photo"}
_WORST_FIRST: tuple[Result, ...] = ("fail", "indeterminate", "pass", "unchecked")


@dataclass(slots=True)
class Place:
    """here: index of the step, past the last one at the end. started: when its timer was started.

    round: rounds of a tightening done. answers: records that count, by step id. asides: what was
    noted or photographed in between, which answers no step.
    """

    here: int = 0
    paused: bool = False
    started: datetime | None = None
    round: int = 0
    answers: dict[str, list[Stored]] = field(default_factory=dict)
    asides: list[Stored] = field(default_factory=list)

    @property
    def in_order(self) -> list[Stored]:
        """All answers and asides that count, oldest first."""
        answers = [record for all_ in self.answers.values() for record in all_]
        return sorted([*answers, *self.asides], key=lambda record: record.number)


def points_of(step: Points | Tighten | Wire) -> tuple[str, ...]:
    """The points, fasteners or cavities that each want an answer, in order."""
    return step.cavities if isinstance(step, Wire) else step.labels


def _answers(step: Step, record: Stored) -> bool:
    """Whether a record is what the step asked for, and not something noted on the way."""
    match step:
        case Observe():
            return "choice" in record.body
        case Part():
            return "part" in record.body
        case Remark():
            return record.kind == "remark" and not record.body.get("mark")
        case Photo():
            return record.kind == "photo"
        case Wire():
            return record.kind == "wire"
    return record.kind == "reading"


class Course:
    """The steps of one job, and what its records make of them.

    Facts that the procedure needs and the job's start does not tell are asked for before its first
    step, by steps of their own; as they choose limits and steps, `facts`, `steps` and `index` are
    those of the records that `place` saw last.

    Args:
        procedure: what is to be done. facts: the job's facts; `meter` names the instrument.
        register: the instruments known; a meter that is not in it has no uncertainty.
    """

    def __init__(
        self, procedure: Procedure, facts: Mapping[str, Any], register: Register | None
    ) -> None:
        self.procedure = procedure
        self.asked = tuple(
            fact.step(name)
            for name, fact in procedure.facts.items()
            if not fact.takes(facts.get(name))
        )
        unknown = {step.id for step in self.asked}
        self._given = {name: value for name, value in facts.items() if name not in unknown}
        self._know({})
        self.meters = {each.id: each for each in register.instruments} if register else {}

    def _know(self, answered: Mapping[str, str]) -> None:
        self._answered = answered
        self.facts: Mapping[str, Any] = {**self._given, **answered}
        self.steps: Sequence[Step] = (*self.asked, *self.procedure.steps_for(self.facts))
        self.index = {step.id: number for number, step in enumerate(self.steps)}

    def place(self, state: State) -> Place:
        answered = self._facts_in(state)
        if answered != self._answered:
            self._know(answered)
        place = Place()
        owner: dict[int, Stored] = {}
        for record in state.stored:
            step_id = record.body.get("step")
            if record.kind == "step":
                self._follow(place, record, step_id)
            elif record.kind in _TAKEN and (step_id is None or step_id in self.index):
                owner[record.number] = record
                if step_id is not None and _answers(self.steps[self.index[step_id]], record):
                    place.answers.setdefault(step_id, []).append(record)
                else:
                    place.asides.append(record)
            elif record.kind in {"correction", "withdrawal"} and record.refers_to in owner:
                self._amend(place, owner, record)
        place.answers = {step_id: records for step_id, records in place.answers.items() if records}
        return place

    def _facts_in(self, state: State) -> dict[str, str]:
        """The facts that the job's records tell, by name; of two answers the later counts."""
        if not self.asked:
            return {}
        asked = {step.id: step for step in self.asked}
        told: dict[int, tuple[str, str]] = {}
        for record in state.stored:
            body = record.body
            if record.kind in {"withdrawal", "correction"} and record.refers_to is not None:
                told.pop(record.refers_to, None)
            step = asked.get(str(body.get("step")))
            if step is None or record.kind not in {"reading", "remark", "correction"}:
                continue
            if isinstance(step, Observe) and "choice" in body:
                told[record.number] = (step.id, str(body["choice"]))
            elif isinstance(step, Measure) and (body.get("entry") or {}).get("kind") == "reading":
                quantity = Quantity(body["entry"]["value"], body["entry"]["unit"])
                told[record.number] = (step.id, written(quantity.to(step.unit)))
        return dict(told.values())

    def step_named(self, step_id: str) -> Step | None:
        """The step of that id, also one that asks for a fact."""
        asked = next((step for step in self.asked if step.id == step_id), None)
        return asked or self.procedure.step(step_id)

    def is_fact(self, step: Step) -> bool:
        return step.id in self.procedure.facts

    @property
    def labels(self) -> tuple[str, ...]:
        """All names that may be said in the job, whichever of its steps will be done."""
        every = (*self.asked, *self.procedure.steps)
        return tuple(dict.fromkeys(label for each in every for label in each.labels))

    def _follow(self, place: Place, record: Stored, step_id: Any) -> None:
        here = len(self.steps) if step_id is None else self.index.get(step_id, place.here)
        if here != place.here:
            place.started, place.round = None, 0
        place.here = here
        match record.body:
            case {"move": "pause"}:
                place.paused = True
            case {"move": "resume"}:
                place.paused = False
            case {"timer": "start"}:
                place.started = record.at
            case {"timer": "stop"}:
                place.started = None
            case {"round": number}:
                place.round = int(number)

    @staticmethod
    def _amend(place: Place, owner: dict[int, Stored], record: Stored) -> None:
        assert record.refers_to is not None  # the caller looked it up
        old = owner[record.refers_to]
        answers = place.answers.get(old.body["step"], place.asides)
        if old in place.asides:
            answers = place.asides
        if old not in answers:
            return  # withdrawn already
        if record.kind == "withdrawal":
            answers.remove(old)
        else:
            body = {**old.body, **record.body}
            new = replace(old, number=record.number, body=body, at=record.at)
            answers[answers.index(old)] = new
            owner[record.number] = new

    def step(self, here: int) -> Step | None:
        return self.steps[here] if here < len(self.steps) else None

    def meter(self, step: Step | None) -> Instrument | None:
        named = getattr(step, "meter", None)
        if named is None:
            named = self.facts.get("meter")
            named = named.get("id") if isinstance(named, Mapping) else named
        return self.meters.get(str(named))

    def meter_for(self, step: Step | None, unit: str | None) -> Instrument | None:
        """The step's meter, unless its specification says that it cannot measure this unit."""
        meter = self.meter(step)
        accuracy = meter.accuracy if meter is not None else None
        if accuracy is not None and unit is not None and accuracy.reach(unit) is None:
            return None
        return meter

    def values(self, place: Place) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
        taken = {}
        for step_id, records in place.answers.items():
            readings = [self.taken(self.steps[self.index[step_id]], r) for r in records]
            taken[step_id] = [each for each in readings if each is not None]
        return values_of(self.procedure, self.facts, taken)

    def taken(self, step: Step, record: Stored) -> Taken | None:
        entry = record.body.get("entry") or {}
        if entry.get("kind") != "reading" or record.body.get("spread"):
            return None
        quantity = Quantity(entry["value"], entry["unit"])
        if record.body["source"].get("how") == "derived":
            return Taken(quantity)
        meter = self.meter_for(step, quantity.unit)
        u = uncertainty_of(quantity, meter, entry.get("current"), record.body["source"])
        return Taken(quantity, u)

    def labels_done(self, step: Points | Tighten | Wire, place: Place) -> set[str]:
        done = set()
        for record in place.answers.get(step.id, []):
            entry = record.body["entry"]
            done.add(entry["pins"][0] if isinstance(step, Wire) else entry["label"])
        return done

    def next_label(self, step: Points | Tighten | Wire, place: Place) -> str | None:
        done = self.labels_done(step, place)
        return next((each for each in points_of(step) if each not in done), None)

    def wires(self, place: Place, step_id: str) -> dict[str, str]:
        records = place.answers.get(step_id, [])
        return {r.body["entry"]["pins"][0]: r.body["entry"]["colour"] for r in records}

    def wire_verdict(self, place: Place, step: Wire, entry: Entry) -> Verdict:
        """A wire against what is expected in its cavity, or what was there before.

        entry: its first pin is the cavity.
        """
        cavity = entry.pins[0]
        before = self.wires(place, step.same_as) if step.same_as else None
        only = step.model_copy(update={"cavities": (cavity,)})
        wrong = wire_differences(only, {cavity: str(entry.colour)}, before)
        checked = bool((step.expect or {}).get(cavity) or (before or {}).get(cavity))
        result: Result = "unchecked" if not checked else "fail" if wrong else "pass"
        return Verdict(result, None, None, str(wrong[0]) if wrong else "same colours" * checked)

    def results(self, state: State) -> dict[str, Result]:
        """The verdict on each step that has one.

        Of a step with several points the worst counts; of one that was answered again, the last
        answer. Earlier answers stay on record.
        """
        place = self.place(state)
        out: dict[str, Result] = {}
        for step_id, records in place.answers.items():
            step = self.steps[self.index[step_id]]
            counting = records if isinstance(step, Points | Tighten | Wire) else records[-1:]
            found = [r.body["verdict"]["result"] for r in counting if r.body.get("verdict")]
            for result in _WORST_FIRST:
                if result in found:
                    out[step_id] = result
                    break
        return out
