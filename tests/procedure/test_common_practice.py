"""Figures that the trade works by: each is common practice, no source.

They are check values only. One invented procedure holds them all, so that they are tried as limits,
as variants by the job's facts, against the clock, and as an interlock; no shipped procedure uses
them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from fieldnote.acceptance import Quantity, judge
from fieldnote.procedure import Procedure, load, load_register
from fieldnote.procedure.steps import Measure
from fieldnote.session.guide_drive import rehearse

PROCEDURE = """\
name = "bench-set"
title = "Setting a position sender, and what its drive does with it"
version = "1"
cautions = ["The drive moves with great force: keep clear. Follow the maker's manual."]
sources = ["common practice, no source"]
[facts.control]
ask = "What reads the sender?"
choices = ["plain gauge", "learning control"]
[facts.stop]
ask = "Mechanical stop, in degrees?"
choices = ["32", "42", "52"]

[[steps]]
id = "set"
kind = "measure"
ask = "Sender on the bench, drive fully down"
unit = "Ohm"
window = { nominal = 11, tolerance = 1 }
[[steps.variants]]
when = { control = "learning control" }
window = { from = 9, to = 12 }
why = "taken up by calibration"
[[steps.variants]]
when = { control = "plain gauge" }
window = { nominal = "11.0", tolerance = "0.0" }
why = "must be set right at 11"

[[steps]]
id = "screws"
kind = "measure"
ask = "Torque of the small screws in the plastic housing"
unit = "[lbf_av].[in_i]"
window = { at_most = 21 }
why = "the housing cracks beyond"

[[steps]]
id = "teach"
kind = "timed"
ask = "Teach both ends: calibration mode falls out"
mode = "within"
seconds = 45

[[steps]]
id = "down"
kind = "measure"
ask = "Angle shown, fully down"
unit = "deg"
window = { nominal = -5, tolerance = 2 }
why = "about; -40 means that it has not been calibrated"

[[steps]]
id = "up"
kind = "measure"
ask = "Angle shown, fully up"
unit = "deg"
window = { at_most = 52 }
[[steps.variants]]
when = { stop = "32" }
window = { at_most = 32 }
why = "stop of 32°"
[[steps.variants]]
when = { stop = "42" }
window = { at_most = 42 }
why = "stop of 42°"

[[steps]]
id = "after"
kind = "measure"
ask = "Angle after one extra tap of the switch"
unit = "deg"

[[steps]]
id = "tap"
kind = "derived"
ask = "What the extra tap adds"
unit = "deg"
formula = "after - up"
window = { from = 1, to = 3 }

[[steps]]
id = "clearance"
kind = "measure"
ask = "What is left below the platform"
unit = "[in_i]"
window = { at_least = 1 }
why = "an extra tap of the switch moves a couple of degrees further"

[[steps]]
id = "start"
kind = "observe"
ask = "Raised too far, does the engine start: kept or started?"
choices = ["kept", "started"]
good = ["kept"]

