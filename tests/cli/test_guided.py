"""The guided job as a person meets it: lines into the command, a flat battery in the middle."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import Runner


def test_a_flat_battery_loses_nothing(fieldnote: Runner, home: Path) -> None:
    assert fieldnote("start", "--asset", "relay (invented)", "--procedure", "relay").status == 0
    with subprocess.Popen(
        [sys.executable, "-m", "fieldnote", "guide"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"FIELDNOTE_HOME": str(home), "COLUMNS": "120"},
    ) as running:
        assert running.stdin is not None
        assert running.stdout is not None
        running.stdin.write("12 volts\nconfirmed\n90 ohms\n")
        running.stdin.flush()
        seen = ""
        while "step 4 of 10" not in seen:
            line = running.stdout.readline()
            assert line, seen
            seen += line
        running.kill()
    again = fieldnote("guide", stdin="what was the last value\nblah\nstop\n")
    assert again.status == 0
    assert "step 4 of 10" in again.out
    assert "step 3 of 10" not in again.out
    assert "Ninety ohms: inside." in again.out
    assert "Not understood: “blah”." in again.out
    assert "Step 4 still wants: a reading in volts." in again.out
    assert fieldnote("verify").status == 0


def test_a_rehearsal_answers_every_line(fieldnote: Runner) -> None:
    done = fieldnote(
        "rehearse", "relay", "--fact", "system=12 V", stdin="blah\nconfirmed\n90 ohms\nstop\n"
    )
    assert done.status == 0
    lines = done.out.splitlines()
    after = lines.index("> 90 ohms")
    assert lines[after + 1] == "Ninety ohms: inside."
    assert lines[after + 2].startswith("Step 3 of 9. ")
    assert lines[lines.index("> blah") + 1] == "Not understood: “blah”. Nothing was kept."


def test_facts_told_at_the_start_are_not_asked_again(fieldnote: Runner) -> None:
    begin = ("start", "--asset", "relay (invented)", "--procedure", "relay", "--fact")
    assert fieldnote(*begin, "system=24 V").status == 0
    seen = fieldnote("guide", stdin="confirmed\n360 ohms\nstop\n")
    assert "step 1 of 9" in seen.out
    assert "Three hundred and sixty ohms: inside." in seen.out


@pytest.mark.parametrize(
    ("fact", "words"),
    [("system=48 V", "one of: 12 V, 24 V"), ("sistem=24 V", "“system”"), ("system", "NAME=VALUE")],
)
def test_a_fact_that_does_not_fit_is_refused(fieldnote: Runner, fact: str, words: str) -> None:
    done = fieldnote("start", "--asset", "x", "--procedure", "relay", "--fact", fact)
    assert done.status == 2
    assert words in done.err
    assert "There is no job yet" in fieldnote("jobs").out
