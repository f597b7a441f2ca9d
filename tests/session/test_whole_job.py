"""One whole job, by voice alone and by keyboard alone: the same record but for how it was taken.

What is spoken comes as wave files from speech synthesisers, through the ear and the loop that a
user runs. Like a person, the speaker says again what was asked about; but nothing may be taken for
something else.
"""

from __future__ import annotations

import queue
import shutil
import subprocess
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from fieldnote.joblog import JobLog
from fieldnote.language import Context, Grammar
from fieldnote.procedure import load
from fieldnote.session.guide import Guide, View
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Effect, Say, stored
from fieldnote.session.guide_loop import run
from fieldnote.session.interpret import Listener
from fieldnote.speech import Utterance, available, engines, utterances

PROCEDURE = """\
name = "compressor"
title = "Compressor of a cold store (invented)"
version = "1"
cautions = ["Isolate, lock off and prove dead. Follow the maker's manual and local codes."]
sources = ["invented for this test"]
[facts.system]
ask = "Voltage system: 12 V or 24 V?"
choices = ["12 V", "24 V"]
[[steps]]
id = "isolated"
kind = "caution"
ask = "Isolated, locked off and proved dead. Confirm."
[[steps]]
id = "before"
kind = "wire"
ask = "Wire colours before taking apart"
cavities = ["1", "2", "3"]
[[steps]]
id = "clutch"
kind = "measure"
ask = "Resistance of the clutch coil"
unit = "Ohm"
window = { nominal = 24, tolerance = 3 }
why = "12 V coil"
[[steps.variants]]
when = { system = "24 V" }
window = { nominal = 95, tolerance = 5 }
why = "24 V coil"
[[steps]]
id = "compression"
kind = "points"
ask = "Compression"
unit = "bar"
window = { from = "9.0", to = "13.0" }
points = [{ label = "cylinder one" }, { label = "cylinder two" }, { label = "cylinder three" }]
spread = { at_most = "10 %", of = "highest" }
[[steps]]
id = "belt"
kind = "observe"
ask = "Belt: sound, worn or torn?"
choices = ["sound", "worn", "torn"]
good = ["sound"]
[[steps]]
id = "screws"
kind = "tighten"
ask = "Tighten the two screws"
unit = "N.m"
window = { nominal = "2.4", tolerance = "0.3" }
order = ["screw one", "screw two"]
rounds = [50, 100]
[[steps]]
id = "settle"
kind = "timed"
ask = "Let it settle"
mode = "wait"
seconds = 1
[[steps]]
id = "fitted"
kind = "part"
ask = "Number of the clutch fitted"
part = "clutch"
move = "fitted"
[[steps]]
id = "supply"
kind = "measure"
ask = "Supply"
unit = "V"
[[steps]]
id = "after"
kind = "wire"
ask = "Wire colours after"
cavities = ["1", "2", "3"]
same_as = "before"
[[steps]]
id = "remark"
kind = "remark"
ask = "Anything to note?"
"""

