"""The guided job, driven by words through the real language, with its records in a real log."""

from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path

import pytest

from fieldnote.acceptance.exact import written
from fieldnote.acceptance.travel import TravelPoint
from fieldnote.joblog import JobLog
from fieldnote.language import Entry, parse, speak
from fieldnote.procedure import Procedure, Step, load, load_register, shipped
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
from fieldnote.session.guide import Guide
from fieldnote.session.guide_events import (
    Effect,
    End,
    Event,
    Measured,
    Pictured,
    Said,
    Say,
    Scanned,
    Snap,
    Store,
    Ticked,
    stored,
)
from fieldnote.session.wording import record_text

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class Job:
    """A guided job whose records go to a real log, as the driver of a session would do it."""

    def __init__(self, home: Path, procedure: Procedure | str, **facts: str) -> None:
        self.procedure = load(procedure) if isinstance(procedure, str) else procedure
        self.log = JobLog.open(home)
        self.facts = {"asset": "invented", "meter": "bench-meter", **facts}
        self.ref = self.log.start_job(self.facts, at=START).ref
        self.now = START
        self.guide = Guide(self.procedure, self.facts, load_register())
        self.state = self.guide.replay(stored(self.log.records(self.ref)))
        self.said: list[str] = []
        self.effects: list[Effect] = []
        self._note(self.guide.announce(self.state, self.now))

    def send(self, event: Event) -> str:
        """Handle an event; gives back what was said, and proves that the log says the same."""
        self.state, effects = self.guide.take(self.state, event)
        for effect in effects:
            if isinstance(effect, Store):
                self.log.append(
                    self.ref, effect.kind, effect.body, at=event.at, refers_to=effect.refers_to
                )
        return self._note(effects)

    def say(self, words: str, seconds: float = 5) -> str:
        self.now += timedelta(seconds=seconds)
        entry = parse(words, self.guide.context(self.state))
        return self.send(Said(entry, self.now, {"how": "voice"}))

    def picture(self) -> str:
        self.now += timedelta(seconds=5)
        kept = self.log.keep(b"an invented picture", ".jpg")
        return self.send(Pictured(self.now, (kept.sha256,), "as left"))

    @property
    def step(self) -> Step | None:
        return self.guide.view(self.state, self.now).step

    @property
    def here(self) -> str | None:
        return None if self.step is None else self.step.id

    def results(self) -> dict[str, str]:
        return dict(self.guide.results(self.state))

    def course_facts(self) -> dict[str, str]:
        self.guide.view(self.state, self.now)
        return {k: v for k, v in self.guide.course.facts.items() if k not in {"asset", "meter"}}

    def again(self) -> None:
        """Crash: all that is left is the log. The state is the same."""
        replayed = self.guide.replay(stored(self.log.records(self.ref)))
        assert replayed == self.state
        assert self.guide.view(replayed, self.now).step == self.step
        assert self.guide.results(replayed) == self.results()
        self.state = replayed

    def _note(self, effects: tuple[Effect, ...]) -> str:
        self.effects = list(effects)
        words = [effect.text for effect in effects if isinstance(effect, Say)]
        self.said += words
        return " | ".join(words)


def middle(job: Job, step: Measure | Points | Tighten, label: str | None = None) -> str:
    """A value well inside the window, in words."""
    values, _ = job.guide.course.values(job.guide.course.place(job.state))
    window = step.choose(job.facts, values).window
    if isinstance(step, Points):
        own = next(each.window for each in step.points if each.label == label)
        window = own.window(step.unit, values) if own is not None else window
    if window is None:
        value = Fraction(5)
    else:
        lower, upper = window.limits
        value = (
            (lower + upper) / 2
            if lower is not None and upper is not None
            else lower * Fraction(3, 2)
            if lower is not None
            else (upper or Fraction(0)) / 4
        )
    digits = written(Fraction(round(value * 1000), 1000))
    said = speak(Entry("reading", value=digits, unit=step.unit))
    return f"{label} {said}" if label else said


def answer(job: Job) -> None:
    """Do the current step as it should be done."""
    step = job.step
    match step:
        case Caution():
            job.say("confirmed")
        case Measure():
            job.say(VALUES.get(step.id) or middle(job, step))
        case Points():
            for each in step.points:
                job.say(middle(job, step, each.label))
        case Tighten():
            for _ in step.rounds[:-1]:
                job.say("next")
            for each in step.order:
                job.say(middle(job, step, each))
        case Observe():
            job.say(step.good[0] if step.good else step.choices[0])
        case Remark():
            job.say("note all as it should be")
        case Photo():
            for _ in range(step.at_least):
                job.picture()
        case Wire():
            for cavity in step.cavities:
                colour = {"RD": "red", "BK": "black", "WH/BU": "white with blue tracer"}[
                    (step.expect or {}).get(cavity, "RD")
                ]
                job.say(f"cavity {cavity} {colour}")
        case Part():
            job.now += timedelta(seconds=5)
            job.send(Scanned("X-104", job.now))
        case Timed():
            job.say("start the timer")
            job.now += timedelta(seconds=step.seconds + (-1 if step.mode == "within" else 1))
            job.send(Ticked(job.now))
            if step.mode != "wait":
                job.say("next", seconds=0.5)
        case Travel():
            job.now += timedelta(seconds=5)
            job.send(Measured(travel(job, step), job.now, {"how": "typed", "file": "travel.csv"}))


