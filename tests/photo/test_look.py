"""From files to lines: what `look` gives for clear, unclear, empty and broken pictures."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from fieldnote.errors import BadInputError, MissingPartError, StoreError
from fieldnote.language import UNITS as LANGUAGE_UNITS
from fieldnote.language import Context
from fieldnote.photo import (
    Display,
    DisplayProfile,
    DisplayRange,
    crop_bytes,
    explain,
    look,
    readers,
)
from fieldnote.photo.calibration import CALIBRATIONS
from fieldnote.photo.quality import faults
from fieldnote.photo.symbols import UNITS
from fieldnote.session.seen import entry_of, explain_file, look_files
from tests.photo.panels import BACKLIT, PLAIN_FONT, meter, photograph, write

KEYS = {
    "file", "kind", "value", "unit", "label", "pins", "colour", "command", "text", "reason",
    "display", "alternatives", "confidence", "box", "reader",
}  # fmt: skip
"""The machine interface's keys; others may be added to them."""


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("photo") / "meter.jpg"
    cv2.imwrite(str(path), photograph(meter("24.68", "V", ("DC",), face=BACKLIT), 21))
    return path


@pytest.mark.parametrize("reader", [r.name for r in readers() if r.present and r.name != "print"])
def test_a_meter_is_read(photo: Path, reader: str) -> None:
    (first, *_) = look(photo, reader=reader)
    assert first.characters == "24.68"
    assert first.reader == reader
    xs, ys = zip(*first.box, strict=True)
    assert 150 < min(xs) < max(xs) < 810
    assert 100 < min(ys) < max(ys) < 620


def test_lines_of_the_machine_interface(photo: Path, tmp_path: Path) -> None:
    blank, text = tmp_path / "wall.png", tmp_path / "text.jpg"
    cv2.imwrite(str(blank), np.full((300, 400, 3), 150, np.uint8))
    text.write_text("24.68")
    absent = tmp_path / "absent.jpg"
    lines = list(look_files([blank, text, absent, photo]))
    assert all(line.keys() >= KEYS for line in lines)
    assert json.loads(json.dumps(lines)) == lines
    by_file = {name: [x for x in lines if x["file"] == str(name)]
               for name in (blank, text, absent, photo)}  # fmt: skip
    assert [x["kind"] for x in by_file[blank]] == ["none"]
    assert "closer" in by_file[blank][0]["reason"]
    assert "error" not in by_file[blank][0]
    for bad in (text, absent):
        assert [(x["kind"], x["error"]) for x in by_file[bad]] == [("none", 2)]
        assert str(bad) in by_file[bad][0]["reason"]
    assert by_file[photo][0]["display"] == "24.68"


def test_unknown_reader_is_told_before_anything_is_read(photo: Path) -> None:
    with pytest.raises(BadInputError, match="no reader 'abacus'"):
        list(look_files([photo], reader="abacus"))


