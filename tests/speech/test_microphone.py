"""Spoken sessions through a virtual microphone: PulseAudio plays them, and the commands that a
person runs listen. What they read back is played into the same microphone."""

from __future__ import annotations

import os
import re
import select
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldnote.joblog import JobLog
from fieldnote.speech.segment import Segmenter
from tests.speech.conftest import silence

BREATH = 0.3
"""s of silence between what is said and its answer, which comes within the ear's own pause."""
PATIENCE = 60.0

PAUSE = 1.5

LATE = 16_000
"""Bytes (half a second) by which the recording may lag behind what is played."""

PAGE_DOWN = b"\x1b[6~"


class Session:
    """A running command in a terminal of its own, and the loudspeaker before its microphone."""

    def __init__(self, environment: dict[str, str], folder: Path, spoken: Callable) -> None:
        self.environment, self._folder, self._spoken = environment, folder, spoken
        self.room, self.seen = folder / "room.raw", ""

    @contextmanager
    def running(self, *arguments: str) -> Iterator[Session]:
        self._terminal, end = os.openpty()
        process = subprocess.Popen(
            [sys.executable, "-m", "fieldnote", *arguments],
            env=self.environment,
            stdin=end,
            stdout=end,
            stderr=end,
            start_new_session=True,
        )
        os.close(end)
        self.process = process
        with self.room.open("wb") as out:
            recording = subprocess.Popen(
                ["parec", "--rate=16000", "--channels=1", "--format=s16le"],
                env=self.environment,
                stdout=out,
            )
        try:
            self.wait_for("Listening")
            yield self
        finally:
            for each in (process, recording):
                each.kill()
                each.wait()
            os.close(self._terminal)

    def press(self, key: bytes) -> None:
        os.write(self._terminal, key)

    def say(self, *words: str, pause: float = 1.5, wait: bool = True) -> subprocess.Popen[bytes]:
        file = self._folder / "said.wav"
        parts = [silence(0.3)]
        for text in words:
            parts += [self._spoken(text), silence(pause)]
        soundfile.write(file, np.concatenate(parts), 16_000)
        playing = subprocess.Popen(["paplay", str(file)], env=self.environment)
        if wait:
            playing.wait()
        return playing

    def answered(self, words: str, pattern: str) -> str:
        """Say it, and wait for the answer on the screen, and aloud to its end. Gives what was
        printed."""
        self.say(words, pause=PAUSE)
        said = self.room.stat().st_size - round(PAUSE * 32_000)
        before = self.wait_for(pattern)
        deadline = time.monotonic() + PATIENCE
        while True:
            since = np.frombuffer(self.room.read_bytes()[said // 2 * 2 + LATE :], "<i2")
            loud = np.flatnonzero(since)
            if len(loud) and len(since) - loud[-1] > 16_000:
                return before
            assert time.monotonic() < deadline, "it was not answered aloud"
            time.sleep(0.1)

    def wait_for(self, pattern: str) -> str:
        """Until the command has printed it. Gives all that was printed since the last waiting."""
        deadline = time.monotonic() + PATIENCE
        while not (found := re.search(pattern, self.seen)):
            assert time.monotonic() < deadline, self.seen
            if select.select([self._terminal], [], [], 0.2)[0]:
                try:
                    self.seen += os.read(self._terminal, 4096).decode(errors="replace")
                except OSError:  # the command has left
                    assert re.search(pattern, self.seen), self.seen
        before, self.seen = self.seen[: found.end()], self.seen[found.end() :]
        return before


@pytest.fixture
def session(sound_server: dict[str, str], tmp_path: Path, spoken: Callable) -> Session:
    environment = {**sound_server, "FIELDNOTE_HOME": str(tmp_path / "log"), "COLUMNS": "120"}
    with JobLog.open(tmp_path / "log") as log:
        log.start_job({"asset": "bilge pump (invented)"}, at=datetime.now(UTC), ref="pump")
    return Session(environment, tmp_path, spoken)


def taken(folder: Path) -> list[tuple[str, str | None, str | None]]:
    """Kind, value and unit of what was taken; each must have the clip that it was heard in."""
    with JobLog.open(folder / "log") as log:
        records = log.records("pump")[1:]
    found = []
    for record in records:
        (clip,) = record.evidence
        assert clip.path.read_bytes()[:4] == b"fLaC"
        entry = record.body["entry"]
        found.append((record.kind, entry["value"], entry["unit"]))
    return found


def test_a_whole_session_is_heard_and_its_read_back_is_not(
    session: Session, tmp_path: Path
) -> None:
    """Everything in the room is recorded beside it, to know that the read-back was loud there."""
    with session.running("take", "microphone"):
        session.answered("ten point six ohms", r"10\.6 Ω")
        session.answered("zero five ohms", "unclear")  # 0.5 or 5? It must ask, whoever hears it
        session.answered("twelve point five volts", r"12\.5 V")
        session.answered("pin four to ground open circuit", "open")
        session.say("stop the job", "stop")
        session.process.wait(PATIENCE)
    found = taken(tmp_path)
    assert found.count(("reading", "10.6", "Ohm")) == 1
    assert found.count(("reading", "12.5", "V")) == 1
    assert found.count(("reading", None, None)) == 1, "the open circuit"
    assert [kind for kind, _, _ in found].count("question") == 1
    assert len(found) == 4
    room = np.frombuffer(session.room.read_bytes(), "<i2").astype(np.float32) / 32768
    pieces = Segmenter(hangover=BREATH)
    heard = [*pieces.feed(room), *pieces.finish()]
    assert len(heard) >= 5 + 4, "each entry was read back aloud"


def test_only_what_is_meant_for_it_is_taken(session: Session, tmp_path: Path) -> None:
    """By a key (a remote's or foot switch's page-down), and behind a start word; all else is
    chatter, though it may be a reading."""
    options = ("--talk-key", "page-down", "--start-word", "workshop", "--silent")
    with session.running("take", "microphone", *options):
        session.say("did you bring the big ladder", "nine volts")
        session.say("workshop twelve volts")
        chatter = session.wait_for("12 V")
        assert "9 V" not in chatter
        session.say("workshop", "eight amps")
        session.wait_for("8 A")
        session.press(PAGE_DOWN)
        session.say("ten point six ohms")
        session.wait_for(r"10\.6 Ω")
        session.say("nine volts")
        session.press(PAGE_DOWN)
        session.say("stop the job")
        session.process.wait(PATIENCE)
    units = [(value, unit) for _, value, unit in taken(tmp_path)]
    assert units == [("12", "V"), ("8", "A"), ("10.6", "Ohm")]


def test_a_microphone_that_is_pulled_out_loses_nothing(session: Session, tmp_path: Path) -> None:
    with session.running("take", "microphone", "--silent"):
        playing = session.say("ten point six ohms", pause=0.2, wait=False)
        session.wait_for("…")  # words are coming
        playing.wait()
        sink = subprocess.run(
            ["pactl", "list", "short", "modules"], env=session.environment, capture_output=True
        )
        module = next(line for line in sink.stdout.decode().splitlines() if "null-sink" in line)
        subprocess.run(
            ["pactl", "unload-module", module.split()[0]], env=session.environment, check=True
        )
        session.wait_for("stopped giving sound")
        subprocess.run(
            ["pactl", "load-module", "module-null-sink", "sink_name=session", "rate=48000"],
            env=session.environment,
            check=True,
            stdout=subprocess.DEVNULL,
        )
        session.wait_for("is back")
        session.say("twelve volts")
        session.wait_for("12 V")
        session.say("stop the job")
        session.process.wait(PATIENCE)
    first, second = taken(tmp_path)
    assert first[1:] == ("10.6", "Ohm"), "taken, or asked about if its last sound was lost"
    assert second == ("reading", "12", "V")
