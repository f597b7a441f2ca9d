"""Going from step to step, and the steps that need no one: derived values and decisions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from fieldnote.acceptance import Verdict, judge
from fieldnote.errors import BadInputError
from fieldnote.language import Entry, speak
from fieldnote.procedure import Step, derive, judge_points
from fieldnote.procedure.steps import END, Decide, Derived, Points, Tighten, Wire
from fieldnote.session.guide_course import Course, Place
from fieldnote.session.guide_events import Said, State
from fieldnote.session.guide_turn import Turn, body_of
from fieldnote.session.guide_wording import (
    TONES,
    announcement,
    judged_words,
    order_words,
    point_words,
)

BY_ITSELF = (Derived, Decide)


@dataclass(frozen=True, slots=True)
class Found:
    """Something worked out from readings, and the body of its record."""

    entry: Entry
    verdict: Verdict
    body: dict[str, Any]


class Moves:
    """Stores where the job goes, and says it."""

    def __init__(self, course: Course) -> None:
        self.course = course

    def move(self, turn: Turn, here: int, move: str, by: Said | None = None, **more: Any) -> None:
        """by: the words that led to it, where they must stand up later: a caution confirmed, a
        step skipped."""
        left, step = self.course.step(self.course.place(turn.state).here), self.course.step(here)
        turn.ask(None)
        turn.state = replace(turn.state, told=frozenset())
        body = {"step": step.id if step else None, "move": move, "from": left and left.id, **more}
        if by is not None:
            body["source"] = {"how": "typed", **by.source}
        turn.store("step", body, evidence=() if by is None else by.evidence)

    def go_on(self, turn: Turn, by: Said | None = None, **more: Any) -> None:
        """Leave the current step for the next."""
        self.move(turn, self.course.place(turn.state).here + 1, "next", by, **more)
        self.run_on(turn)

    def run_on(self, turn: Turn) -> None:
        """Do the steps that need no one, up to the next that does; announce that."""
        while isinstance(step := self.course.step(self.course.place(turn.state).here), BY_ITSELF):
            if isinstance(step, Derived):
                self._derive(turn, step)
            else:
                self._decide(turn, step)
        self.announce(turn, self.course.place(turn.state).here)

    def announce(self, turn: Turn, here: int) -> None:
        step = self.course.step(here)
        if step is None:
            turn.say(self.summary(turn.state), "good")
            return
        for words in announcement(step, here + 1, len(self.course.steps)):
            turn.say(words, of_step=True)
        if not isinstance(step, Points | Tighten | Wire):
            return
        place = self.course.place(turn.state)
        wanted = self.course.next_label(step, place)
        if isinstance(step, Tighten) and not place.round and step.id not in place.answers:
            turn.say(order_words(step))
            if len(step.rounds) > 1:
                return
        if wanted is not None:
            turn.say(point_words(step, wanted))

    def summary(self, state: State) -> str:
        found = list(self.course.results(state).values())
        outside, undecided = found.count("fail"), found.count("indeterminate")
        return (
            f"That was the last step. {outside} outside, {undecided} undecided,"
            f" {found.count('pass')} inside. Say stop to end."
        )

    def _derive(self, turn: Turn, step: Derived) -> None:
        place = self.course.place(turn.state)
        last = turn.state.stored[-1]
        if last.kind == "reading" and last.body.get("step") == step.id:
            self.move(turn, place.here + 1, "next")  # a crash came between the two records
            return
        try:
            found = self.derived(place, step)
        except BadInputError as error:
            turn.say(f"{step.say}: {error}", "ask")
            self.move(turn, place.here + 1, "skip", why=str(error))
            return
        turn.store("reading", found.body)
        words = judged_words(speak(found.entry), found.verdict)
        turn.say(f"{step.say}: {words}", TONES[found.verdict.result])
        self.move(turn, place.here + 1, "next")

    def derived(self, place: Place, step: Derived) -> Found:
        """The value of a derived step, worked out from the readings that stand.

        Raises:
            BadInputError: a reading that it needs is missing, or there is no result.
        """
        values, uncertainties = self.course.values(place)
        result, shown = derive(step, values, uncertainties)
        chosen = step.choose(self.course.facts, values)
        verdict = judge(result.quantity, chosen.window, result.uncertainty)
        entry = Entry(
            "reading", value=result.quantity.digits, unit=step.unit, text=shown, unit_from="step"
        )
        body = body_of(entry, step, {"how": "derived", "formula": shown})
        window = None if chosen.window is None else chosen.window.to_json()
        body |= {"window": window, "verdict": verdict.to_json(), "limit_why": chosen.why}
        return Found(entry, verdict, body)

    def spread(self, place: Place, step: Points) -> Found | None:
        """Highest less lowest of the points; None where that has no limit or a point no number."""
        values, _ = self.course.values(place)
        taken = {}
        for record in place.answers.get(step.id, []):
            reading = self.course.taken(step, record)
            if reading is not None:
                taken[record.body["entry"]["label"]] = reading
        if step.spread is None or len(taken) < len(step.points):
            return None  # an open circuit has no number to compare
        _, verdict = judge_points(step, step.choose(self.course.facts, values), taken)
        assert verdict is not None  # the step has a spread
        entry = Entry(
            "reading",
            value=verdict.value,
            unit=step.unit,
            label="spread",
            text="highest less lowest",
        )
        source = {"how": "derived", "formula": f"highest less lowest of {step.id}"}
        body = body_of(entry, step, source) | {"spread": True, "verdict": verdict.to_json()}
        return Found(entry, verdict, body)

    def _decide(self, turn: Turn, step: Decide) -> None:
        here = self.course.place(turn.state).here
        row = step.row(self.course.results(turn.state))
        if row is None:
            self.move(turn, here + 1, "next", conclusion="nothing is concluded")
            return
        turn.say(row.say)
        target = here + 1
        if row.then is not None:
            target = (
                len(self.course.steps)
                if row.then == END
                else self.course.index.get(row.then, target)
            )
        self.move(turn, target, "next", conclusion=row.say)

    def store_reading(
        self,
        turn: Turn,
        step: Step,
        entry: Entry,
        source: Mapping[str, Any],
        evidence: tuple[str, ...],
        verdict: Verdict | None,
        window: Any,
        why: str,
    ) -> None:
        meter = self.course.meter_for(step, entry.unit or step.unit)
        body = body_of(entry, step, source) | {
            "window": None if window is None else window.to_json(),
            "verdict": None if verdict is None else verdict.to_json(),
            "limit_why": why,
            "meter": None if meter is None or source.get("how") == "derived" else meter.id,
        }
        turn.store("reading", body, evidence=evidence)