WIRES = (
    ("cavity one red", "Cavity 1, red."),
    ("cavity two black", "Cavity 2, black."),
    ("cavity three white with blue tracer", "Cavity 3, white with blue tracer."),
)
# What is said, and what must be answered to it. "|" parts other words for the same thing.
JOB: Sequence[tuple[str, str]] = (
    ("twenty four volts|two", "24 V."),
    ("confirmed", "Step 3 of 12. Wire colours before"),
    *WIRES,
    ("what is the limit|the limit|what's the limit", "From ninety to one hundred ohms; 24 V coil"),
    ("repeat|say again|once more", "Step 4 of 12. Resistance of the clutch coil."),
    ("ninety five point two ohms|ninety five point two", "Ninety five point two ohms: inside."),
    ("cylinder one eleven point four bar", "Cylinder one eleven point four bar: inside."),
    ("stand by|one moment please|pause", "Paused."),
    ("resume", "Step 5 of 12. Compression."),
    ("cylinder two eight point three bar", "outside, zero point seven bar below the limit"),
    ("scratch that|withdraw that", "Withdrawn: cylinder two eight point three bar."),
    ("cylinder two ten point nine bar", "Cylinder two ten point nine bar: inside."),
    ("cylinder three eleven point six bar", "Spread zero point seven bar: inside."),
    ("back|go back", "Step 5 of 12. Compression."),
    ("next", "Step 6 of 12. Belt"),
    ("sound|one", "Sound: good."),
    ("next", "Now 100 percent, in the same order."),
    ("two point four newton meters", "Screw one two point four newton meters: inside."),
    ("two point five newton meters", "Screw two two point five newton meters: inside."),
    ("start the timer|start timer", "from now."),
    ("four one seven", "Step 10 of 12. Supply."),
    ("skip|skip this step", "Why is this step skipped?"),
    ("note connector is loose|note pump is loose", "Skipped."),
    *WIRES[:2],
    ("what was the last value|last value|last reading", "Cavity 2, black: same."),
    WIRES[2],
    ("note pump is leaking|note bearing is noisy", "Noted."),
    ("stop", "Stopped. The job stays open."),
)


class Counting(Drive):
    """Counts what has been taken, so that the speaker waits for the answer."""

    taken = 0

    def text(self, words: str) -> tuple[Effect, ...]:
        self.taken += 1
        return super().text(words)

    def heard(self, *args: Any, **more: Any) -> tuple[Effect, ...]:
        self.taken += 1
        return super().heard(*args, **more)


@dataclass
class Talk:
    """What has been said to the person, and how to wait for the answer."""

    drive: Counting
    turns: queue.SimpleQueue[tuple[int, str, str | None]]
    said: str = ""
    asked: int = 0
    fault: AssertionError | queue.Empty | None = None

    def show(self, view: View, effects: Sequence[Effect]) -> None:
        words = " ".join(effect.text for effect in effects if isinstance(effect, Say))
        self.turns.put((self.drive.taken, words, view.step and view.step.id))

    def answered(self) -> str:
        """What was said to the line or utterance that has just been handed over."""
        self.asked += 1
        taken = -1
        while taken != self.asked:
            taken, self.said, _ = self.turns.get(timeout=60)
        return self.said

    def all_of(self, items: Iterator[Any]) -> Iterator[Any]:
        """The items; they are fed by a thread, where a fault would be lost."""
        try:
            yield from items
        except (AssertionError, queue.Empty) as fault:
            self.fault = fault

    def done(self) -> Drive:
        if self.fault is not None:
            raise self.fault
        return self.drive

    def wait_for(self, step_id: str) -> None:
        """Until the clock has brought the job there."""
        while self.turns.get(timeout=60)[2] != step_id:
            pass


def start(home: Path) -> Talk:
    path = home / "compressor.toml"
    home.mkdir()
    path.write_text(PROCEDURE)
    log = JobLog.open(home / "log")
    facts = {"asset": "invented"}
    ref = log.start_job(facts, at=datetime.now(UTC)).ref
    drive = Counting(log, ref, Guide(load(path), facts), clock=lambda: datetime.now(UTC))
    return Talk(drive, queue.SimpleQueue())


def by_keyboard(home: Path) -> Drive:
    talk = start(home)

    def lines() -> Iterator[str]:
        for line, expected in JOB:
            if line == "four one seven":
                talk.wait_for("fitted")  # the clock ends the wait
            yield line.partition("|")[0]
            said = talk.answered()
            assert expected in said, f"{line!r} was answered: {said}"

    run(talk.drive, lines=talk.all_of(lines()), show=talk.show)
    return talk.done()


VOICES = ("flite:rms", "flite:slt", "espeak:en-us", "flite:awb", "espeak:en-gb", "flite:kal16")


