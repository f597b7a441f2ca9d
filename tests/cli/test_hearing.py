"""Sound that is piped into the commands, and what they say to options that don't go together."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import soundfile

from tests.cli.conftest import SAMPLES, Runner

SPOKEN = SAMPLES / "2-wires.wav"


def piped(home: Path, content: bytes, *arguments: str) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, "-m", "fieldnote", *arguments],
        input=content,
        capture_output=True,
        env=os.environ | {"FIELDNOTE_HOME": str(home), "COLUMNS": "120"},
        timeout=300,
        check=False,
    )
    out, err = done.stdout.decode(), done.stderr.decode()
    assert "Traceback" not in err, err
    return subprocess.CompletedProcess(done.args, done.returncode, out, err)


def raw(file: Path) -> tuple[bytes, int]:
    samples, rate = soundfile.read(file, dtype="int16")
    return samples.tobytes(), rate


def test_a_stream_is_heard_as_the_file_is(fieldnote: Runner, home: Path) -> None:
    """The same entries; where they are in it may differ by what is cut off at their ends."""
    from_file = fieldnote("hear", SPOKEN, "--json", "--engine", "readings")
    content, rate = raw(SPOKEN)
    form = f"{rate}:1:16"
    streamed = piped(home, content, "hear", "--stream", form, "--json", "--engine", "readings")
    one, other = (
        [json.loads(line) for line in ran.splitlines()] for ran in (from_file.out, streamed.stdout)
    )
    assert [line["heard"] for line in one] == [line["heard"] for line in other]
    assert [set(line) for line in one] == [set(line) for line in other]
    assert {line["file"] for line in other} == {"-"}


def test_partial_words_come_only_where_they_are_asked_for(home: Path) -> None:
    content = SPOKEN.read_bytes()
    ran = piped(
        home, content, "hear", "--stream", "wav", "--json", "--partial", "--engine", "phoneme"
    )
    lines = [json.loads(line) for line in ran.stdout.splitlines()]
    partial = [line for line in lines if line["kind"] == "partial"]
    assert all(set(line) == {"kind", "file", "heard"} for line in partial)
    assert len(lines) > len(partial)


def test_a_stream_is_taken_into_a_job(fieldnote: Runner, home: Path) -> None:
    assert fieldnote("start", "--asset", "harness (invented)").status == 0
    ran = piped(home, SPOKEN.read_bytes(), "take", "microphone", "--stream", "wav", "--silent")
    assert ran.returncode == 0, ran.stderr
    shown = fieldnote("show")
    assert "spoken" in shown.out
    assert fieldnote("verify").status == 0


def test_of_a_file_only_what_follows_the_start_word(fieldnote: Runner) -> None:
    assert fieldnote("start", "--asset", "harness (invented)").status == 0
    ran = fieldnote("take", "sound", SPOKEN, "--start-word", "lighthouse")
    assert "nothing was said" in ran.out
    assert ran.status == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("hear",), "--microphone"),
        (("hear", "a.wav", "--microphone"), "name sound files, or"),
        (("hear", "a.wav", "--partial"), "--partial"),
        (("hear", "--stream", "mp3"), "RATE:CHANNELS:BITS"),
        (("take", "microphone", "--talk-key", "spacebar"), "page-down"),
        (("take", "microphone", "--stream", "wav", "--talk-key", "space"), "start word"),
        (("guide", "--talk-key", "space"), "--voice"),
        (("guide", "--voice", "--talk-key", "space"), "terminal"),
        (("take", "microphone", "--start-word", "oh"), "too short"),
    ],
)
def test_what_does_not_go_together_is_said(
    fieldnote: Runner, arguments: tuple[str, ...], said: str
) -> None:
    if arguments[0] != "hear":
        fieldnote("start", "--asset", "relay (invented)", "--procedure", "relay")
    ran = fieldnote(*arguments, stdin="")
    assert ran.status == 2, ran
    assert said in ran.err.replace("\n", " ")
