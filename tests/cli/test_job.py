"""A whole job by typed text, through the command line."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import SAMPLES, Runner


def started(fieldnote: Runner, *more: str) -> None:
    done = fieldnote(
        "start", "--ref", "J1", "--asset", "invented sender", "--serial", "X-17",
        "--procedure", "rudder-angle-sender", "--meter", "bench-meter", *more,
    )  # fmt: skip
    assert done.status == 0, done.err


def test_from_start_to_report(fieldnote: Runner, tmp_path: Path) -> None:
    started(fieldnote)
    taken = fieldnote(
        "take", "text", "confirmed", "sound", "24.6 volts dc", "confirmed",
        "pin one red", "pin two black", "pin three white with a blue tracer",
    )  # fmt: skip
    assert taken.status == 0
    assert "24.6 V DC  inside: 22.0 to 28.8 V" in taken.out
    assert "pin 3  WH/BU" in taken.out
    kept = fieldnote("take", "photo", "--caption", "open", SAMPLES / "connector-open.jpg")
    assert kept.status == 0
    taken = fieldnote(
        "take", "text", "eleven point five oh megohms", "one oh three point two ohms",
        "twenty seven point four ohms", "starboard 131.0 ohms", "scratch that",
        "starboard 181.0 ohms", "bracket 21 inch pounds", "boot torn",
    )  # fmt: skip
    assert "103.2 Ω  UNDECIDED" in taken.out
    assert "27.4 Ω  OUTSIDE: 20 ± 2 Ω" in taken.out
    assert "withdrawn: withdrawn by the speaker" in taken.out
    assert "21 in·lbf  inside: 2.0 to 2.6 N·m" in taken.out

    shown = fieldnote("show")
    assert shown.status == 0
    assert "181.0" in shown.out
    assert fieldnote("verify").status == 0
    report = tmp_path / "r.html"
    assert fieldnote("report", "-o", report).status == 0
    assert "27.4" in report.read_text("utf-8")
    assert fieldnote("close").status == 0
    refused = fieldnote("take", "text", "ten ohms", "--job", "J1")
    assert refused.status == 2
    assert "closed" in refused.err
    assert fieldnote("reopen", "J1", "--why", "test").status == 0
    assert fieldnote("take", "text", "note again open").status == 0


def test_what_is_said_of_another_step_is_asked_about(fieldnote: Runner) -> None:
    started(fieldnote)
    fieldnote("take", "text", "confirmed", "sound", "24.6 volts dc", "confirmed")
    fieldnote("take", "text", "pin one red", "pin two black", "pin three white with a blue tracer")
    fieldnote("take", "photo", "--caption", "open", SAMPLES / "connector-open.jpg")
    taken = fieldnote("take", "text", "11.50 megohms", "starboard 181.0 ohms")
    assert taken.status == 1
    assert "you said starboard, which is not this step" in taken.out
    again = fieldnote("take", "text", "103.0 ohms")
    assert again.status == 0
    assert "unclear" not in fieldnote("show").out  # answered


def test_a_question_is_no_reading_until_it_is_answered(fieldnote: Runner) -> None:
    fieldnote("start", "--asset", "pump (invented)")
    asked = fieldnote("take", "text", "ten six ohms")
    assert asked.status == 1
    assert "unclear" in asked.out
    assert fieldnote("take", "text", "ten point six ohms").status == 0
    found = fieldnote("find", "--over", "10 ohms", "--under", "11 ohms")
    assert "10.6 Ω" in found.out
    assert "106" not in found.out


def test_correct_and_withdraw_keep_the_old_value(fieldnote: Runner) -> None:
    fieldnote("start", "--asset", "pump (invented)")
    fieldnote("take", "text", "ten point six ohms", "five volts")
    done = fieldnote("correct", "2", "ten point four ohms", "--why", "misread")
    assert "10.4 Ω" in done.out
    assert fieldnote("withdraw", "3", "--why", "wrong pins").status == 0
    shown = fieldnote("show").out
    assert "10.6" in shown
    assert "10.4" in shown
    assert "wrong pins" in shown
    wrong = fieldnote("correct", "2", "hand me the other one", "--why", "x")
    assert wrong.status == 2
    assert "cannot stand there" in wrong.err


def test_a_correction_in_its_own_breath_takes_the_last_back(fieldnote: Runner) -> None:
    started(fieldnote)
    fieldnote("take", "text", "confirmed", "sound", "24.9 volts dc", "no, make that 24.6 volts")
    counted = fieldnote("find", "--over", "24 volts", "--under", "25 volts").out
    assert "24.6 V" in counted
    assert "24.9 V" not in counted
    fieldnote("start", "--ref", "J2", "--asset", "pump (invented)")
    fieldnote("take", "text", "ten ohms", "no, make that 11 ohms", "--job", "J2")
    counted = fieldnote("find", "--over", "1 ohm").out
    assert "11 Ω" in counted
    assert "10 Ω" not in counted


def test_find_and_history(fieldnote: Runner) -> None:
    for ref in ("A", "B"):
        fieldnote("start", "--ref", ref, "--asset", "pump (invented)", "--serial", "P9")
        fieldnote("take", "text", "coolant inlet 20 ohms", "note seal weeps", "--job", ref)
    assert fieldnote("find", "weeps").out.count("no. 3") == 2
    assert fieldnote("find", "--serial", "P9", "--over", "12 ohms").status == 0
    assert fieldnote("find", "--over", "1 kiloohm").status == 1
    assert fieldnote("find", "--over", "gibberish").status == 2
    assert "Trend: too few" in fieldnote("history", "coolant inlet", "--serial", "P9").out


def test_two_jobs_of_one_reference_are_refused(fieldnote: Runner) -> None:
    started(fieldnote)
    again = fieldnote("start", "--ref", "J1", "--asset", "x")
    assert again.status == 2
    assert "exists already" in again.err


def test_procedures_and_selfcheck(fieldnote: Runner) -> None:
    assert "rudder-angle-sender" in fieldnote("procedures").out
    shown = fieldnote("procedure", "rudder-angle-sender")
    assert "⚠" in shown.out
    assert "local codes" in shown.out
    checked = fieldnote("selfcheck")
    assert checked.status == 0, checked.out
    for part in ("ear: phoneme", "eye: print", "microphone", "voice", "job log", "disk space"):
        assert part in checked.out


def test_every_command_explains_itself(fieldnote: Runner) -> None:
    commands = [
        line.split()[0]
        for line in fieldnote("--help").out.split("Commands:")[1].splitlines()
        if line.startswith("  ") and line[2] != " "
    ]
    assert {"parse", "hear", "look", "start", "take", "report"} <= set(commands)
    for command in commands:
        assert len(fieldnote(command, "--help").out) > 100
