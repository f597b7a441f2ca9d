"""Driving a guided job over a real log; the dry run; the screen."""

import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
import segno
from rich.console import Console

from fieldnote.errors import MissingPartError
from fieldnote.joblog import JobLog
from fieldnote.language import parse
from fieldnote.procedure import load, load_register
from fieldnote.session.camera import Camera
from fieldnote.session.guide import Guide
from fieldnote.session.guide_drive import Drive, rehearse
from fieldnote.session.guide_events import Say
from fieldnote.session.guide_screen import screen
from fieldnote.session.interpret import Heard

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


class Clock:
    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=2)
        return self.now


def drive(home: Path, name: str = "rudder-angle-sender", ref: str | None = None) -> Drive:
    log = JobLog.open(home)
    facts = {"asset": "invented", "meter": "bench-meter", "system": "12 V"}
    ref = ref or log.start_job(facts, at=START).ref
    return Drive(log, ref, Guide(load(name), facts, load_register()), clock=Clock())


def words(effects: tuple[object, ...]) -> str:
    return " ".join(effect.text for effect in effects if isinstance(effect, Say))


def test_spoken_typed_and_pictured_with_their_evidence(tmp_path: Path) -> None:
    job = drive(tmp_path / "home")
    assert "Step 1 of 13" in words(job.begin())
    job.text("confirmed")
    clip = job.log.keep(b"an invented sound", ".wav")
    entry = parse("sound", job.guide.context(job.state))
    job.heard(Heard(entry, "sound", 0.97, "test"), clip, start="0.10", end="0.90")
    record = job.log.records(job.ref)[-2]
    assert [each.sha256 for each in record.evidence] == [clip.sha256]  # type: ignore[attr-defined]
    assert record.body["choice"] == "sound"
    for line in ("24.6 volts", "confirmed", "cavity 1 red", "cavity 2 black"):
        job.text(line)
    assert "Alarm" in words(job.text("cavity three black"))
    job.text("scratch that")
    job.text("cavity three white with blue tracer")
    step = job.view().step
    assert step is not None
    assert step.id == "connector-photo"
    picture = tmp_path / "left.png"
    _picture(picture)
    assert "Picture kept" in words(job.picture(picture, "the open connector"))
    photo = next(r for r in job.log.records(job.ref) if r.kind == "photo")
    assert photo.body["caption"] == "the open connector"
    assert job.log.verify(job.ref) == []  # type: ignore[attr-defined]


def test_a_choice_that_was_hardly_heard_is_asked_about(tmp_path: Path) -> None:
    job = drive(tmp_path / "home")
    job.text("confirmed")
    clip = job.log.keep(b"an invented mumble", ".wav")
    entry = parse("sound", job.guide.context(job.state))
    said = words(job.heard(Heard(entry, "sound", 0.31, "test"), clip, start="0.10", end="0.90"))
    assert "Was it sound, number 1?" in said
    assert job.log.records(job.ref)[-1].kind == "question"
    job.text("one")
    assert any(r.body.get("choice") == "sound" for r in job.log.records(job.ref))


def test_a_part_is_named_by_the_code_on_it(tmp_path: Path) -> None:
    job = drive(tmp_path / "home", "connector-rework")
    for line in ("confirmed", "skip", "lens broken", "cavity 1 red", "cavity 2 red", "cavity 3 red",
                 "cavity 4 red", "clean"):  # fmt: skip
        job.text(line)
    label = tmp_path / "label.png"
    segno.make("INV-0042", micro=False).save(str(label), scale=8, border=4)
    assert "Connector removed: INV-0042" in words(job.picture(label))
    record = next(r for r in job.log.records(job.ref) if "part" in r.body)
    assert record.body["part"]["serial"] == "INV-0042"
    assert len(record.evidence) == 1  # type: ignore[attr-defined]


def _picture(path: Path) -> None:
    from PIL import Image

    Image.new("RGB", (64, 48), "grey").save(path)


def test_it_goes_on_where_it_was(tmp_path: Path) -> None:
    first = drive(tmp_path, "relay")
    for line in ("confirmed", "90 ohms"):
        first.text(line)
    again = drive(tmp_path, "relay", ref=first.ref)
    assert again.state == first.state
    assert "Step 3 of 9" in words(again.begin())


