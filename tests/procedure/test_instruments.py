"""The register of instruments."""

from datetime import date
from pathlib import Path

import pytest

from fieldnote.acceptance import Quantity
from fieldnote.errors import BadInputError
from fieldnote.procedure import FileProblemsError, load_register

GOOD = """\
[[instruments]]
id = "meter"
name = "Meter (invented)"
calibrated = 2026-02-10
due = 2027-02-10
ranges = [
  { unit = "Ohm", upto = "600.0", resolution = 0.1, percent = 0.9, digits = 3 },
]

[[instruments]]
id = "tape"
name = "Tape (invented)"
"""


def test_the_due_date_itself_is_still_good(tmp_path: Path) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(GOOD)
    register = load_register(path)
    meter = register.instrument("meter")
    assert not meter.overdue(date(2027, 2, 10))
    assert meter.overdue(date(2027, 2, 11))
    assert "overdue" in meter.standing(date(2027, 3, 1))
    assert "until 2027-02-10" in meter.standing(date(2026, 3, 1))
    assert "No calibration due date" in register.instrument("tape").standing(date(2026, 3, 1))
    assert register.instrument("tape").accuracy is None
    assert meter.for_log()["due"] == "2027-02-10"
    assert meter.accuracy is not None
    assert meter.accuracy.uncertainty(Quantity("103.2", "Ohm")) > 0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('id = "tape"', 'id = "meter"', "line 11"),
        ("due = 2027-02-10", "due = 2025-02-10", "before it was calibrated"),
        ('unit = "Ohm"', 'unit = "ohms"', "not known"),
        ("upto", "up_to", "Did you mean “upto”?"),
        ('name = "Tape (invented)"', "", "“name” is missing"),
        ("resolution = 0.1", "resolution = 0", "must be a number above nought"),
    ],
)
def test_faults(tmp_path: Path, old: str, new: str, words: str) -> None:
    assert old in GOOD
    path = tmp_path / "instruments.toml"
    path.write_text(GOOD.replace(old, new, 1))
    with pytest.raises(FileProblemsError) as refused:
        load_register(path)
    assert words in str(refused.value)


def test_an_unknown_instrument_is_refused_with_a_suggestion() -> None:
    with pytest.raises(BadInputError, match="Did you mean “bench-meter”"):
        load_register().instrument("bench-metre")
