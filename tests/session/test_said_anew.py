"""Corrections and late answers in a guided job, with all that follows from them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog, Record
from fieldnote.session.record import Recorder
from fieldnote.session.start import begin

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class Clock:
    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=2)
        return self.now


def job(home: Path, procedure: str, *lines: str, **told: str) -> Recorder:
    log = JobLog.open(home)
    ref = begin(log, at=START, procedure=procedure, told=told, asset="invented").ref
    recorder = Recorder(log, ref, clock=Clock())
    for line in lines:
        recorder.take_text(line)
    return recorder


def last(recorder: Recorder, step: str) -> Record:
    """The latest record of a step that is no move."""
    records = recorder.log.records(recorder.ref)
    return [r for r in records if r.body.get("step") == step and r.kind != "step"][-1]


def results(recorder: Recorder) -> dict[str, str]:
    assert recorder.drive is not None
    fresh = Recorder(recorder.log, recorder.ref, clock=Clock())
    assert fresh.drive is not None
    return dict(fresh.drive.guide.results(fresh.drive.state))


RELAY = ("confirmed", "90 ohms", "7.2 volts", "3.1 volts")


def test_what_was_worked_out_from_a_corrected_reading_is_worked_out_anew(tmp_path: Path) -> None:
    recorder = job(tmp_path, "relay", *RELAY, system="12 V")
    assert last(recorder, "ratio").body["entry"]["value"].startswith("43.05")
    done = recorder.correct(last(recorder, "drop-out").number, "3.6 volts", "misread")
    assert [r.kind for r in done.records] == ["correction", "correction"]
    ratio = last(recorder, "ratio")
    assert ratio.body["entry"]["value"] == "50"
    assert ratio.body["source"]["formula"] == "drop_out / pull_in * 100 = 3.6 / 7.2 * 100"
    assert "worked out anew" in ratio.body["why"]
    assert recorder.log.verify(recorder.ref) == []


def test_limits_that_depend_on_a_corrected_reading_follow_it(tmp_path: Path) -> None:
    recorder = job(tmp_path, "tank-level-sender", gauge="plain gauge")
    for line in ("confirmed", "10.0 ohms", "180 ohms", "25 percent", "48 ohms"):
        recorder.take_text(line)
    assert results(recorder)["at-sender"] == "pass"
    recorder.correct(last(recorder, "level").number, "50 percent", "read from the wrong end")
    assert results(recorder)["at-sender"] == "fail", "at half full it should be 90 Ω"
    judged = last(recorder, "at-sender").body
    assert (judged["window"]["lower"], judged["window"]["upper"]) == ("84", "96")
    assert judged["entry"]["value"] == "48", "the reading itself stays"


def test_a_spread_follows_its_points(tmp_path: Path) -> None:
    recorder = job(tmp_path, "compression", "confirmed", "80 degrees celsius")
    recorder.take_text("11.0, 11.2, 11.1, 10.9 bar")
    assert last(recorder, "dry").body["entry"]["value"] == "0.3"
    first = next(
        r for r in recorder.log.records(recorder.ref)
        if (r.body.get("entry") or {}).get("label") == "cylinder one"
    )  # fmt: skip
    recorder.correct(first.number, "cylinder one 9.4 bar", "typed wrongly")
    spread = last(recorder, "dry").body
    assert (spread["entry"]["value"], spread["verdict"]["result"]) == ("1.8", "fail")


def test_what_was_worked_out_goes_with_a_withdrawn_reading(tmp_path: Path) -> None:
    recorder = job(tmp_path, "relay", *RELAY, system="12 V")
    done = recorder.withdraw(last(recorder, "drop-out").number, "wrong relay")
    assert [r.kind for r in done.records] == ["withdrawal", "withdrawal"]
    assert not {"ratio", "drop-out"} & set(results(recorder))


def test_a_choice_is_corrected_to_another_and_judged(tmp_path: Path) -> None:
    recorder = job(tmp_path, "rudder-angle-sender", "confirmed", "sound")
    number = last(recorder, "body").number
    with pytest.raises(BadInputError, match="1 sound, 2 loose"):
        recorder.correct(number, "rusty", "looked again")
    recorder.correct(number, "broken", "looked again")
    assert results(recorder)["body"] == "fail"
    assert last(recorder, "body").body["choice"] == "broken"


def test_a_question_about_a_choice_is_answered_by_one(tmp_path: Path) -> None:
    recorder = job(tmp_path, "rudder-angle-sender", "confirmed", "rusty")
    asked = last(recorder, "body")
    assert asked.kind == "question"
    (record,) = recorder.answer(asked.number, "4").records
    assert (record.kind, record.body["choice"]) == ("remark", "corroded")
    assert results(recorder)["body"] == "fail"


def test_a_corrected_wire_is_compared_again(tmp_path: Path) -> None:
    lines = ("confirmed", "sound", "24.6 volts", "confirmed", "cavity 1 red", "cavity 2 blue")
    recorder = job(tmp_path, "rudder-angle-sender", *lines)
    wrong = last(recorder, "wires")
    assert wrong.body["verdict"]["result"] == "fail"
    with pytest.raises(BadInputError, match="names no wire"):
        recorder.correct(wrong.number, "5 ohms", "misspoken")
    recorder.correct(wrong.number, "black", "misspoken")
    corrected = last(recorder, "wires").body
    assert corrected["verdict"]["result"] == "pass"
    assert corrected["entry"]["pins"] == ["2"]


def test_what_was_worked_out_cannot_be_corrected_by_hand(tmp_path: Path) -> None:
    recorder = job(tmp_path, "relay", *RELAY, system="12 V")
    with pytest.raises(BadInputError, match="worked out"):
        recorder.correct(last(recorder, "ratio").number, "50 percent", "nicer")


def test_a_corrected_fact_chooses_anew(tmp_path: Path) -> None:
    recorder = job(tmp_path, "relay", "12 volts")
    recorder.correct(last(recorder, "system").number, "24 volts", "read the plate again")
    fresh = Recorder(recorder.log, recorder.ref, clock=Clock())
    for line in ("confirmed", "360 ohms"):
        fresh.take_text(line)
    assert results(fresh)["coil"] == "pass"
