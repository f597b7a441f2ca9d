"""Bad input: one clear message, a documented exit status, nothing half-written."""

from __future__ import annotations

import resource
from pathlib import Path

import cv2
import numpy as np
import pytest
import soundfile

from tests.cli.conftest import SAMPLES, Runner


def records(fieldnote: Runner) -> int:
    """How many records the job has, by its own verification."""
    done = fieldnote("verify")
    assert done.status == 0, done.out
    return int(done.out.split(": ")[1].split()[0])


@pytest.fixture
def job(fieldnote: Runner) -> Runner:
    assert fieldnote("start", "--asset", "pump (invented)").status == 0
    return fieldnote


def test_missing_files(job: Runner) -> None:
    for kind in ("sound", "photo"):
        done = job("take", kind, "not-there.bin")
        assert done.status == 2
        assert "not-there.bin" in done.err
    assert records(job) == 1


def test_an_empty_wav_and_a_text_file_as_sound(job: Runner, tmp_path: Path) -> None:
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "headers-only.wav").write_bytes(b"RIFF\x24\0\0\0WAVE")
    (tmp_path / "text.wav").write_text("not a sound at all\n" * 20)
    for name in ("empty.wav", "headers-only.wav", "text.wav"):
        done = job("take", "sound", name)
        assert done.status == 2, name
        assert name in done.err
    assert records(job) == 1


@pytest.mark.parametrize(
    ("rate", "channels", "subtype"), [(44_100, 2, "PCM_16"), (8_000, 1, "PCM_U8")]
)
def test_other_rates_and_depths_are_heard(
    fieldnote: Runner, tmp_path: Path, rate: int, channels: int, subtype: str
) -> None:
    import soxr

    samples, was = soundfile.read(SAMPLES / "2-wires.wav")
    other = soxr.resample(samples, was, rate)
    soundfile.write(tmp_path / "o.wav", np.stack([other] * channels, 1), rate, subtype=subtype)
    done = fieldnote("hear", "o.wav")
    assert done.status in {0, 1}, done.err
    assert "pin 1" in done.out  # heard; how much of it is sure depends on the sound


def test_no_pictures(job: Runner, tmp_path: Path) -> None:
    (tmp_path / "text.jpg").write_text("no picture\n")
    (tmp_path / "cut.jpg").write_bytes((SAMPLES / "supply.jpg").read_bytes()[:2000])
    cv2.imwrite(str(tmp_path / "pixel.png"), np.zeros((1, 1, 3), np.uint8))
    for name in ("text.jpg", "cut.jpg", "pixel.png"):
        done = job("take", "photo", name)
        assert done.status == 2, name
        assert name in done.err
    assert records(job) == 1


def test_wrong_procedures_name_the_line(fieldnote: Runner, tmp_path: Path) -> None:
    good = (
        'name = "p"\ntitle = "t"\nversion = "1"\ncautions = ["Follow local codes."]\n'
        'sources = ["invented"]\n[[steps]]\nid = "a"\nkind = "measure"\nask = "?"\n'
    )
    for name, rest, word in (
        ("unit.toml", 'unit = "Furlong"\n', "Furlong"),
        ("window.toml", 'unit = "Ohm"\nwindow = { from = "9", to = "5" }\n', "window"),
    ):
        (tmp_path / name).write_text(good + rest)
        done = fieldnote("procedure", name)
        assert done.status == 2
        assert name in done.err
        assert word in done.err
        assert fieldnote("start", "--asset", "x", "--procedure", name).status == 2
    assert fieldnote("jobs").out.count("open") == 0


def test_a_full_disk_loses_nothing(job: Runner) -> None:
    job("take", "text", "ten ohms")
    before = records(job)

    def nearly_full() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    done = job("take", "photo", "--caption", "x", SAMPLES / "supply.jpg", before=nearly_full)
    assert done.status == 4, (done.out, done.err)
    assert done.err.startswith("fieldnote: ")
    assert records(job) == before


def test_a_home_that_cannot_be_written(fieldnote: Runner, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("a file where the folder should be")
    done = fieldnote("jobs", "--home", tmp_path / "file" / "log")
    assert done.status == 4
    assert str(tmp_path / "file") in done.err
    done = fieldnote("jobs", "--home", "/proc/fieldnote")
    assert done.status == 4
    assert "/proc/fieldnote" in done.err


def test_no_open_job(fieldnote: Runner) -> None:
    done = fieldnote("take", "text", "ten ohms")
    assert done.status == 2
    assert "fieldnote start" in done.err


def test_typed_words_that_are_nothing_are_not_dropped_unseen(fieldnote: Runner) -> None:
    assert fieldnote("start", "--asset", "x", "--procedure", "rudder-angle-sender").status == 0
    done = fieldnote("take", "text", "blah")
    assert done.status == 1
    assert "Not understood: “blah”" in done.out
    assert fieldnote("start", "--asset", "pump (invented)").status == 0
    assert fieldnote("take", "text", "hand me the other one").status == 1


def test_only_what_fits_a_question_answers_it(job: Runner) -> None:
    job("take", "text", "ten six ohms")
    job("take", "text", "pin three to ground open circuit")
    assert "answered" not in job("show").out
    job("take", "text", "ten six ohms")
    job("take", "text", "ten point six ohms")
    assert "answered" in job("show").out


def test_searches_that_ask_for_nothing_or_nonsense(job: Runner) -> None:
    for wrong in ([], ["--verdict", "bad"], ["--since", "yesterday"], ["--over", "12"]):
        done = job("find", *wrong)
        assert done.status == 2, wrong
        assert done.err.startswith("fieldnote: ")


def test_what_a_closed_job_still_gives(job: Runner) -> None:
    assert job("close").status == 0
    for reading in (("show",), ("verify",), ("report", "-o", "r.html")):
        assert job(*reading).status == 0, reading
    again = job("close", "--job", job("jobs").out.split("│")[1].strip())
    assert again.status == 2
    assert "closed already" in again.err
    assert job("take", "text", "ten ohms").status == 2


def test_small_slips(job: Runner) -> None:
    assert job("start", "--asset", " ").status == 2
    assert "no number" in job("correct", "x", "ten ohms", "--why", "y").err
    assert job("parse", "10", "--unit", "furlong").status == 2
    assert job("history", "port").status == 2
    assert job("reopen", "X", "--why", "").status == 2


def test_a_job_is_not_started_with_hours_that_are_none(fieldnote: Runner) -> None:
    done = fieldnote("start", "--asset", "pump (invented)", "--hours", "abc")
    assert done.status == 2
    assert "“abc” are no running hours" in done.err
    assert fieldnote("start", "--asset", "pump (invented)", "--hours", "1240.5").status == 0


def test_an_overdue_meter_is_said_before_anything_is_taken(
    fieldnote: Runner, tmp_path: Path
) -> None:
    given = ("start", "--asset", "pump (invented)", "--meter", "insulation-tester")
    assert fieldnote(*given).status == 0
    assert "calibration" in fieldnote("take", "text", "ten point four ohms").err