# Readings that limits and formulas of other steps depend on must fit together.
VALUES = {
    "bath": "one hundred degrees celsius",
    "air": "minus twenty degrees celsius",
    "level": "fifty percent",
    "source": "twenty four point six zero volts",
    "consumer": "twenty four point two zero volts",
    "out": "zero point two zero volts",
    "back": "zero point two zero volts",
    "rest": "twelve point six five volts",
    "crank": "ten point five volts",
    "charging": "fourteen point two volts",
    "closes": "two point zero zero bar",
    "opens": "two point three five bar",
    "pull-in": "seven point two volts",
    "drop-out": "three point one volts",
}


def travel(job: Job, step: Travel) -> tuple[TravelPoint, ...]:
    first = step.first
    assert first is not None
    assert first.nominal is not None
    low = Fraction(first.nominal)
    high = low + (70 if step.id == "to-port" else 84 if step.direction == "rising" else -70)
    if step.last and step.last.nominal:
        high = Fraction(step.last.nominal)
    out = [low + (high - low) * i / 8 for i in range(9)]
    values = out + (out[-2::-1] if step.both_ways else [])
    places = [*range(9), *range(7, -1, -1)]
    return tuple(
        TravelPoint(written(v), str(p), str(i))
        for i, (v, p) in enumerate(zip(values, places, strict=False))
    )


FACTS: dict[str, dict[str, str]] = {
    "pt100": {"class": "class B"},
    "battery-and-charging": {"system": "12 V"},
    "insulation-resistance": {"circuit": "up to 500 V"},
    "end-stops": {"stop": "90 degrees"},
    "relay": {"system": "12 V"},
    "tank-level-sender": {"gauge": "plain gauge"},
}


@pytest.mark.parametrize("name", shipped())
def test_a_whole_good_job_of_every_shipped_procedure(tmp_path: Path, name: str) -> None:
    job = Job(tmp_path, name, meter="none", **FACTS.get(name, {}))
    for _ in range(40):
        if job.step is None:
            break
        before = job.here
        answer(job)
        assert job.here != before, f"stuck at {before}: {job.said[-3:]}"
        job.again()
    assert job.step is None
    assert set(job.results().values()) <= {"pass", "unchecked"}, job.results()
    kinds = [record.kind for record in job.log.records(job.ref)]
    assert "question" not in kinds, [
        r.body for r in job.log.records(job.ref) if r.kind == "question"
    ]
    assert job.log.verify(job.ref) == []
    assert job.said[-1].startswith("That was the last step. 0 outside, 0 undecided")


def test_the_demo_job_with_its_fault_and_its_doubt(tmp_path: Path) -> None:
    job = Job(tmp_path, "rudder-angle-sender")
    assert any("great force" in words for words in job.said), "the cautions come first"
    job.say("confirmed")
    job.say("sound")
    assert "inside" in job.say("twenty four point six volts")
    job.say("confirmed")
    for words in ("cavity one red", "cavity two black", "cavity three white with blue tracer"):
        job.say(words)
    job.picture()
    job.say("eleven point five zero megohms")
    assert "undecided" in job.say("midships one hundred and three point two ohms")
    assert "outside, five point four ohms above the limit" in job.say(
        "twenty seven point four ohms"
    )
    job.say("scratch that")
    assert job.here == "port"
    assert "outside" in job.say("twenty seven point five ohms")
    assert job.say("what was the last value").startswith("Twenty seven point five ohms: outside")
    assert "inside" in job.say("one hundred and eighty one point zero ohms")
    assert "inside" in job.say("twenty one inch pounds")
    job.again()
    results = job.results()
    assert (results["midships"], results["port"], results["starboard"]) == (
        "indeterminate", "fail", "pass",
    )  # fmt: skip
    readings = [r for r in job.log.records(job.ref) if r.kind == "reading"]
    assert readings[-1].body["meter"] == "torque-driver", "the step names its own instrument"
    assert readings[-1].body["verdict"]["unit"] == "N.m"
    assert [r.kind for r in job.log.records(job.ref)].count("withdrawal") == 1


def at_step(tmp_path: Path, name: str, step_id: str, **facts: str) -> Job:
    """A job that has come as far as a step."""
    job = Job(tmp_path, name, **{**FACTS.get(name, {}), **facts})
    while job.here != step_id:
        assert job.step is not None
        answer(job)
    return job


