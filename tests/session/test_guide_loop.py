"""The loop of a guided job: typed, spoken and timed, to the end."""

import shutil
import subprocess
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldnote.joblog import JobLog
from fieldnote.procedure import Procedure, load
from fieldnote.session.guide import Guide
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Say
from fieldnote.session.guide_loop import run
from fieldnote.session.interpret import Heard

PROCEDURE = """\
name = "short"
title = "A short job"
version = "1"
cautions = ["Follow the maker's manual."]
sources = ["invented"]
[[steps]]
id = "safe"
kind = "caution"
ask = "Isolated. Confirm."
[[steps]]
id = "coil"
kind = "measure"
ask = "Coil"
unit = "Ohm"
window = { nominal = 90, tolerance = 9 }
[[steps]]
id = "settle"
kind = "timed"
ask = "Wait"
mode = "wait"
seconds = 1
[[steps]]
id = "remark"
kind = "remark"
ask = "Anything to note?"
"""


@pytest.fixture
def short(tmp_path: Path) -> Procedure:
    path = tmp_path / "short.toml"
    path.write_text(PROCEDURE)
    return load(path)


def drive(home: Path, procedure: Procedure) -> Drive:
    log = JobLog.open(home)
    facts = {"asset": "invented"}
    ref = log.start_job(facts, at=datetime.now(UTC)).ref
    return Drive(log, ref, Guide(procedure, facts), clock=lambda: datetime.now(UTC))


def test_by_keyboard_alone_with_the_clock_running(tmp_path: Path, short: Procedure) -> None:
    job = drive(tmp_path / "home", short)
    said: list[str] = []

    def typed() -> Iterator[str]:
        yield from ("confirmed", "", "picture nothing-there.jpg", "90.0 ohms", "start the timer")
        # The wait ends by the clock alone; only then is the remark typed.
        deadline = time.monotonic() + 30
        while not any("Anything to note" in words for words in said):
            assert time.monotonic() < deadline, said
            time.sleep(0.02)
        yield "note all well"
        yield "stop"
        yield "90 ohms"  # never taken: the job has been left

    shown = []
    run(
        job,
        lines=typed(),
        show=lambda view, effects: shown.append(view.number),
        speak=lambda effect: said.append(effect.text),
    )
    assert any("nothing-there.jpg" in words for words in said), "told, and the job went on"
    assert said[-1].startswith("Stopped")
    kinds = [record.kind for record in job.log.records(job.ref)]
    assert kinds.count("reading") == 2, "the coil, and the time waited"
    assert kinds.count("remark") == 1
    assert shown[0] == 1
    assert shown[-1] == 4


def test_it_ends_when_nothing_more_can_come(tmp_path: Path, short: Procedure) -> None:
    job = drive(tmp_path / "home", short)
    run(job, lines=iter(["confirmed"]), show=lambda *_: None)
    step = job.view().step
    assert step is not None
    assert step.id == "coil"


@pytest.mark.skipif(not shutil.which("espeak-ng"), reason="needs espeak-ng and sox")
def test_by_voice_alone(tmp_path: Path, short: Procedure) -> None:
    from fieldnote.language import Grammar
    from fieldnote.session.interpret import Listener
    from fieldnote.speech import available, engines, utterances

    if not any(each.name == "phoneme" and each.present for each in available()):
        pytest.skip("the embedded engine is not installed")
    sound = tmp_path / "said.wav"
    clips = []
    for number, words in enumerate(("confirmed", "ninety ohms")):
        raw, clip = tmp_path / f"raw{number}.wav", tmp_path / f"clip{number}.wav"
        subprocess.run(["espeak-ng", "-v", "en-us", "-s", "140", "-w", raw, words], check=True)
        subprocess.run(
            ["sox", raw, "-r", "16000", "-c", "1", clip, "pad", "0.6", "0.9"], check=True
        )
        clips.append(clip)
    subprocess.run(["sox", *clips, sound], check=True)
    job = drive(tmp_path / "home", short)
    context = job.guide.context(job.state)
    listener = Listener(engines(Grammar.build(context), names=["phoneme"]))
    said: list[Say] = []
    run(job, voice=utterances(sound), listener=listener, show=lambda *_: None, speak=said.append)
    records = job.log.records(job.ref)
    assert records[1].body["acknowledged"] is True
    # One engine alone may be unsure of a synthetic voice: then it asks, and takes no other value.
    answer = next(r for r in records if r.kind in {"reading", "question"})
    if answer.kind == "reading":
        assert (answer.body["entry"]["value"], answer.body["entry"]["unit"]) == ("90", "Ohm")
    else:
        assert any("again" in each.text for each in said)
    assert answer.body["source"]["how"] == "voice"
    clip = answer.evidence[0]  # type: ignore[attr-defined]
    assert clip.path.read_bytes()[:4] == b"fLaC"


def test_what_goes_wrong_with_the_sound_is_told_and_the_job_goes_on(
    tmp_path: Path, short: Procedure
) -> None:
    from fieldnote.errors import BadInputError
    from fieldnote.session.notices import Growing, Listening, Notice

    class Deaf:
        def interpret(self, samples: object, context: object) -> Heard:
            raise AssertionError("no utterance came")

    def failing() -> Iterator[Notice | Growing | Listening]:
        yield Notice("The microphone has stopped giving sound.")
        yield Listening()
        yield Growing("ten point")
        raise BadInputError("There are values in it that are no sound.")

    told: list[str] = []
    growing: list[str] = []
    job = drive(tmp_path / "home", short)

    def typed() -> Iterator[str]:
        deadline = time.monotonic() + 30
        while not any("no sound" in words for words in told):
            assert time.monotonic() < deadline, told
            time.sleep(0.02)
        yield "confirmed"

    run(
        job,
        lines=typed(),
        voice=failing(),
        listener=Deaf(),
        show=lambda *_: None,
        speak=lambda effect: told.append(effect.text),
        growing=growing.append,
    )
    assert any("stopped giving sound" in words for words in told)
    assert growing == ["listening", "ten point"]
    assert job.view().number == 2
