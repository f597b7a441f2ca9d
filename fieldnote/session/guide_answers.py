"""What is said, shown or scanned at a step, taken as its answer or asked for again."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from fieldnote.acceptance import Quantity, Verdict
from fieldnote.acceptance.exact import written
from fieldnote.acceptance.travel import TravelPoint
from fieldnote.errors import BadInputError
from fieldnote.language import Entry, speak
from fieldnote.procedure import Step, judge_travel
from fieldnote.procedure.steps import (
    Measure,
    Observe,
    Part,
    Photo,
    Points,
    Remark,
    Tighten,
    Travel,
    Wire,
)
from fieldnote.session.guide_candidates import (
    candidates,
    chosen_of,
    colour_of_cavity,
    is_reading,
    of_command,
    restored,
    same_kind,
    with_unit,
)
from fieldnote.session.guide_course import Course, Place
from fieldnote.session.guide_events import Measured, Pictured, Said, Scanned, Stored
from fieldnote.session.guide_moves import Moves
from fieldnote.session.guide_turn import Turn, body_of, choice_body
from fieldnote.session.guide_wording import (
    TONES,
    choice_words,
    judged_words,
    point_words,
    unit_words,
    value_words,
    wire_words,
)
from fieldnote.session.judging import SHOWN, verdict_of, window_for
from fieldnote.session.two_sources import differing

_PLACES = ("first", "second", "third")
_NTH = re.compile(r"^(?:the )?(first|second|third)(?: one)?$")


def _bare(entry: Entry) -> str:
    return entry.value if entry.value is not None and not entry.values else "nan"


SURE = Decimal("0.97")
"""Confidence from which a choice heard by its name is taken, the bar of `confirm` for a word that
nothing else supports. A choice by its number is a number, and has passed `confirm` already."""


def _unsure(source: Mapping[str, Any]) -> bool:
    """Whether something was spoken, and not heard well enough to stand for a choice."""
    return source.get("how") == "voice" and Decimal(str(source.get("confidence", "1"))) < SURE


class Answers:
    """Takes entries, pictures, codes and series at the current step."""

    def __init__(self, course: Course, moves: Moves) -> None:
        self.course, self.moves = course, moves

    def said(self, turn: Turn, place: Place, event: Said) -> None:
        entry, step = event.entry, self.course.step(place.here)
        asking, asked_by = turn.state.asking, turn.state.asked_by
        if asking == "why" and self._is_a_reason(entry):
            if entry.kind == "unclear":
                turn.say("That was not clear. Say note, and then why it is skipped.", "ask")
                return
            turn.say("Skipped.")
            self.moves.move(turn, place.here + 1, "skip", event, why=entry.text.strip())
            self.moves.run_on(turn)
            return
        turn.ask(None)
        if isinstance(step, Wire) and entry.kind == "unclear" and not _unsure(event.source):
            # The step has just named the cavity, so that its colour alone is enough.
            alone = colour_of_cavity(entry.text, self.course.next_label(step, place))
            entry = alone or entry
            event = replace(event, entry=entry)
        if step is None:
            if entry.kind not in {"none"}:
                turn.say("The last step is done. Say back to add something, or stop to end.", "ask")
            return
        match step:
            case Observe():
                self._observe(turn, step, event)
            case Remark() if entry.kind not in SHOWN:
                self._remark(turn, step, event)
            case Part() if entry.kind == "unclear" and of_command(event.source):
                # A "yes" that was not clear is no serial number; the one said before still waits.
                self._question(turn, step, event, entry.reason or "unclear")
                turn.ask(asking, asked_by)
            case Part() if entry.kind != "remark" and entry.text.strip():
                if event.source.get("how") == "voice":
                    # A serial number has no form by which a mishearing would show.
                    turn.ask(entry.text.strip(), event)
                    turn.say(f"{entry.text.strip()}. Is that right?", "ask")
                else:
                    self.part(turn, step, entry.text, event.source, event.evidence)
            case _ if entry.kind == "remark":
                turn.store("remark", body_of(entry, step, event.source), evidence=event.evidence)
                turn.say("Noted.")
            case _ if entry.kind == "none":
                return
            case _ if entry.kind == "unclear":
                offered = candidates(entry, step.unit)
                self._question(turn, step, event, entry.reason or "unclear", offered=offered)
            case Measure() | Points() | Tighten() | Travel() if entry.hedge and is_reading(entry):
                exact = replace(entry, hedge=None)
                reason = f"is it {speak(exact)}, as the meter shows it?"
                self._question(turn, step, event, reason, offered=(exact,))
            case Wire() if entry.kind == "wire":
                self._wire(turn, place, step, event)
            case Measure() | Points() | Tighten() | Travel() if entry.kind in SHOWN:
                self._reading(turn, place, step, event)
            case Points() if entry.kind == "series":
                self._readings_in_order(turn, step, event)
            case Travel() if entry.kind == "series":
                points = tuple(TravelPoint(value) for value in entry.values)
                self.measured(turn, place, Measured(points, event.at, event.source, event.evidence))
            case _:
                self._question(turn, step, event, "this step does not take that")

    @staticmethod
    def _is_a_reason(entry: Entry) -> bool:
        """Words for why a step is skipped; a reading said instead is a reading."""
        taken = {*SHOWN, "wire", "series"}
        return entry.kind not in taken and bool(entry.text.strip())

    def _question(
        self,
        turn: Turn,
        step: Step,
        event: Said,
        reason: str,
        *,
        offered: tuple[Entry, ...] = (),
        misplaced: bool = False,
        again: bool = True,
    ) -> None:
        """Nothing is taken for a reading; what was heard is kept, and asked for again.

        offered: what it may have been; one of them may be chosen. misplaced: it was clear, but is
        no answer to this step, so that an older question stays open. again: whether to ask for the
        same once more; not where something else must come first.
        """
        entry = replace(event.entry, kind="unclear", reason=reason)
        body = body_of(entry, step, event.source)
        if offered:
            body["offered"] = [each.to_json() for each in offered]
        if misplaced:
            body["misplaced"] = True
        if of_command(event.source):
            body["command"] = True
        asked_before = turn.question(step.id) is not None
        turn.store("question", body, evidence=event.evidence)
        turn.say(reason, "ask")
        if len(offered) == 1:
            turn.say("Say yes, or say the reading.", "ask")
        elif again and not misplaced:
            more = "Still not clear. Say it in other words, or type it."
            turn.say(more if asked_before else "Say it again, please.", "ask")

    @staticmethod
    def offered(turn: Turn, step: Step | None) -> tuple[Entry, ...]:
        """What the step's open question may have been."""
        question = turn.question(step.id) if step is not None else None
        stated = question.body.get("offered", []) if question is not None else []
        return tuple(restored(each) for each in stated)

    def taken_up(self, turn: Turn, place: Place, entry: Entry) -> Entry | None:
        """The candidate that an answer chooses: by its bare number, by its unit alone, or as the
        first or second."""
        if turn.state.asking is not None:
            return None  # these are the words that were asked for
        step = self.course.step(place.here)
        offered = self.offered(turn, step)
        nth = entry.command or "".join(_NTH.findall(entry.text.strip().lower()))
        if nth in _PLACES and offered:
            number = _PLACES.index(nth)
            return offered[number] if number < len(offered) else None
        if entry.kind == "command":
            return None
        question = turn.question(step.id) if step is not None else None
        if question is not None and entry.kind in {"none", "unclear"}:
            return with_unit(question.body, offered, entry.text)
        if entry.kind != "bare" and entry.unit_from != "step":
            return None
        same = [each for each in offered if Decimal(each.value or "nan") == Decimal(_bare(entry))]
        return same[0] if len(same) == 1 else None

    @staticmethod
    def neither(turn: Turn, step: Step) -> bool:
        """Drop the step's open question: none of what it named was meant."""
        question = turn.question(step.id)
        if question is None:
            return False
        turn.store("withdrawal", {"why": "neither of them was meant"}, question.number)
        turn.say("Neither. Say it again, please.", "ask")
        return True

    def accepted(self, turn: Turn, place: Place) -> Entry | None:
        """What "yes" stands for: the one candidate of the question that was asked just now."""
        offered = self.offered(turn, self.course.step(place.here))
        if len(offered) != 1 or turn.state.stored[-1].kind != "question":
            return None
        return offered[0]

    def _observe(self, turn: Turn, step: Observe, event: Said) -> None:
        entry = event.entry
        chosen = chosen_of(step.choices, entry)
        if len(chosen) != 1:
            if entry.kind == "none" and not entry.text.strip():
                return
            if entry.kind in {*SHOWN, "wire", "series"}:
                number = self.course.index[step.id] + 1
                reason = f"step {number} still wants: {choice_words(step)}"
                self._question(turn, step, event, reason, misplaced=True)
                return
            self._question(turn, step, event, f"the choices are {choice_words(step)}")
            return
        if entry.kind != "bare" and _unsure(event.source):
            number = step.choices.index(chosen[0]) + 1
            self._question(turn, step, event, f"was it {chosen[0]}, number {number}?")
            return
        result = step.result(chosen[0])
        turn.store("remark", choice_body(step, chosen[0], event.source), evidence=event.evidence)
        words = {"pass": "good", "fail": "not good"}.get(result, "")
        turn.say(f"{chosen[0]}: {words}" if words else chosen[0], TONES[result])
        self.moves.go_on(turn)

    def _remark(self, turn: Turn, step: Remark, event: Said) -> None:
        if not event.entry.text.strip():
            return
        entry = Entry("remark", text=event.entry.text)
        turn.store("remark", body_of(entry, step, event.source), evidence=event.evidence)
        turn.say("Noted.")
        self.moves.go_on(turn)

    def part(
        self,
        turn: Turn,
        step: Part,
        serial: str,
        source: Mapping[str, Any],
        evidence: tuple[str, ...],
    ) -> None:
        serial = serial.strip()
        if not serial:
            return
        part = {"part": step.part, "move": step.move, "serial": serial}
        entry = Entry("remark", text=f"{step.part} {step.move}, {serial}")
        turn.store("remark", body_of(entry, step, source) | {"part": part}, evidence=evidence)
        turn.say(f"{step.part} {step.move}: {serial}.")
        self.moves.go_on(turn)

    def _reading(
        self, turn: Turn, place: Place, step: Measure | Points | Tighten | Travel, event: Said
    ) -> None:
        entry = event.entry
        if not same_kind(entry.unit, step.unit):
            # The language asks about what is said in another kind of unit; a picture may show it.
            shown = value_words(entry.value or "", entry.unit or step.unit)
            reason = f"{shown}, where this step wants {unit_words(step.unit)}"
            self._question(turn, step, event, reason)
            return
        elsewhere = self._label_of_another(step, entry)
        if elsewhere is not None:
            self._question(turn, step, event, f"you said {elsewhere}, which is not this step")
            return
        if isinstance(step, Points | Tighten):
            wanted = self.course.next_label(step, place)
            label = entry.label if entry.label in step.labels else wanted
            if label is None or label in self.course.labels_done(step, place):
                reason = (
                    f"{label or 'every point'} has its reading; scratch that to measure it again"
                )
                self._question(turn, step, event, reason, again=False)
                return
            if isinstance(step, Tighten) and (self.rounds_left(place, step) or label != wanted):
                reason = f"next is {wanted}"
                if self.rounds_left(place, step):
                    reason = f"round {place.round + 1} is not done; say next when it is"
                self._question(turn, step, event, reason, again=False)
                return
            entry = replace(entry, label=label)
        before = place.answers.get(step.id, []) if isinstance(step, Measure) else []
        doubt = differing(before[-1].body, entry, event.source) if before else None
        if doubt is not None and not self.offered(turn, step):
            # The earlier answer stands until a person says which of the two is right.
            both = (restored(before[-1].body["entry"]), replace(entry, alternatives=()))
            self._question(turn, step, event, doubt, offered=both)
            return
        values, _ = self.course.values(place)
        try:
            window = (
                None
                if isinstance(step, Travel)
                else window_for(step, entry, self.course.facts, values)
            )
            verdict = (
                None
                if isinstance(step, Travel)
                else verdict_of(entry, window, self.course.meter(step), event.source)
            )
            if isinstance(step, Travel) and entry.kind != "reading":
                raise BadInputError("A travel is made of readings.", "")
            why = step.choose(self.course.facts, values).why
        except BadInputError as error:
            self._question(turn, step, event, str(error).rstrip("."))
            return
        self.moves.store_reading(
            turn, step, entry, event.source, event.evidence, verdict, window, why
        )
        turn.say(judged_words(speak(entry), verdict), TONES[verdict.result] if verdict else None)
        after = self.course.place(turn.state)
        if isinstance(step, Measure):
            self.moves.go_on(turn)
        elif isinstance(step, Points | Tighten):
            following = self.course.next_label(step, after)
            if following is not None:
                turn.say(point_words(step, following))
                return
            if isinstance(step, Points):
                self.points_done(turn, after, step)
                return
            self.moves.go_on(turn)

    def _readings_in_order(self, turn: Turn, step: Points, event: Said) -> None:
        """Several values said in one go belong to the points that are still open, in order."""
        place = self.course.place(turn.state)
        done = self.course.labels_done(step, place)
        still = [label for label in step.labels if label not in done]
        entry = event.entry
        if len(entry.values) > len(still):
            reason = f"{len(entry.values)} values for {len(still)} open points"
            self._question(turn, step, event, reason)
            return
        for label, value in zip(still, entry.values, strict=False):
            one = replace(entry, kind="reading", value=value, values=(), label=label)
            before = len(turn.state.stored)
            place = self.course.place(turn.state)
            self._reading(turn, place, step, replace(event, entry=one))
            if turn.state.stored[before].kind == "question":
                return  # refused: what was to follow it is not put elsewhere

    def _label_of_another(self, step: Step, entry: Entry) -> str | None:
        """A name said that belongs to another step and not to this one."""
        for said in (entry.label, entry.position):
            if said is not None and said not in step.labels:
                for other in self.course.steps:
                    if said in other.labels and not isinstance(other, Observe):
                        return said
        return None

    def points_done(self, turn: Turn, place: Place, step: Points) -> None:
        """All points are taken: their spread, unless it is on record, and on."""
        self._spread(turn, place, step)
        self.moves.go_on(turn)

    def _spread(self, turn: Turn, place: Place, step: Points) -> None:
        found = self.moves.spread(place, step)
        last = place.answers[step.id][-1]
        if found is None or last.body.get("spread"):
            return
        turn.store("reading", found.body)
        spread = value_words(found.entry.value or "", step.unit)
        turn.say(judged_words(f"Spread {spread}", found.verdict), TONES[found.verdict.result])

    def _wire(self, turn: Turn, place: Place, step: Wire, event: Said) -> None:
        entry = event.entry
        cavity = entry.pins[0] if entry.pins else self.course.next_label(step, place)
        if cavity is None or cavity not in step.cavities or entry.colour is None:
            self._question(turn, step, event, f"the cavities are {', '.join(step.cavities)}")
            return
        if cavity in self.course.labels_done(step, place):
            reason = f"cavity {cavity} is written down; scratch that first"
            self._question(turn, step, event, reason, again=False)
            return
        entry = replace(entry, pins=(cavity,))
        verdict = self.course.wire_verdict(place, step, entry)
        wrong = verdict.result == "fail"
        body = body_of(entry, step, event.source) | {"verdict": verdict.to_json()}
        turn.store("wire", body, evidence=event.evidence)
        words = f"Alarm. {verdict.rule}" if wrong else wire_words(cavity, entry)
        turn.say(words, "alarm" if wrong else None)
        following = self.course.next_label(step, self.course.place(turn.state))
        if following is not None:
            turn.say(point_words(step, following))
        elif any(r.body["verdict"]["result"] == "fail" for r in self._answers(turn, step)):
            turn.say(
                "The wires differ. Say confirmed to go on all the same, or scratch that.", "alarm"
            )
        else:
            self.moves.go_on(turn)

    def _answers(self, turn: Turn, step: Step) -> list[Stored]:
        return self.course.place(turn.state).answers.get(step.id, [])

    def pictured(self, turn: Turn, place: Place, event: Pictured) -> None:
        step = self.course.step(place.here)
        entry = Entry("remark", text=event.caption or "picture")
        body = body_of(entry, step, {"how": "photo", **event.source}) | {"caption": event.caption}
        turn.store("photo", body, evidence=event.evidence)
        turn.say("Picture kept.", "good")
        if isinstance(step, Photo):
            have = len(self._answers(turn, step))
            if have >= step.at_least:
                self.moves.go_on(turn)
            else:
                turn.say(f"{step.at_least - have} more, please.")

    def scanned(self, turn: Turn, place: Place, event: Scanned) -> None:
        step = self.course.step(place.here)
        source = {"how": "photo", "code": event.text}
        if isinstance(step, Part):
            self.part(turn, step, event.text, source, event.evidence)
            return
        entry = Entry("remark", text=f"code {event.text}")
        turn.store("remark", body_of(entry, step, source), evidence=event.evidence)
        turn.say(f"Code {event.text}, noted.")

    def measured(self, turn: Turn, place: Place, event: Measured) -> None:
        step = self.course.step(place.here)
        if not isinstance(step, Travel):
            turn.say("This step takes no series.", "ask")
            return
        self._judge_travel(turn, place, step, event.points, event.source, event.evidence)

    def finish_travel(self, turn: Turn, place: Place, step: Travel) -> None:
        records = place.answers[step.id]
        first = records[0].at
        points = tuple(
            TravelPoint(
                written(Quantity(r.body["entry"]["value"], r.body["entry"]["unit"]).to(step.unit)),
                seconds=f"{(r.at - first).total_seconds():.3f}",
            )
            for r in records
        )
        self._judge_travel(
            turn, place, step, points, {"how": "derived", "formula": "the readings"}, ()
        )

    def _judge_travel(
        self,
        turn: Turn,
        place: Place,
        step: Travel,
        points: tuple[TravelPoint, ...],
        source: Mapping[str, Any],
        evidence: tuple[str, ...],
    ) -> None:
        meter = self.course.meter(step)
        accuracy = meter.accuracy if meter is not None else None
        if accuracy is not None and accuracy.reach(step.unit) is None:
            accuracy = None  # another instrument was read: its uncertainty is not known
        values, _ = self.course.values(place)
        try:
            report = judge_travel(step, points, self.course.facts, values, accuracy)
        except BadInputError as error:
            turn.say(str(error), "ask")
            return
        values_said = tuple(point.value for point in points)
        entry = Entry("series", value=" ".join(values_said), unit=step.unit, values=values_said)
        told = [each for each in report.findings if each.result != "pass" or each.name == "time"]
        met = [] if report.result != "pass" else ["everything asked is met"]
        rule = "; ".join([*met, *(f"{each.name}: {each.words}" for each in told)])
        verdict = Verdict(report.result, None, step.unit, rule)
        body = body_of(entry, step, source) | {
            "verdict": verdict.to_json(),
            "travel": report.to_json(),
        }
        turn.store("reading", body, evidence=evidence)
        turn.say(f"Travel: {rule}.", TONES[report.result])
        self.moves.go_on(turn)

    def rounds_left(self, place: Place, step: Tighten) -> bool:
        return place.round < len(step.rounds) - 1

    def round_done(self, turn: Turn, place: Place, step: Tighten) -> None:
        done = place.round + 1
        self.moves.move(turn, place.here, "begin", round=str(done))
        turn.say(f"Now {step.rounds[done]} percent, in the same order.")
        if done == len(step.rounds) - 1:
            turn.say(point_words(step, step.order[0]))