def test_a_caution_is_neither_skipped_nor_passed_by_next(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay", system="12 V")
    assert "Say confirmed" in job.say("next")
    assert "cannot be skipped" in job.say("skip")
    assert job.say("ninety ohms").startswith("This step does not take that")
    assert job.here == "isolated"
    job.say("confirmed")
    assert job.here == "coil"
    step = [r for r in job.log.records(job.ref) if r.kind == "step"][-1]
    assert (step.body["from"], step.body["acknowledged"]) == ("isolated", True)


def test_a_skip_has_a_reason(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    assert "Why" in job.say("skip")
    assert "Not skipped" in job.say("no")
    assert job.here == "coil"
    job.say("skip")
    job.say("terminal is broken off")
    assert job.here == "pull-in"
    record = job.log.records(job.ref)[-1]
    assert (record.body["move"], record.body["why"]) == ("skip", "terminal is broken off")
    job.again()


def test_a_crash_loses_nothing_but_a_question(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("skip")
    job.again()
    assert job.here == "coil"
    assert "inside" in job.say("ninety ohms"), "the reading is not mistaken for a reason"


def test_a_reading_is_never_taken_for_a_reason(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("skip")
    assert "inside" in job.say("ninety ohms")
    job.say("skip")
    job.say("what is the limit")
    job.say("hand me that")  # the question is over: this is talk again
    assert job.here == "pull-in"
    assert "skip" not in [r.body.get("move") for r in job.log.records(job.ref)]


def test_a_step_answered_again_counts_as_last_measured(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("fifty ohms")
    assert job.results()["coil"] == "fail"
    job.say("back")
    job.say("ninety ohms")
    assert job.results()["coil"] == "pass"
    readings = [r for r in job.log.records(job.ref) if r.kind == "reading"]
    assert [r.body["entry"]["value"] for r in readings] == ["50", "90"], "both stay on record"
    job.again()


def test_a_spoken_serial_is_confirmed_before_it_is_kept(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "old")
    assert "Is that right?" in job.say("x one oh four")
    assert job.here == "old"
    job.say("no")
    assert "Is that right?" in job.say("x one oh five")
    assert "removed: x one oh five" in job.say("yes")
    assert job.here == "new"


def test_next_without_an_answer_asks_why(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    assert "Why" in job.say("next")


def test_back_and_say_again(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "contacts")  # the step before it is derived, and is passed by
    job.say("go back")
    assert job.here == "drop-out"
    job.say("next")  # it has its answer already
    assert job.here == "contacts"


def test_what_was_worked_out_goes_with_its_reading(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "contacts")
    assert "ratio" in job.results()
    job.say("scratch that")
    assert job.here == "drop-out"
    assert not {"ratio", "drop-out"} & set(job.results())
    job.say("three point zero volts")
    assert job.here == "contacts"
    assert "ratio" in job.results()
    job.again()


def test_pause_takes_nothing_until_resume(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("pause")
    before = len(job.log.records(job.ref))
    assert "resume" in job.say("ninety ohms")
    assert "resume" in job.say("next")
    job.again()
    assert len(job.log.records(job.ref)) == before
    job.say("resume")
    assert "inside" in job.say("ninety ohms")


def test_the_limit_is_told_when_asked_with_its_variant(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil", system="24 V")
    said = job.say("what is the limit")
    assert said.startswith(
        "From three hundred and twenty four to three hundred and ninety six ohms"
    )
    assert "24 V coil" in said
    job.say("three hundred and sixty ohms")
    reading = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    assert reading.body["limit_why"] == "24 V coil (system is 24 V)"


def test_unclear_is_asked_again_and_never_a_reading(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("ten six ohms")
    job.say("five volts")
    assert job.say("hand me the other one") == ""
    assert job.here == "coil"
    kinds = [r.kind for r in job.log.records(job.ref)]
    assert kinds.count("question") == 2
    assert "reading" not in kinds


def test_a_value_beyond_the_meter_is_no_reading_of_it(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "insulation")
    assert "beyond this meter's range" in job.say("nine hundred megohms")
    assert job.here == "insulation"
    assert "inside" in job.say("open circuit"), "over limit is more than 60 MΩ, and 10 are asked"


def test_a_point_of_another_step_is_asked_about(tmp_path: Path) -> None:
    job = at_step(tmp_path, "tank-level-sender", "full")
    assert "you said bottom" in job.say("bottom ten ohms").lower()
    assert job.here == "full"


def test_points_in_any_order_and_their_spread(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "dry", meter="none")
    job.say("cylinder three ten point nine bar")
    job.say("eleven point zero bar")  # the first that has none
    assert "has its reading" in job.say("cylinder one eleven bar").lower()
    job.say("cylinder two eleven point two bar")
    said = job.say("cylinder four nine point nine bar")
    assert "Spread one point three bar: outside" in said
    assert job.here == "wet", "the decision table asks for the wet test"
    assert "Gain" in job.say("eleven point zero bar")
    assert "rings" in " ".join(job.said)
    job.again()


def test_several_values_in_one_go_belong_to_the_open_points_in_order(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "dry", meter="none")
    assert "5 values for 4 open points" in job.say("eleven, eleven, ten, ten, ten bar")
    job.say("cylinder two ten point nine bar")
    job.say("eleven point one, eleven point zero, ten point eight bar")
    assert job.here == "restored", "all good: the wet test is left out"
    entries = [r.body["entry"] for r in job.log.records(job.ref) if r.kind == "reading"]
    assert [(e["label"], e["value"]) for e in entries[-5:]] == [
        ("cylinder two", "10.9"), ("cylinder one", "11.1"), ("cylinder three", "11.0"),
        ("cylinder four", "10.8"), ("spread", "0.3"),
    ]  # fmt: skip
    job.again()


def test_all_good_leaves_the_wet_test_out(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "remark", meter="none")
    assert "wet" not in job.results()


def test_wires_are_compared_and_a_difference_is_an_alarm(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "before")
    for words in ("cavity one red", "cavity two black", "cavity three blue", "cavity four grey"):
        job.say(words)
    while job.here != "after":
        answer(job)
    job.say("cavity one red")
    assert "Alarm. Cavity 2 should be BK and is BU" in job.say("cavity two blue")
    job.say("scratch that")
    job.say("cavity two black")
    assert "Alarm" in job.say("cavity three black")
    assert "differ" in job.say("cavity four grey")
    assert job.here == "after"
    job.again()
    job.say("confirmed")
    assert job.here == "pull"
    assert job.results()["after"] == "fail", "going on does not make it right"


def test_rounds_and_order_of_tightening(tmp_path: Path) -> None:
    job = at_step(tmp_path, "tightening-sequence", "bolts")
    assert "round 1 is not done" in job.say("forty eight newton meters").lower()
    assert "70 percent" in job.say("next")
    job.again()
    job.say("next")
    assert "next is bolt one" in job.say("bolt four forty eight newton meters").lower()
    # ISO 6789, 4 % of 48.0 N·m, rectangular: U = 2 x 1.11 = 2.22 N·m, and 3.84 are left.
    assert "inside" in job.say("bolt one forty eight point zero newton meters")
    assert "undecided" in job.say("bolt four fifty point zero newton meters")
    job.again()


def test_wait_counts_down_and_goes_on_by_itself(tmp_path: Path) -> None:
    job = at_step(tmp_path, "tightening-sequence", "settle")
    job.say("start the timer")
    said = []
    for _ in range(6010):
        job.now += timedelta(seconds=0.1)
        said.append(job.send(Ticked(job.now)))
        if job.here != "settle":
            break
    spoken = [words for words in said if words]
    assert spoken[:4] == ["60 seconds.", "30 seconds.", "10 seconds.", "5."]
    assert job.here == "again"
    reading = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    assert reading.body["entry"]["value"] == "600.0"
    job.again()


@pytest.mark.parametrize(("took", "result"), [(59.0, "pass"), (62.5, "fail")])
def test_done_within_records_the_overrun(tmp_path: Path, took: float, result: str) -> None:
    job = at_step(tmp_path, "end-stops", "teach")
    job.say("start the timer")
    job.again()
    job.now += timedelta(seconds=took - 0.5)
    said = job.send(Ticked(job.now))
    assert ("Time is over" in said) == (took > 60)
    job.say("next", seconds=0.5)
    assert job.here == "closed"
    reading = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    assert reading.body["entry"]["value"] == f"{took:.1f}"
    assert reading.body["verdict"]["result"] == result


def test_hold_ended_too_soon_fails(tmp_path: Path) -> None:
    job = at_step(tmp_path, "pressure-switch", "hold")
    job.say("start the timer")
    job.say("how long", seconds=20)
    assert job.said[-1] == "40 seconds left."
    job.say("stop the timer", seconds=10)
    assert job.results()["hold"] == "fail"


def test_a_travel_by_voice(tmp_path: Path) -> None:
    job = at_step(tmp_path, "end-stops", "travel", meter="none")
    for degrees in ("two", "twenty", "forty", "sixty"):
        job.say(f"{degrees} degrees")
    assert "5 are needed" in job.say("next")
    for degrees in ("eighty", "eighty six"):
        job.say(f"{degrees} degrees")
    assert "everything asked is met" in job.say("next")
    assert job.here == "interlock"
    summary = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    assert summary.body["travel"]["result"] == "pass"
    assert len(summary.body["travel"]["points"]) == 6
    job.again()


def test_a_travel_with_a_jump_names_it(tmp_path: Path) -> None:
    job = at_step(tmp_path, "end-stops", "travel", meter="none")
    for degrees in ("two", "twenty", "fifty", "seventy", "eighty six"):
        job.say(f"{degrees} degrees")
    assert "jumps: largest step 30° after reading 2" in job.say("next")
    assert job.results()["travel"] == "fail"


def test_an_overdue_meter_is_said_at_the_start(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay", meter="insulation-tester", system="12 V")
    assert not any("overdue" in words for words in job.said), "on 1 March it is still good"
    later = job.guide.announce(job.state, datetime(2026, 6, 1, tzinfo=UTC))
    assert any(isinstance(e, Say) and "overdue for calibration" in e.text for e in later)


def test_snap_mark_where_repeat_help_and_stop(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("take a picture")
    assert job.effects == [Snap()]
    job.say("mark")
    assert job.log.records(job.ref)[-1].kind == "remark"
    assert "Step 2 of 9" in job.say("where am i")
    assert "Coil resistance" in job.say("repeat")
    assert "scratch that" in job.say("help")
    job.say("stop")
    assert job.effects[-1] == End()
    job.again()


def test_a_remark_in_between_is_kept_and_moves_nothing(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("note socket is brown from heat")
    assert job.here == "coil"
    assert job.log.records(job.ref)[-1].body["entry"]["text"].endswith("brown from heat")
    assert "Why" in job.say("next"), "the remark is not the reading that is asked for"
    job.say("no")
    assert "Withdrawn" in job.say("scratch that")
    assert job.here == "coil"
    job.again()


def test_a_choice_by_its_number(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "damage")
    assert "the choices are" in job.say("five").lower()
    assert job.say("two").startswith("Corroded: not good.")
    assert job.results()["damage"] == "fail"


def test_a_scanned_serial(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "old")
    job.now += timedelta(seconds=3)
    job.send(Scanned("INV-0042", job.now))
    part = job.log.records(job.ref)[-2].body["part"]
    assert part == {"part": "connector", "move": "removed", "serial": "INV-0042"}
    job.say("next")
    assert job.log.records(job.ref)[-2].body["part"]["serial"] == "no serial number"


def test_a_correction_made_elsewhere_counts(tmp_path: Path) -> None:
    job = at_step(tmp_path, "tank-level-sender", "full", meter="none")
    wrong = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    entry = parse("nine point zero ohms").to_json()
    verdict = {**wrong.body["verdict"], "result": "fail"}
    body = {**wrong.body, "entry": entry, "verdict": verdict, "why": "misread"}
    job.log.append(job.ref, "correction", body, at=job.now, refers_to=wrong.number)
    job.state = job.guide.replay(stored(job.log.records(job.ref)))
    assert job.results()["empty"] == "fail"
    assert job.here == "full"


@pytest.mark.parametrize("seed", range(12))
def test_any_words_at_any_time_leave_a_state_that_the_log_brings_back(
    tmp_path: Path, seed: int
) -> None:
    import random

    rng = random.Random(seed)
    name = rng.choice(shipped())
    job = Job(tmp_path, name, **FACTS.get(name, {}))
    words = ["next", "back", "skip", "confirmed", "no", "repeat", "scratch that", "pause", "resume",
             "what is the limit", "last value", "start the timer", "stop the timer", "how long",
             "ninety ohms", "ten point four bar", "open circuit", "cavity two red", "sound",
             "five point zero volts", "note something", "hand me", "twelve", "red"]  # fmt: skip
    for _ in range(60):
        if rng.random() < 0.3 and job.step is not None:
            answer(job)
        else:
            job.say(rng.choice(words))
    job.again()
    assert job.log.verify(job.ref) == []


def readings(job: Job) -> list[tuple[str, str]]:
    entries = [r.body["entry"] for r in job.log.records(job.ref) if r.kind == "reading"]
    return [(each["value"], each["unit"]) for each in entries]


@pytest.mark.parametrize("answer", ["thirteen", "13", "the first one", "first"])
def test_a_question_with_two_candidates_takes_the_one_chosen(tmp_path: Path, answer: str) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    said = job.send(Said(TWO, job.now, {"how": "voice"}))
    assert said.startswith("Thirteen kilohms or thirty kilohms? | Say it again")
    job.again()  # the question and its candidates are in the log
    job.say(answer)
    assert readings(job) == [("13", "kOhm")], "with the unit of the question, not of the step"
    asked = next(r for r in job.log.records(job.ref) if r.kind == "question")
    taken = next(r for r in job.log.records(job.ref) if r.kind == "reading")
    assert taken.refers_to == asked.hash


TWO = Entry(
    "unclear", value="13", unit="kOhm", alternatives=("30",),
    reason="thirteen kilohms or thirty kilohms?", text="thirteen kilohms",
)  # fmt: skip


def test_a_value_that_two_units_share_is_not_chosen_by_its_number(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    same = Entry(
        "unclear", value="90", unit="kOhm", alternatives=("90",),
        reason="ninety kilohms or ninety ohms?", text="ninety",
    )  # fmt: skip
    job.send(Said(same, job.now, {"how": "voice"}))
    job.say("the second one")
    assert readings(job) == [("90", "Ohm")]


def test_a_hedged_reading_is_asked_about_and_yes_takes_it(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    assert "Is it ninety ohms, as the meter shows it?" in job.say("about ninety ohms")
    assert readings(job) == []
    job.again()
    assert "inside" in job.say("yes")
    assert readings(job) == [("90", "Ohm")]
    assert job.here == "pull-in"


def test_yes_takes_nothing_where_nothing_was_offered(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("over ninety ohms")
    job.say("yes")
    assert readings(job) == []
    assert job.here == "coil"


def test_a_reading_or_a_wire_is_no_choice_and_leaves_the_older_question(tmp_path: Path) -> None:
    job = at_step(tmp_path, "rudder-angle-sender", "body")
    job.say("rusty")
    assert "Step 2 still wants: 1 sound" in job.say("ninety ohms")
    assert "Step 2 still wants" in job.say("cavity one red")
    records = job.log.records(job.ref)
    assert [r.kind for r in records].count("question") == 3
    assert "withdrawal" not in [r.kind for r in records]
    job.say("sound")
    rusty = next(r for r in records if r.kind == "question")
    choice = next(r for r in job.log.records(job.ref) if "choice" in r.body)
    assert choice.refers_to == rusty.hash
    assert record_text(choice).endswith("“sound”  good")
    job.again()


def test_a_reading_of_another_kind_does_not_answer_a_question(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("five volts")
    job.say("ninety ohms")
    taken = next(r for r in job.log.records(job.ref) if r.kind == "reading")
    assert taken.refers_to is None, "what was said of the volts is still open"


def test_a_fact_that_limits_depend_on_is_asked_before_the_first_step(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay")
    assert job.said[-1] == "Step 1 of 10. Coil voltage: 12 V or 24 V?"
    assert "must be known" in job.say("skip")
    assert "1 12 V, 2 24 V" in job.say("forty eight volts")
    job.say("twenty four volts")
    assert job.here == "isolated"
    job.again()
    job.say("confirmed")
    job.say("three hundred and sixty ohms")
    reading = next(r for r in job.log.records(job.ref) if r.kind == "reading")
    assert reading.body["limit_why"] == "24 V coil (system is 24 V)"
    assert reading.body["verdict"]["result"] == "pass"


@pytest.mark.parametrize(
    ("said", "result"),
    [("24 V", "pass"), ("twenty four", "pass"), ("two", "pass"), ("1", "fail"),
     ("12 volts", "fail")],
)  # fmt: skip
def test_a_fact_in_the_words_that_come_to_mind(tmp_path: Path, said: str, result: str) -> None:
    job = Job(tmp_path, "relay")
    for words in (said, "confirmed", "360 ohms"):
        job.say(words)
    assert job.results()["coil"] == result


def test_a_fact_answered_again_counts_as_last_said(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay")
    job.say("12 volts")
    job.say("back")
    job.say("24 volts")
    job.again()
    job.say("confirmed")
    assert "24 V coil" in job.say("what is the limit")
    job.say("back")
    job.say("back")
    job.say("scratch that")
    assert job.here == "system"
    job.say("next")
    assert job.course_facts() == {"system": "12 V"}, "the older answer stands again"


def test_a_number_can_be_a_fact_and_choose_limits(tmp_path: Path) -> None:
    path = tmp_path / "heated.toml"
    path.write_text(
        'name = "heated"\ntitle = "Heated"\nversion = "1"\ncautions = ["Hot."]\n'
        'sources = ["invented"]\n[facts.air]\nask = "Air temperature"\nunit = "Cel"\n'
        '[[steps]]\nid = "probe"\nkind = "measure"\nask = "Probe"\nunit = "Ohm"\n'
        'window = { by = "air", table = [[0, 100], [100, 140]], tolerance = 1 }\n'
    )
    job = Job(tmp_path / "home", load(path))
    job.say("seventy seven degrees fahrenheit")  # 25 °C
    assert job.course_facts() == {"air": "25"}
    assert "From one hundred and nine to one hundred and eleven ohms" in job.say("limit")
    job.again()
    assert "inside" in job.say("one hundred and ten ohms")


def test_the_limit_of_a_point_is_its_own(tmp_path: Path) -> None:
    job = at_step(tmp_path, "current-loop", "loop", meter="none")
    assert job.say("what is the limit").startswith("Zero percent: from three point nine two to")
    job.say("four point zero zero milliamps")
    assert job.say("what is the limit").startswith("Twenty five percent: from seven point nine two")


def test_the_limits_of_a_travel_and_of_a_time_are_told(tmp_path: Path) -> None:
    job = at_step(tmp_path, "end-stops", "teach")
    assert job.say("limit") == "At most sixty seconds."
    job = at_step(tmp_path / "other", "position-sender", "travel", meter="none")
    said = job.say("limit")
    assert said.startswith("Rising; every reading from zero point three zero to four point seven")
    assert "both ways within zero point zero five volts" in said


@pytest.mark.parametrize(
    ("seen", "said", "value", "unit"),
    [("2.46", "volts", "2.46", "V"), ("2.46", "millivolts", "2.46", "mV"),
     ("246", "mV", "246", "mV")],
)  # fmt: skip
def test_a_unit_alone_answers_which_unit_it_was(
    tmp_path: Path, seen: str, said: str, value: str, unit: str
) -> None:
    job = at_step(tmp_path, "relay", "pull-in", meter="none")
    bare = Entry("unclear", value=seen, text=seen, reason="the unit could not be seen: mV or V?")
    job.send(Said(bare, job.now, {"how": "photo"}))
    assert "does not take" not in job.say(said)
    assert (value, unit) in readings(job)
    taken = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    asked = next(r for r in job.log.records(job.ref) if r.kind == "question")
    assert taken.refers_to == asked.hash, "the number is that of the picture"


def test_a_unit_of_another_kind_answers_nothing(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "pull-in", meter="none")
    before = len(readings(job))
    bare = Entry("unclear", value="2.46", text="2.46", reason="the unit could not be seen")
    job.send(Said(bare, job.now, {"how": "photo"}))
    job.say("ohms")
    assert len(readings(job)) == before


def test_a_unit_alone_picks_the_candidate_that_has_it(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    same = Entry(
        "unclear", value="90", unit="kOhm", alternatives=("90",),
        reason="ninety kilohms or ninety ohms?", text="ninety",
    )  # fmt: skip
    job.send(Said(same, job.now, {"how": "voice"}))
    job.say("ohms")
    assert readings(job) == [("90", "Ohm")]


def test_a_confirmation_and_a_reason_keep_their_sound(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay", system="12 V")
    for words, clip in (("confirmed", "c1"), ("skip", "c2"), ("it is soldered in", "c3")):
        entry = parse(words, job.guide.context(job.state))
        job.state, effects = job.guide.take(
            job.state, Said(entry, job.now, {"how": "voice"}, (clip,))
        )
    (skip,) = (e for e in effects if isinstance(e, Store))
    assert (skip.evidence, skip.body["source"]["how"]) == (("c3",), "voice")
    assert (skip.body["from"], skip.body["step"]) == ("coil", "pull-in")


def test_a_meter_is_not_named_for_what_it_cannot_measure(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "dry")
    oil = next(r for r in job.log.records(job.ref) if r.kind == "reading")
    assert oil.body["entry"]["unit"] == "Cel"
    assert oil.body["meter"] is None, "a multimeter without a temperature range"


def unclear(job: Job, reason: str, heard: str, value: str | None = None) -> str:
    """An utterance that the ear asks about. heard: its likeliest words."""
    unit = "bar" if value else None
    entry = Entry("unclear", value=value, unit=unit, reason=reason, text=heard)
    return job.send(Said(entry, job.now, {"how": "voice", "heard": heard}))


def test_a_command_that_was_not_clear_is_no_open_question(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "dry", meter="none")
    job.say("cylinder one eight point three bar")
    assert unclear(job, "withdraw or stop?", "undo").startswith("Withdraw or stop?")
    assert "Withdrawn: cylinder one eight point three bar" in job.say("undo")
    job.again()
    records = job.log.records(job.ref)
    asked = next(r for r in records if r.kind == "question")
    reading = next(r for r in records if "8.3" in str(r.body.get("entry")))
    gone = [r.refers_to for r in records if r.kind == "withdrawal"]
    assert {asked.hash, reading.hash} <= set(gone)


def test_a_reading_is_no_answer_to_a_command_that_was_not_clear(tmp_path: Path) -> None:
    job = at_step(tmp_path, "compression", "dry", meter="none")
    unclear(job, "repeat or eighty bar?", "repeat")
    job.say("cylinder one ten point nine bar")
    assert [r.refers_to for r in job.log.records(job.ref) if r.kind == "reading"][-1] is None


@pytest.mark.parametrize(
    ("answer", "said"), [("the second one", "Paused."), ("the first one", "Cylinder one four bar")]
)
def test_a_command_can_be_the_candidate_chosen(tmp_path: Path, answer: str, said: str) -> None:
    job = at_step(tmp_path, "compression", "dry", meter="none")
    unclear(job, "four bar or pause?", "four bar", "4")
    assert job.say(answer).startswith(said)
    job.again()


def test_a_caution_is_confirmed_by_no_choice(tmp_path: Path) -> None:
    job = Job(tmp_path, "relay", system="12 V")
    unclear(job, "yes or stop?", "yes")
    job.say("the first one")
    assert job.here == "isolated"


def test_yes_takes_the_one_command_that_was_asked_about(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    unclear(job, "did you say back?", "back")
    job.say("yes")
    assert job.here == "isolated"


def test_a_yes_that_was_not_clear_is_no_serial_number(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "old")
    job.say("four one seven")
    assert "Yes or eight?" in unclear(job, "yes or eight?", "yes")
    assert job.say("yes").startswith("Connector removed: four one seven.")
    records = job.log.records(job.ref)
    asked = next(r for r in records if r.kind == "question")
    assert asked.hash in [r.refers_to for r in records if r.kind == "withdrawal"]


def test_what_was_not_clear_is_no_reason_to_skip(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    job.say("skip")
    assert "not clear" in unclear(job, "ninety ohms or nineteen ohms?", "ninety ohms", "90")
    assert job.here == "coil"
    job.say("note it is soldered in")
    assert job.log.records(job.ref)[-1].body["why"] == "it is soldered in"


@pytest.mark.parametrize("said", ["neither", "no"])
def test_neither_of_the_candidates_drops_the_question(tmp_path: Path, said: str) -> None:
    job = at_step(tmp_path, "relay", "coil", meter="none")
    job.send(Said(TWO, job.now, {"how": "voice"}))
    assert "Neither." in job.say(said)
    job.again()
    assert job.guide.context(job.state).question is False
    assert "There is nothing to choose" in job.send(
        Said(Entry("command", command="first", text="the first one"), job.now)
    )
    assert readings(job) == []


def test_only_what_a_question_names_can_be_chosen(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "pull-in", meter="none")
    job.say("2 volts 3 amps")
    before = readings(job)
    job.say("the first one")
    assert readings(job) == before, "nobody said 2 A"


def test_a_second_answer_that_is_not_clear_is_not_asked_in_a_circle(tmp_path: Path) -> None:
    job = at_step(tmp_path, "relay", "coil")
    assert "Say it again, please" in job.say("ten six ohms")
    assert "in other words, or type it" in job.say("ten six ohms")


def test_the_ear_knows_the_choices_and_that_a_question_is_open(tmp_path: Path) -> None:
    job = at_step(tmp_path, "rudder-angle-sender", "body")
    assert job.guide.context(job.state).choices == ("sound", "loose", "broken", "corroded")
    assert job.say("it's loose").startswith("Loose: not good.")
    job.say("ten six volts")
    assert job.guide.context(job.state).question is True
    assert job.guide.context(job.state).choices == ()


def test_a_colour_alone_belongs_to_the_cavity_that_was_named(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "before")
    assert job.say("red").startswith("Cavity 1, red. | Cavity 2.")
    assert job.say("white with blue tracer").startswith("Cavity 2, white with blue tracer.")
    assert "choices" not in job.say("five volts")
    wires = [r.body["entry"] for r in job.log.records(job.ref) if r.kind == "wire"]
    assert [(each["pins"], each["colour"]) for each in wires] == [(["1"], "RD"), (["2"], "WH/BU")]


def test_a_colour_that_was_hardly_heard_is_asked_about(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "before")
    entry = parse("red")
    said = job.send(Said(entry, job.now, {"how": "voice", "heard": "red", "confidence": "0.60"}))
    assert "Cavity 1, red" not in said
    assert job.log.records(job.ref)[-1].kind == "question"


def test_a_picture_of_another_kind_of_quantity_is_no_reading_of_the_step(tmp_path: Path) -> None:
    job = at_step(tmp_path, "voltage-drop", "source")
    ohms = Entry("reading", value="24.6", unit="Ohm", text="24.6")
    said = job.send(Said(ohms, job.now, {"how": "photo", "file": "wrong-range.jpg"}))
    assert said.startswith("Twenty four point six ohms, where this step wants volts.")
    assert readings(job) == []
    assert job.say("twenty four point six volts").startswith("Twenty four point six volts.")


def test_a_question_about_another_pin_stays_open(tmp_path: Path) -> None:
    job = at_step(tmp_path, "connector-rework", "before")
    for pin, colour in (("1", "RD"), ("2", "BK")):
        entry = Entry("unclear", pins=(pin,), colour=colour, reason="not sure", text="mumble")
        job.send(Said(entry, job.now, {"how": "voice", "confidence": "0.5"}))
    records = job.log.records(job.ref)
    assert "withdrawal" not in [r.kind for r in records], "nobody asked again about pin one"
    first = next(r for r in records if r.kind == "question")
    job.say("cavity one red")
    wire = next(r for r in job.log.records(job.ref) if r.kind == "wire")
    assert wire.refers_to == first.hash
    job.again()