[[steps]]
id = "verdict"
kind = "decide"
ask = "What the readings say"
rows = [
  { when = { start = "fail" }, say = "The interlock does not hold: out of use until it does." },
  { when = { down = "fail" }, say = "It has not been calibrated." },
]
"""


@pytest.fixture
def procedure(tmp_path: Path) -> Procedure:
    path = tmp_path / "bench-set.toml"
    path.write_text(PROCEDURE)
    return load(path)


def answers(procedure: Procedure, lines: list[str], **facts: str) -> dict[str, str]:
    """What is answered to each line."""
    start = datetime(2026, 3, 1, 9, tzinfo=UTC)
    return dict(rehearse(procedure, facts, lines, start=start, register=load_register()))


GOOD = {
    "set": "11.0 ohms",
    "screws": "21 inch pounds",
    "teach": "start the timer",
    "wait": "wait 40",
    "done": "next",
    "down": "minus 5 degrees",
    "up": "41 degrees",
    "after": "43 degrees",
    "clearance": "1 inch",
    "start": "kept",
}
FACTS = {"control": "plain gauge", "stop": "42"}


@pytest.mark.parametrize(
    ("control", "ohms", "inside"),
    [
        # 11 ± 1 Ω on the bench, where nothing else is known: both ends are good themselves.
        # A control that learns its ends takes up anything from about 9 to 12 Ω by calibration.
        ("learning control", "9.0", True), ("learning control", "9.4", True),
        ("learning control", "12.0", True), ("learning control", "8.9", False),
        ("learning control", "12.1", False),
        # With a plain gauge it must be set right at 11, with the drive fully down.
        ("plain gauge", "11.0", True), ("plain gauge", "10.4", False),
        ("plain gauge", "9.4", False), ("plain gauge", "12.0", False),
    ],
)  # fmt: skip
def test_what_reads_the_sender_chooses_the_window(
    procedure: Procedure, control: str, ohms: str, inside: bool
) -> None:
    said = answers(procedure, [f"{ohms} ohms"], control=control, stop="42")[f"{ohms} ohms"]
    assert (": inside" in said) is inside
    assert (": outside" in said) is not inside


@pytest.mark.parametrize(
    ("ohms", "result"), [("10", "pass"), ("12", "pass"), ("9.9", "fail"), ("12.1", "fail")]
)
def test_bench_set_of_a_position_sender(procedure: Procedure, ohms: str, result: str) -> None:
    step = procedure.step("set")
    assert isinstance(step, Measure)
    assert step.limits is not None
    assert judge(Quantity(ohms, "Ohm"), step.limits.fixed("Ohm")).result == result


@pytest.mark.parametrize(
    ("step", "line", "answer"),
    [
        # Small fasteners in plastic housings take about 21 in·lbf and crack beyond: 2.37 N·m.
        ("screws", "2.37 newton meters", "inside"), ("screws", "22 inch pounds", "outside"),
        ("screws", "2.6 newton meters", "outside"),
        # Calibration mode falls out after about 45 s.
        ("wait", "wait 40", "inside"), ("wait", "wait 41", "outside"),  # and 5 s to say "next"
        # A calibrated drive reads about -5° fully down; -40 means it has not been calibrated.
        ("down", "minus 6 degrees", "inside"), ("down", "minus 40 degrees", "outside"),
        # About an inch is left below a platform, since an extra tap of the switch moves a couple of
        # degrees further.
        ("clearance", "26 millimeters", "inside"), ("clearance", "0.5 inches", "outside"),
        ("after", "42.9 degrees", "inside"), ("after", "45 degrees", "outside"),
        # A drive raised too far must keep the engine from starting.
        ("start", "kept", "good"), ("start", "started", "not good"),
    ],
)  # fmt: skip
def test_a_figure_of_common_practice(
    procedure: Procedure, step: str, line: str, answer: str
) -> None:
    lines = GOOD | {step: line}
    said = answers(procedure, list(lines.values()), **FACTS)
    told = said["next"] if step == "wait" else said[line]
    assert f": {answer}" in told
    everything = " ".join(said.values())
    assert ("not been calibrated" in everything) is (line == "minus 40 degrees")
    assert ("out of use" in everything) is (line == "started")


@pytest.mark.parametrize(
    ("stop", "angle", "inside"),
    # Mechanical stops come as 32, 42 and 52°.
    [("32", "31", True), ("32", "33", False), ("42", "41", True), ("42", "43", False),
     ("52", "51", True), ("52", "53", False)],
)  # fmt: skip
def test_the_stop_that_is_fitted_chooses_the_window(
    procedure: Procedure, stop: str, angle: str, inside: bool
) -> None:
    line = f"{angle} degrees"
    said = answers(procedure, list((GOOD | {"up": line}).values()), **(FACTS | {"stop": stop}))
    assert (": inside" in said[line]) is inside


def test_the_facts_are_asked_for_where_the_job_does_not_tell_them(procedure: Procedure) -> None:
    said = answers(procedure, ["plain gauge", "42", *GOOD.values()])
    assert "Mechanical stop" in said["plain gauge"]
    assert ": inside" in said["41 degrees"]
