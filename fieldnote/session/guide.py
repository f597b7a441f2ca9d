"""The guided job: a pure state machine. Events in, effects out; the log alone brings it back.

Where a job stands is worked out from its stored records (`State.stored`), each of which `take`
hands out as a `Store` effect at the moment it counts it. So a job read back from its log is in the
same state as the one that wrote it, and a crash loses nothing but a question just asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from fieldnote.acceptance import Result
from fieldnote.errors import BadInputError
from fieldnote.language import Context, Entry
from fieldnote.procedure import Instrument, Procedure, Register, Step
from fieldnote.procedure.steps import (
    Caution,
    Measure,
    Observe,
    Part,
    Points,
    Tighten,
    Timed,
    Travel,
    Wire,
)
from fieldnote.session.guide_answers import Answers
from fieldnote.session.guide_clock import Clock
from fieldnote.session.guide_course import Course, Place
from fieldnote.session.guide_events import (
    Effect,
    End,
    Event,
    Measured,
    Pictured,
    Said,
    Scanned,
    Snap,
    State,
    Stored,
    Ticked,
)
from fieldnote.session.guide_moves import BY_ITSELF, Moves
from fieldnote.session.guide_turn import Turn, body_of
from fieldnote.session.guide_wording import (
    HELP,
    answer_words,
    entry_words,
    limit_of_time,
    travel_limits,
    wanted_words,
    window_words,
)
from fieldnote.session.judging import window_for


@dataclass(frozen=True, slots=True)
class View:
    """What a screen shows.

    title: the procedure's. step: None at the end. wanted: what would answer it, in words.
    lines: latest answers, newest last.
    """

    title: str
    step: Step | None
    wanted: str
    number: int
    of: int
    asking: str | None
    paused: bool
    timer: float | None
    lines: tuple[Stored, ...]


class Guide:
    """Leads through one job.

    Args:
        procedure: what is to be done.
        facts: the job's facts, as its start record holds them; `meter` names the instrument.
        register: the instruments known; a meter that is not in it has no uncertainty.
    """

    def __init__(
        self, procedure: Procedure, facts: Mapping[str, Any], register: Register | None = None
    ) -> None:
        self.course = Course(procedure, facts, register)
        self.moves = Moves(self.course)
        self.answers = Answers(self.course, self.moves)
        self.clock = Clock(self.moves)

    def replay(self, records: Iterable[Stored]) -> State:
        """The state that these records left."""
        return State(tuple(records))

    def announce(self, state: State, now: datetime) -> tuple[Effect, ...]:
        """What is said at the start, or when a job is taken up again. It changes nothing."""
        turn, place = Turn(state, now), self.course.place(state)
        if not place.answers and place.here == 0:
            for caution in self.course.procedure.cautions:
                turn.say(f"Caution: {caution}")
        meter = self.course.meter(None)
        if meter is not None and (meter.due is None or meter.overdue(now.date())):
            turn.say(meter.standing(now.date()), "ask")
        if place.paused:
            turn.say("The job is paused. Say resume.")
        else:
            self.moves.announce(turn, place.here)
        return tuple(turn.effects)

    def context(self, state: State) -> Context:
        """What the ear and the eye may know of the current step; never its limits."""
        step = self.course.step(self.course.place(state).here)
        unit = step.unit if step is not None else None
        choices = step.choices if isinstance(step, Observe) else ()
        return Context(
            unit=unit,
            kind=unit,
            labels=self.course.labels,
            choices=choices,
            question=step is not None and Turn.of(state).question(step.id) is not None,
        )

    def meter(self, state: State) -> Instrument | None:
        """The instrument for the current step: its own, else the job's."""
        return self.course.meter(self.course.step(self.course.place(state).here))

    def view(self, state: State, now: datetime) -> View:
        """What a screen shows now."""
        place = self.course.place(state)
        answers = place.in_order
        step = self.course.step(place.here)
        return View(
            title=self.course.procedure.title,
            step=step,
            wanted="" if step is None else self._wanted(place, step),
            number=min(place.here + 1, len(self.course.steps)),
            of=len(self.course.steps),
            asking=state.asking,
            paused=place.paused,
            timer=None if place.started is None else (now - place.started).total_seconds(),
            lines=tuple(answers[-8:]),
        )

    def wanted(self, state: State) -> str:
        """Which step is waiting, and for what."""
        place = self.course.place(state)
        step = self.course.step(place.here)
        if step is None:
            return "The last step is done. Say stop to end."
        return f"Step {place.here + 1} still wants: {self._wanted(place, step)}."

    def _wanted(self, place: Place, step: Step) -> str:
        label = round_left = None
        if isinstance(step, Points | Tighten | Wire):
            label = self.course.next_label(step, place)
        if isinstance(step, Tighten) and self.answers.rounds_left(place, step):
            round_left = step.rounds[place.round]
        return wanted_words(step, label, round_left, running=place.started is not None)

    def results(self, state: State) -> dict[str, Result]:
        """The verdict on each step that has one."""
        return self.course.results(state)

    def take(self, state: State, event: Event) -> tuple[State, tuple[Effect, ...]]:
        """Handle one event. The new state already holds what the effects ask to store."""
        turn, place = Turn(state, event.at), self.course.place(state)
        if not place.paused and isinstance(self.course.step(place.here), BY_ITSELF):
            # Only after a crash between two records of one turn does a job wait at such a step.
            self.moves.run_on(turn)
            place = self.course.place(turn.state)
        if isinstance(event, Said) and not place.paused:
            chosen = self.answers.taken_up(turn, place, event.entry)
            event = event if chosen is None else replace(event, entry=chosen)
        self._handle(turn, place, event)
        return turn.state, tuple(turn.effects)

    def _handle(self, turn: Turn, place: Place, event: Event) -> None:
        match event:
            case Ticked():
                self.clock.tick(turn, place)
            case Said(entry=Entry(kind="command")):
                self._command(turn, place, event)
            case _ if place.paused:
                turn.say("Paused. Say resume to go on.", "ask")
            case Said(entry=Entry(command="withdraw")):  # "no, make that five point four bar"
                self._withdraw(turn, place)
                said = replace(event, entry=replace(event.entry, command=None))
                self.answers.said(turn, self.course.place(turn.state), said)
            case Said():
                self.answers.said(turn, place, event)
            case Pictured():
                self.answers.pictured(turn, place, event)
            case Scanned():
                self.answers.scanned(turn, place, event)
            case Measured():
                self.answers.measured(turn, place, event)

    def _command(self, turn: Turn, place: Place, event: Said) -> None:
        command, step = event.entry.command, self.course.step(place.here)
        if place.paused and command not in {"resume", "stop", "where", "help"}:
            turn.say("Paused. Say resume to go on.", "ask")
            return
        asked, by = turn.state.asking, turn.state.asked_by or event
        turn.ask(None)
        if asked is not None and command in {"no", "back", "withdraw"}:
            turn.say("Not skipped." if asked == "why" else "Say it again, please.")
            return
        if asked is not None and command == "yes" and isinstance(step, Part):
            evidence = tuple(dict.fromkeys((*by.evidence, *event.evidence)))
            self.answers.part(turn, step, asked, by.source, evidence)
            return
        meant = self.answers.accepted(turn, place) if command == "yes" else None
        if meant is not None:
            self._handle(turn, place, replace(event, entry=meant))
            return
        misheard = turn.question(step.id) if step is not None else None
        if misheard is not None and misheard.body.get("command"):
            turn.store("withdrawal", {"why": "asked again"}, misheard.number)
        match command:
            case "next" | "yes" | "timer-stop":
                self._next(turn, place, step, event)
            case "skip":
                self._skip(turn, step)
            case "back":
                self._back(turn, place)
            case "withdraw":
                self._withdraw(turn, place)
            case "pause":
                self.moves.move(turn, place.here, "pause")
                turn.say("Paused.")
            case "resume":
                if place.paused:
                    self.moves.move(turn, place.here, "resume")
                self.moves.announce(turn, place.here)
            case "stop":
                turn.say("Stopped. The job stays open.")
                turn.effects.append(End())
            case "repeat":
                self.moves.announce(turn, place.here)
            case "limit":
                turn.say(self._limit(place, step))
            case "last":
                turn.say(self._last(place))
            case "where":
                of = len(self.course.steps)
                done = "All steps are done. Say stop to end"
                turn.say(done if step is None else f"Step {place.here + 1} of {of}. {step.say}")
            case "picture":
                turn.effects.append(Snap())
            case "timer-start":
                self.clock.start(turn, place, step)
            case "how-long":
                turn.say(self.clock.how_long(turn, place, step))
            case "mark":
                entry = Entry("remark", text="mark")
                body = body_of(entry, step, event.source) | {"mark": True}
                turn.store("remark", body, evidence=event.evidence)
                turn.say("Marked.")
            case "no" | "neither" if step is not None and self.answers.neither(turn, step):
                return
            case "no" | "neither" | "first" | "second" | "third":
                turn.say(
                    "Nothing is changed." if command == "no" else "There is nothing to choose."
                )
            case _:
                turn.say(HELP)

    def _next(self, turn: Turn, place: Place, step: Step | None, event: Said) -> None:
        command = event.entry.command
        match step:
            case None:
                self.moves.announce(turn, place.here)
            case Caution():
                if command == "yes":
                    self.moves.go_on(turn, event, acknowledged=True)
                else:
                    turn.say("A caution is to be confirmed. Say confirmed when it holds.", "ask")
            case Timed():
                self.clock.stop(turn, place, step)
            case Tighten() if self.answers.rounds_left(place, step) and command != "timer-stop":
                self.answers.round_done(turn, place, step)
            case Travel() if step.id in place.answers:
                self.answers.finish_travel(turn, place, step)
            case Part() if step.serial != "required":
                self.answers.part(turn, step, "no serial number", {"how": "typed"}, ())
            case Points() if self._done(place, step):
                self.answers.points_done(turn, place, step)
            case _ if self._done(place, step):
                self.moves.go_on(turn)
            case _ if command == "next":
                self._skip(turn, step)
            case _:
                self.moves.announce(turn, place.here)

    def _done(self, place: Place, step: Step) -> bool:
        if isinstance(step, Points | Tighten | Wire):
            return self.course.next_label(step, place) is None
        return step.id in place.answers

    def _skip(self, turn: Turn, step: Step | None) -> None:
        if step is None:
            self.moves.announce(turn, len(self.course.steps))
        elif self.course.is_fact(step):
            turn.say("This must be known: limits or steps depend on it.", "ask")
        elif isinstance(step, Caution):
            turn.say("A caution cannot be skipped. Say confirmed when it holds, or stop.", "ask")
        else:
            turn.ask("why")
            turn.say("Why is this step skipped?", "ask")

    def _back(self, turn: Turn, place: Place) -> None:
        here = place.here - 1
        while here >= 0 and isinstance(self.course.steps[here], BY_ITSELF):
            here -= 1
        if here < 0:
            turn.say("This is the first step.")
            return
        self.moves.move(turn, here, "back")
        self.moves.announce(turn, here)

    def _withdraw(self, turn: Turn, place: Place) -> None:
        step = self.course.step(place.here)
        question = turn.question(step.id, misplaced=True) if step is not None else None
        if question is not None:
            turn.store("withdrawal", {"why": "withdrawn by the speaker"}, question.number)
            turn.say("Dropped, what was not clear.")
            return
        answers = place.in_order
        by_hand = [r for r in answers if r.body["source"].get("how") != "derived"]
        if not by_hand:
            turn.say("There is nothing to withdraw.")
            return
        last = by_hand[-1]
        # What was worked out from it goes with it.
        for record in reversed([r for r in answers if r.number >= last.number]):
            turn.store("withdrawal", {"why": "withdrawn by the speaker"}, record.number)
        here = place.here
        if last not in place.asides:
            here = self.course.index[last.body["step"]]
        turn.say(f"Withdrawn: {entry_words(last.body['entry'])}.")
        if here != place.here:
            self.moves.move(turn, here, "back")
            self.moves.announce(turn, here)

    def _limit(self, place: Place, step: Step | None) -> str:
        if isinstance(step, Timed):
            return limit_of_time(step)
        if not isinstance(step, Measure | Points | Tighten | Travel):
            return "This step has no limit."
        label = None
        if isinstance(step, Points):
            label = self.course.next_label(step, place) or step.labels[-1]
        values = self.course.values(place)[0]
        try:
            chosen = step.choose(self.course.facts, values)
            window = window_for(step, Entry("reading", label=label), self.course.facts, values)
        except BadInputError as error:
            return str(error)
        if isinstance(step, Travel):
            return travel_limits(step, window)
        if window is None:
            return "No limit is given."
        point = f"{label}: " if label else ""
        why = f"; {chosen.why}" if window == chosen.window else ""
        return f"{point}{window_words(window)}{why}"

    def _last(self, place: Place) -> str:
        answers = place.in_order
        if not answers:
            return "Nothing has been taken yet."
        return answer_words(answers[-1].kind, answers[-1].body)