def spoken(words: str, voice: str, folder: Path) -> Path:
    """A wave file of the words in one synthetic voice, with a pause before and after."""
    raw, wave = folder / "raw.wav", folder / "said.wav"
    program, name = voice.split(":")
    command: list[Any] = ["flite", "-voice", name, "-t", words, "-o", raw]
    if program == "espeak":
        command = ["espeak-ng", "-v", name, "-s", "140", "-w", raw, words]
    subprocess.run(command, check=True)
    subprocess.run(["sox", raw, "-r", "16000", "-c", "1", wave, "pad", "0.6", "0.9"], check=True)
    return wave


def by_voice(home: Path, log: Callable[[str], None]) -> Drive:
    talk = start(home)
    grammar = Grammar.build(Context(labels=talk.drive.context().labels))

    def voice() -> Iterator[Utterance]:
        for line, expected in JOB:
            if line == "four one seven":
                talk.wait_for("fitted")
            yield from say(line.split("|"), expected)
            if line == "four one seven" and "Is that right?" in talk.said:
                yield from say(["yes", "that's right"], "Clutch fitted: four one seven.")

    def say(ways: Sequence[str], expected: str) -> Iterator[Utterance]:
        if ways == ["four one seven"]:
            expected = "Four one seven. Is that right?"
        tries = [(words, voice) for voice in VOICES for words in ways]
        for words, voice in tries:
            for utterance in utterances(spoken(words, voice, home)):
                yield utterance
                said = talk.answered()
                log(f"{words} ({voice}): {said}")
                if expected in said:
                    return
        raise AssertionError(f"{ways} was never understood: {talk.said}")

    run(
        talk.drive,
        voice=talk.all_of(voice()),
        listener=Listener(engines(grammar, names=["phoneme"])),
        show=talk.show,
    )
    return talk.done()


def record(drive: Drive) -> list[tuple[str, dict[str, Any]]]:
    """What the job's log says, but for how it was taken and what had to be asked again."""
    records = drive.log.records(drive.ref)
    questions = {each.hash for each in records if each.kind == "question"}
    kept = []
    for each in records:
        of_a_question = each.kind == "withdrawal" and each.refers_to in questions
        if each.kind in {"start", "question"} or of_a_question:
            continue
        body = {key: value for key, value in each.body.items() if key != "source"}
        entry = dict(body.get("entry") or {})
        if each.body.get("source", {}).get("how") == "timer":
            entry, body = {}, {key: body[key] for key in ("step", "meter")}
        # "ninety five point two" takes the step's unit, and a tracer may be said otherwise
        body["entry"] = {k: v for k, v in entry.items() if k not in {"text", "unit_from"}}
        body.pop("why", None)  # a skip's reason is free words
        kept.append((each.kind, body))
    return kept


@pytest.mark.skipif(
    not all(map(shutil.which, ("espeak-ng", "flite", "sox"))),
    reason="needs espeak-ng, flite and sox",
)
def test_by_voice_alone_and_by_keyboard_alone_give_the_same_record(tmp_path: Path) -> None:
    if not any(each.name == "phoneme" and each.present for each in available()):
        pytest.skip("the embedded engine is not installed")
    typed = by_keyboard(tmp_path / "typed")
    talk: list[str] = []
    voiced = by_voice(tmp_path / "voiced", talk.append)
    assert record(voiced) == record(typed), "\n".join(talk)
    for drive in (typed, voiced):
        assert drive.view().step is None, "the whole job is done"
        assert drive.log.verify(drive.ref) == []  # type: ignore[attr-defined]
        assert drive.guide.replay(stored(drive.log.records(drive.ref))) == drive.state
        assert set(drive.guide.results(drive.state).values()) <= {"pass", "unchecked"}
    taken = [
        each
        for each in voiced.log.records(voiced.ref)
        if (each.body.get("source") or {}).get("how") == "voice"
    ]
    assert len(taken) >= 18
    for each in taken:
        assert all(e.path.read_bytes()[:4] == b"fLaC" for e in each.evidence)  # type: ignore[attr-defined]
        assert each.evidence, "every spoken entry, confirmation and reason keeps its sound"  # type: ignore[attr-defined]