def test_missing_parts_name_their_mend(
    photo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("FIELDNOTE_MODELS", str(tmp_path))
    with pytest.raises(MissingPartError, match="apt-get install tesseract-ocr"):
        look(photo, reader="print")
    with pytest.raises(MissingPartError, match="FIELDNOTE_MODELS"):
        look(photo, reader="nets")
    assert [r.name for r in readers() if r.present] == ["segments"]
    # Without nets and without tesseract the displays are still read.
    assert look(photo)[0].characters == "24.68"


def test_printed_numbers(tmp_path: Path) -> None:
    path = tmp_path / "print-out.png"
    paper = np.full((240, 640, 3), 235, np.uint8)
    write(paper, "Insulation 552.7 MΩ", 40, 90, 40, (30, 30, 30), PLAIN_FONT)
    cv2.imwrite(str(path), paper)
    assert look(path, reader="print")[0].characters == "552.7"
    assert look(path, DisplayProfile(printed=True))[0].reader == "print"


def test_a_profile_narrows_what_can_stand_there(photo: Path) -> None:
    fits = DisplayProfile(ranges=(DisplayRange("V", digits=4, decimals=2),))
    assert look(photo, fits)[0].characters == "24.68"
    other = DisplayProfile(ranges=(DisplayRange("V", digits=4, decimals=1),))
    assert all(d.characters != "24.68" for d in look(photo, other))


@pytest.mark.parametrize(
    ("characters", "unit", "allowed"),
    [("6.000", "V", True), ("60.00", "V", True), ("600.0", "V", False), ("600.0", "mV", True),
     ("600.0", None, True), ("6000", None, False), ("OL", "V", True), ("----", None, True),
     ("-6.000", "V", True), ("16.000", "V", False)],
)  # fmt: skip
def test_ranges_of_a_meter(characters: str, unit: str | None, allowed: bool) -> None:
    meter_ = DisplayProfile(ranges=(
        DisplayRange("V", 4, 3), DisplayRange("V", 4, 2), DisplayRange("mV", 4, 1),
    ))  # fmt: skip
    assert meter_.allows(characters, unit) is allowed
    unsigned = replace(meter_, signed=False)
    assert unsigned.allows("-6.000") is False
    assert unsigned.allows("----") is True


def test_profile_files(tmp_path: Path) -> None:
    path = tmp_path / "profile.toml"
    path.write_text('name = "invented"\nranges = [{unit = "V", digits = 4, decimals = 2}]\n')
    assert DisplayProfile.load(path).units == ("V",)
    for text in ("ranges = [{digit = 4}]", "gauge = {centre = [0.5, 0.5]}", "name ="):
        path.write_text(text)
        with pytest.raises(BadInputError):
            DisplayProfile.load(path)
    with pytest.raises(BadInputError, match="cannot be read"):
        DisplayProfile.load(tmp_path / "absent.toml")


def test_every_unit_that_the_eye_knows_is_one_of_the_language() -> None:
    assert set(UNITS.values()) <= set(LANGUAGE_UNITS)


DISPLAY = Display("12.60", 0.99, ((0, 0), (9, 0), (9, 9), (0, 9)), "nets", value="12.60")


def test_entries() -> None:
    volts = entry_of(replace(DISPLAY, kind="reading", unit="V", current="DC"))
    assert (volts.kind, volts.value, volts.unit, volts.current) == ("reading", "12.60", "V", "DC")
    degrees = entry_of(DISPLAY, Context(unit="Cel"))
    assert (degrees.kind, degrees.unit, degrees.unit_from) == ("reading", "Cel", "step")
    assert entry_of(DISPLAY).kind == "bare"
    opened = entry_of(replace(DISPLAY, characters="OL", value=None, kind="open", unit="MOhm"))
    assert (opened.kind, opened.value) == ("open", None)
    dashes = replace(DISPLAY, characters="----", value=None, kind="open")
    assert entry_of(dashes).kind == "open"
    unsure = entry_of(replace(DISPLAY, kind="unclear", reason="uncertain: the decimal point"))
    assert (unsure.kind, unsure.value) == ("unclear", "12.60")


@pytest.mark.parametrize("unit", ["Ohm", "kOhm", "V", "mV", "A", "uF"])
def test_a_prefix_that_was_not_seen_is_asked_for(unit: str) -> None:
    entry = entry_of(DISPLAY, Context(unit=unit))
    assert entry.kind == "unclear"
    assert entry.reason is not None
    assert "could not be seen" in entry.reason


def test_explain_draws_and_says_why_not(photo: Path, tmp_path: Path) -> None:
    displays = look(photo)
    out = explain(photo, displays, tmp_path / "why.png")
    with Image.open(out) as image:
        assert image.size[0] == 900
        assert image.size[1] > 675 + 100 * len(displays)
    assert explain_file(photo, tmp_path / "again.png").is_file()
    assert explain(photo, [], tmp_path / "none.jpg").is_file()
    with pytest.raises(StoreError, match="cannot be written"):
        explain(photo, displays, tmp_path / "no" / "folder.png")
    for name in ("e.txt", "e"):
        with pytest.raises(BadInputError, match="no picture can be written"):
            explain(photo, displays, tmp_path / name)
        assert not (tmp_path / name).exists()


def test_a_person_chooses_among_three_different_values_at_most(tmp_path: Path) -> None:
    path = tmp_path / "far.jpg"
    cv2.imwrite(str(path), cv2.GaussianBlur(photograph(meter("24.68"), 5, fill=0.2), (0, 0), 5))
    for display in look(path):
        values = [display.value, *(text for text, _ in display.alternatives)]
        assert len(values) <= 3
        assert len(set(values)) == len(values)
        assert all(not text.endswith(".") for text, _ in display.alternatives)


def test_crop_shows_the_display_upright(photo: Path) -> None:
    crop = cv2.imdecode(np.frombuffer(crop_bytes(photo, look(photo)[0]), np.uint8), 1)
    assert crop.shape[0] == 160
    assert crop.shape[1] > 200


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda p: (p * 0.12).astype(np.uint8), "dark"),
        (lambda p: np.clip(p.astype(int) * 3 + 120, 0, 255).astype(np.uint8), "over-exposed"),
        (lambda p: (p * 0.08 + 120).astype(np.uint8), "contrast"),
    ],
)
def test_what_is_wrong_with_a_picture_is_said_with_its_mend(change, says: str) -> None:
    picture = photograph(meter("24.68"), 22)
    assert faults(picture) == ()
    assert any(says in fault and ":" in fault for fault in faults(change(picture)))


def test_confidence_rises_with_the_score() -> None:
    for calibration in CALIBRATIONS.values():
        steps = [calibration.confidence(s / 100) for s in range(101)]
        assert steps == sorted(steps)
        assert 0 <= steps[0] < calibration.threshold
        assert steps[-1] < 1


def test_readers_that_cannot_tell_when_they_are_wrong_always_ask(photo: Path) -> None:
    assert all(d.kind == "unclear" for d in look(photo, reader="segments"))
    assert look(photo, reader="nets")[0].kind == "reading"
