"""Steps against the clock: countdown, overrun, and the time taken as a reading."""

from __future__ import annotations

from dataclasses import replace

from fieldnote.acceptance import Quantity, Window, judge
from fieldnote.language import Entry, speak
from fieldnote.procedure import Step
from fieldnote.procedure.steps import Timed
from fieldnote.session.guide_course import Place
from fieldnote.session.guide_moves import Moves
from fieldnote.session.guide_turn import Turn
from fieldnote.session.guide_wording import TONES, judged_words, value_words

_COUNTDOWN = (60, 30, 10, 5, 4, 3, 2, 1)


class Clock:
    """Starts, watches and ends the timer of a step."""

    def __init__(self, moves: Moves) -> None:
        self.moves = moves

    def start(self, turn: Turn, place: Place, step: Step | None) -> None:
        if not isinstance(step, Timed):
            turn.say("This step has no timer.", "ask")
        elif place.started is not None:
            turn.say(self.how_long(turn, place, step))
        else:
            self.moves.move(turn, place.here, "begin", timer="start")
            turn.say(f"{value_words(str(step.seconds), 's')} from now")

    def stop(self, turn: Turn, place: Place, step: Timed) -> None:
        if place.started is None:
            self.start(turn, place, step)
            return
        took = (turn.at - place.started).total_seconds()
        if step.mode == "wait" and took < step.seconds:
            turn.say(self.how_long(turn, place, step))
            return
        self._timer_done(turn, place, step, took)

    def _timer_done(self, turn: Turn, place: Place, step: Timed, took: float) -> None:
        quantity = Quantity(f"{took:.1f}", "s")
        limit = str(step.seconds)
        within = step.mode == "within"
        window = Window.at_most(limit, "s") if within else Window.at_least(limit, "s")
        verdict = judge(quantity, window)
        entry = Entry("reading", value=quantity.digits, unit="s", text=step.ask)
        why = {"wait": "wait for", "hold": "hold for", "within": "done within"}[step.mode]
        self.moves.store_reading(turn, step, entry, {"how": "timer"}, (), verdict, window, why)
        turn.say(judged_words(speak(entry), verdict), TONES[verdict.result])
        self.moves.go_on(turn)

    def tick(self, turn: Turn, place: Place) -> None:
        step = self.moves.course.step(place.here)
        if place.paused or place.started is None or not isinstance(step, Timed):
            return
        took = (turn.at - place.started).total_seconds()
        left = step.seconds - took
        if left <= 0:
            if step.mode == "wait":
                self._timer_done(turn, place, step, took)
            elif 0 not in turn.state.told:
                turn.state = replace(turn.state, told=turn.state.told | {0})
                turn.say("Time is over." if step.mode == "within" else "Held long enough.", "ask")
            return
        due = [mark for mark in _COUNTDOWN if left <= mark < step.seconds]
        if due and min(due) not in turn.state.told:
            turn.state = replace(turn.state, told=turn.state.told | set(due))
            turn.say(f"{min(due)} seconds." if min(due) > 5 else f"{min(due)}.")

    def how_long(self, turn: Turn, place: Place, step: Step | None) -> str:
        if not isinstance(step, Timed) or place.started is None:
            return "No timer is running."
        left = step.seconds - (turn.at - place.started).total_seconds()
        if left >= 0:
            return f"{left:.0f} seconds left."
        return f"{-left:.0f} seconds over."