def test_a_correction_made_beside_it_is_seen(tmp_path: Path) -> None:
    job = drive(tmp_path, "relay")
    for line in ("confirmed", "90 ohms"):
        job.text(line)
    reading = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    body = {**reading.body, "entry": parse("95 ohms").to_json(), "why": "misread"}
    job.log.append(job.ref, "correction", body, at=START, refers_to=reading.number)
    assert "Ninety five ohms" in words(job.text("last value"))
    job.text("7 volts")
    numbers = [r.number for r in job.log.records(job.ref)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert job.state == job.guide.replay(job.state.stored)


def test_a_travel_from_a_file_keeps_the_file(tmp_path: Path) -> None:
    job = drive(tmp_path / "home", "end-stops")
    for line in ("90", "confirmed", "start the timer", "next", "2 degrees", "skip", "not fitted",
                 "6 millimeters"):  # fmt: skip
        job.text(line)
    path = tmp_path / "travel.csv"
    path.write_text("value,seconds\n2,0\n20,2\n40,4\n60,6\n80,8\n86,9\n")
    assert "everything asked is met" in words(job.series(path))
    record = [r for r in job.log.records(job.ref) if r.kind == "reading"][-1]
    kept = record.evidence[0]  # type: ignore[attr-defined]
    assert kept.path.read_bytes() == path.read_bytes()


def test_a_dry_run_stores_nothing_and_says_what_would_be_said() -> None:
    lines = ["confirmed", "sound", "24.6 V", "confirmed", "cavity 1 red", "cavity 2 black",
             "cavity 3 white with blue tracer", "picture", "11.50 megohms", "103.2 ohms",
             "27.4 ohms", "181.0 ohms", "21 inch pounds", "note loose", "picture"]  # fmt: skip
    run = list(
        rehearse(
            load("rudder-angle-sender"), {"meter": "bench-meter"}, lines,
            start=START, register=load_register(),
        )
    )  # fmt: skip
    assert run[0][0] == ""
    assert "undecided" in dict(run)["103.2 ohms"]
    assert "outside" in dict(run)["27.4 ohms"]
    assert run[-1][1].endswith("1 outside, 1 undecided, 6 inside. Say stop to end.")


def test_a_dry_run_can_let_time_pass() -> None:
    lines = ["confirmed", "cavity 1 red", "cavity 2 red", "cavity 3 white", "1 ohm",
             "start the timer", "wait 170", "wait 10"]  # fmt: skip
    run = list(rehearse(load("pt100"), {"class": "class B"}, lines, start=START))
    assert "seconds" in dict(run)["wait 170"]
    assert "Step 5 of 10" in dict(run)["wait 10"]


@pytest.mark.parametrize(
    ("line", "shown"),
    [("100.0 ohms", "✓ INSIDE"), ("27.4 ohms", "✗ OUTSIDE"), ("103.2 ohms", "? UNDECIDED")],
)
def test_the_screen_tells_the_verdict_without_colour(tmp_path: Path, line: str, shown: str) -> None:
    job = drive(tmp_path)
    for typed in ("confirmed", "sound", "24.6 V", "confirmed", "cavity 1 red", "cavity 2 black",
                  "cavity 3 white with blue tracer", "skip", "dark", "11.50 megohms"):  # fmt: skip
        job.text(typed)
    said = job.text(line)
    out = io.StringIO()
    Console(file=out, width=80, no_color=True).print(screen(job.view(), said))
    text = out.getvalue()
    assert shown in text
    assert "step 9 of 13" in text
    assert max(map(len, text.splitlines())) <= 80
    # Five lines of large letters for the value, and five for the verdict.
    assert sum("|" in row for row in text.splitlines()) >= 8


def test_the_screen_when_paused_and_at_the_end(tmp_path: Path) -> None:
    job = drive(tmp_path, "relay")
    job.text("pause")
    out = io.StringIO()
    Console(file=out, width=60, no_color=True).print(screen(job.view(), width=60))
    assert "PAUSED" in out.getvalue()


def test_the_cautions_stay_in_sight_on_a_small_terminal(tmp_path: Path) -> None:
    job = drive(tmp_path)
    said = job.begin()
    for typed in ("confirmed", "sound", "24.6 V", "confirmed", "cavity 1 red", "cavity 2 black",
                  "cavity 3 white with blue tracer", "skip", "dark", "11.50 megohms"):  # fmt: skip
        out = io.StringIO()
        console = Console(file=out, width=80, no_color=True)
        console.print(screen(job.view(), said, width=80, height=24))
        rows = out.getvalue().splitlines()
        assert len(rows) < 24, "\n".join(rows)
        step = job.view().step
        assert step is not None
        assert out.getvalue().count("⚠ CAUTION") == len(step.cautions)
        assert rows[-1].startswith("╰"), "the step stands last"
        said = job.text(typed)


def test_typed_words_that_are_not_understood_are_answered(tmp_path: Path) -> None:
    job = drive(tmp_path)
    assert [e.text for e in job.text("blah") if isinstance(e, Say)] == [
        "Not understood: “blah”. Nothing was kept.",
        "Step 1 still wants: confirmed, or stop.",
    ]
    run = list(rehearse(load("relay"), {"system": "12 V"}, ["blah"], start=START))
    assert run[1][1].startswith("Not understood: “blah”")


def test_to_take_a_picture_it_says_how(tmp_path: Path) -> None:
    said = drive(tmp_path).text("take a picture")
    assert any(isinstance(e, Say) and "phone page" in e.text for e in said)


@pytest.mark.parametrize(
    ("seconds", "result"), [(27, "pass"), (28, "pass"), (28.5, "fail")], ids=["27", "28", "28.5"]
)
def test_the_rudder_is_timed_from_a_file(tmp_path: Path, seconds: float, result: str) -> None:
    # SOLAS II-1, regulation 29.3.2: from 35° on either side to 30° on the other in at most 28 s.
    job = drive(tmp_path / "home", "steering-timing")
    for line in ("confirmed", "good"):
        job.text(line)
    rows = [(35 - 65 * i / 13, seconds * i / 13) for i in range(14)]
    path = tmp_path / "rudder.csv"
    path.write_text("value,seconds\n" + "".join(f"{a:.6f},{t:.6f}\n" for a, t in rows))
    said = words(job.series(path))
    assert job.guide.results(job.state)["to-starboard"] == result
    assert ("time: 28.5 s from 35 to -30°" in said) is (result == "fail")


def test_a_camera_takes_the_picture_that_is_asked_for(tmp_path: Path) -> None:
    job = drive(tmp_path / "home", "connector-rework")
    job.text("confirmed")
    film = tmp_path / "bench.avi"  # stands for a camera: OpenCV opens both alike
    writer = cv2.VideoWriter(str(film), cv2.VideoWriter.fourcc(*"MJPG"), 10, (320, 240))
    for shade in (0, 20, 60, 120, 180, 180, 180, 180):
        writer.write(np.full((240, 320, 3), shade, np.uint8))
    writer.release()
    job.camera = Camera(str(film))
    said = words(job.text("take a picture"))
    assert "Picture kept. 1 more, please." in said
    assert "phone page" not in said
    photo = next(r for r in job.log.records(job.ref) if r.kind == "photo")
    kept = cv2.imread(str(photo.evidence[0].path))  # type: ignore[attr-defined]
    assert abs(float(kept.mean()) - 180) < 3, "not one of the dark frames at its start"
    job.text("take a picture")
    assert job.view().step.id == "before"  # type: ignore[union-attr]


def test_a_camera_that_is_not_there_is_told_and_stores_nothing(tmp_path: Path) -> None:
    job = drive(tmp_path / "home", "connector-rework")
    job.text("confirmed")
    job.camera = Camera(str(tmp_path / "none.avi"))
    before = len(job.log.records(job.ref))
    with pytest.raises(MissingPartError, match="gives no picture"):
        job.text("take a picture")
    assert len(job.log.records(job.ref)) == before
