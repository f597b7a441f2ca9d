"""What a meter's ranges say of its display."""

from pathlib import Path

import pytest

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
