"""From the frames of a video to the readings of a travel."""

from datetime import UTC, datetime
from pathlib import Path

import cv2
import pytest

from fieldnote.acceptance import Window
from fieldnote.acceptance.travel import TravelLimits, TravelPoint, check_travel
from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from fieldnote.photo import Burst, BurstReading
from fieldnote.procedure import load, load_register
from fieldnote.session.guide import Guide
from fieldnote.session.guide_drive import Drive
from fieldnote.session.guide_events import Say
from fieldnote.session.travel_video import travel_of_burst
from tests.photo.panels import meter, photograph


def frames(values: list[str | None], unit: str | None = "V", rate: float = 10) -> Burst:
    """Ten frames a second; a value that a frame did not give is None."""
    return Burst(
        tuple(
            BurstReading(i, i / rate, value, value or "", 0.9 if value else 0.1)
            for i, value in enumerate(values)
        ),
        unit,
    )


def rising(seconds: float, volts_a_second: float = 1.0) -> list[str | None]:
    """A display renewed four times a second while the value rises."""
    return [f"{int(i / 2.5) / 4 * volts_a_second:.2f}" for i in range(int(seconds * 10))]


def test_one_reading_every_half_second_and_the_last() -> None:
    points = travel_of_burst(frames(rising(3.3)), "V")
    assert [p.seconds for p in points] == ["0", "0.5", "1", "1.5", "2", "2.5", "3", "3.2"]
    assert points[0] == TravelPoint("0.00", seconds="0")
    assert points[-1].value == "3.00"


def test_a_steady_rise_has_no_dead_spot_and_a_held_one_has() -> None:
    limits = TravelLimits("rising", smallest_move="0.2", largest_jump="1.0")
    steady = travel_of_burst(frames(rising(4)), "V")
    assert check_travel(steady[:-1], "V", limits).result == "pass"
    held = [*rising(2), *["1.75"] * 15, *[f"{1.75 + float(v or 0):.2f}" for v in rising(2)]]
    report = check_travel(travel_of_burst(frames(held), "V"), "V", limits)
    finding = report.finding("dead spots")
    assert finding is not None
    assert finding.result == "fail"


def test_frames_that_were_not_read_are_left_out_up_to_a_gap() -> None:
    values = rising(4)
    values[10:20] = [None] * 10
    assert len(travel_of_burst(frames(values), "V")) >= 6
    values[5:25] = [None] * 20
    with pytest.raises(BadInputError, match=r"could not be read for 2\.1 s from 0\.4 s on"):
        travel_of_burst(frames(values), "V")


def test_the_unit_seen_is_converted_or_refused() -> None:
    assert travel_of_burst(frames(["900", "1000"], "mV"), "V")[0].value == "0.9"
    assert travel_of_burst(frames(["0.9", "1.0"], None), "V")[0].value == "0.9"
    with pytest.raises(BadInputError, match="shows Ω, and this travel is in V"):
        travel_of_burst(frames(["900", "1000"], "Ohm"), "V")


def test_nothing_read_is_no_travel() -> None:
    with pytest.raises(BadInputError, match="Too little"):
        travel_of_burst(frames([None] * 20), "V")


def test_ends_are_judged_as_ever() -> None:
    limits = TravelLimits("rising", first=Window.plus_minus("0", "0.1", "V"), fewest=3)
    report = check_travel(travel_of_burst(frames(rising(3)), "V"), "V", limits)
    assert report.finding("first end").result == "pass"  # type: ignore[union-attr]


TRAVEL = """\
name = "swing"
title = "The swing of a lever (invented)"
version = "1"
cautions = ["Keep clear of the lever."]
sources = ["invented"]
[[steps]]
id = "swing"
kind = "travel"
ask = "From end to end"
unit = "V"
direction = "rising"
fewest = 8
first = { nominal = "0.50", tolerance = "0.10" }
last = { nominal = "4.50", tolerance = "0.10" }
largest_jump = "0.80"
smallest_move = "0.10"
"""


def test_a_real_video_of_a_display_and_the_same_from_a_file(tmp_path: Path) -> None:
    shown = [f"{0.5 + 0.4 * n:.2f}" for n in range(11)]
    film = tmp_path / "swing.mp4"
    size = (640, 480)
    made = cv2.VideoWriter(str(film), cv2.VideoWriter.fourcc(*"mp4v"), 4, size)
    for number, value in enumerate(shown):
        picture = photograph(meter(value, "V"), 40, size, fill=0.6)
        for _ in range(2 if number < len(shown) - 1 else 3):  # renewed twice a second
            made.write(picture)
    made.release()
    table = tmp_path / "swing.csv"
    table.write_text("value,seconds\n" + "".join(f"{v},{n / 2}\n" for n, v in enumerate(shown)))
    (tmp_path / "swing.toml").write_text(TRAVEL)
    log = JobLog.open(tmp_path / "home")
    facts = {"asset": "invented", "meter": "bench-meter"}
    now = datetime(2026, 3, 1, tzinfo=UTC)
    for path in (table, film):
        ref = log.start_job(facts, at=now).ref
        guide = Guide(load(tmp_path / "swing.toml"), facts, load_register())
        effects = Drive(log, ref, guide, clock=lambda: now).series(path)
        said = " ".join(each.text for each in effects if isinstance(each, Say))
        assert "everything asked is met" in said, said
        record = next(r for r in log.records(ref) if r.kind == "reading")
        assert record.evidence[0].path.read_bytes() == path.read_bytes()
        taken = record.body["entry"]["values"]
        assert set(map(float, taken)) <= set(map(float, shown)), "no value that was not shown"
        assert record.body["source"]["how"] == ("typed" if path is table else "photo")
