"""What a meter's ranges say of its display."""

from pathlib import Path

import pytest

from fieldnote.acceptance import Quantity
from fieldnote.errors import FieldnoteError
from fieldnote.procedure import load_register
from fieldnote.session.meter_face import display_profile


@pytest.mark.parametrize(
    ("shown", "unit", "can"),
    [("103.2", "Ohm", True), ("10.32", "Ohm", False), ("1.032", "kOhm", True),
     ("11.50", "MOhm", True), ("1032.", "Ohm", False), ("24.60", "V", True), ("246.0", "V", True),
     ("OL", "Ohm", True), ("12.34", "Hz", False)],
)  # fmt: skip
def test_the_bench_meter_can_show(shown: str, unit: str, can: bool) -> None:
    profile = display_profile(load_register().instrument("bench-meter"))
    assert profile is not None
    assert profile.allows(shown, unit) == can


def test_an_unknown_meter_narrows_nothing() -> None:
    assert display_profile(None) is None


def test_the_register_tells_what_the_display_cannot_show(tmp_path: Path) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(
        '[[instruments]]\nid = "tester"\nname = "Tester (invented)"\ndisplay = { signed = false }\n'
        'ranges = [{ unit = "MOhm", upto = "500.0", resolution = "0.1", percent = 3 }]\n'
    )
    profile = display_profile(load_register(path).instruments[0])
    assert profile is not None
    assert profile.allows("11.5", "MOhm")
    assert not profile.allows("-11.5", "MOhm")
    path.write_text(path.read_text().replace("signed", "sgned"))
    with pytest.raises(FieldnoteError, match="sgned"):
        load_register(path)


DIAL = """\
[[instruments]]
id = "gauge"
name = "Pressure gauge (invented)"
ranges = [{ unit = "bar", upto = "10", resolution = "0.02", percent_of_range = "1.6" }]
[instruments.display.dial]
unit = "bar"
low = [0, -135]
high = [10, 135]
division = "0.2"
"""


def test_a_dial_is_read_by_the_two_marks_in_the_register(tmp_path: Path) -> None:
    import cv2

    from fieldnote.photo import look
    from fieldnote.session.judging import uncertainty_of
    from fieldnote.session.seen import entry_of
    from fieldnote.session.sources import shown
    from tests.photo.dials import dial, photographed

    path, picture = tmp_path / "instruments.toml", tmp_path / "dial.png"
    path.write_text(DIAL)
    gauge = load_register(path).instrument("gauge")
    angle = -135 + 270 * 0.42  # 4.2 bar
    cv2.imwrite(str(picture), photographed(dial(angle), seed=3))
    (display,) = look(picture, display_profile(gauge))
    entry, source = entry_of(display), shown(picture, display)
    assert (entry.kind, entry.unit) == ("reading", "bar")
    assert abs(float(entry.value or "nan") - 4.2) < 0.1
    # EN 837-1 class 1.6 of 10 bar: 0.16 bar, rectangular 0.0924; reading the dial adds to it.
    u = uncertainty_of(Quantity(entry.value or "", "bar"), gauge, None, source)
    assert u is not None
    assert abs(float(u) - (0.0924**2 + float(display.uncertainty or "nan") ** 2) ** 0.5) < 0.001


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [("135]\ndivision", "-200]\ndivision", "clockwise"), ("high = [10", "high = [0", "same value"),
     ('"0.2"', '"0"', "above nought"), ("division", "devision", "division")],
)  # fmt: skip
def test_faults_of_a_dial(tmp_path: Path, old: str, new: str, words: str) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(DIAL.replace(old, new))
    with pytest.raises(FieldnoteError, match=words):
        load_register(path)
