"""Readings in the customer's units: rounded to what they are worth, the original always beside."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.acceptance import UNITS, Quantity, Window
from fieldnote.errors import BadInputError
from fieldnote.joblog import JobLog
from fieldnote.review import report
from fieldnote.review.phrases import Phrases
from fieldnote.review.texts import Texts
from fieldnote.review.units import SYSTEMS, Preferred, converted, difference
from tests.review import invented_job as invented
from tests.review.test_review_report import plain


def test_rounding_is_that_of_the_guide():
    # NIST SP 811 (2008), B.7.2, example: 36 ft = 10.9728 m = 11.0 m
    assert converted("36", "[ft_i]", "m") == "11.0"


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_system_turns_each_unit_into_one_of_the_same_kind(system: str):
    for taken, shown in SYSTEMS[system].items():
        assert UNITS[taken].kind == UNITS[shown].kind, (taken, shown)


PEER = pint.UnitRegistry()
PEERS = {  # unit: target, and both as pint names them
    "[psi]": ("kPa", "psi", "kPa"),
    "[degF]": ("Cel", "degF", "degC"),
    "[ft_i]": ("m", "ft", "m"),
}


@given(st.decimals("-300", "900", places=2), st.sampled_from(sorted(PEERS)))
def test_the_converted_value_is_the_peers_to_its_last_digit(taken: Decimal, unit: str):
    target, theirs, name = PEERS[unit]
    shown = converted(f"{taken:f}", unit, target)
    expected = PEER.Quantity(float(taken), theirs).to(name).magnitude
    step = float(Quantity(shown, target).resolution)
    assert float(shown) == pytest.approx(expected, abs=0.5001 * step)


@pytest.mark.parametrize(
    ("digits", "places", "shown"),
    [("0.22731859", 1, "0.23"), ("-5.4", 1, "-5.4"), ("5", 1, "5.0"), ("0.00041", 2, "0.00041")],
)
def test_a_margin_is_rounded_for_people_and_never_to_nothing(digits: str, places: int, shown: str):
    assert difference(digits, "N.m", "N.m", places) == shown


def test_a_tolerance_of_temperature_is_a_difference():
    assert difference("5", "Cel", "[degF]", 0) == "9.0"  # 5 K of difference are 9 °F, not 41


@pytest.mark.parametrize("stated", ["furlong", "SI,,US", "SI, parsec"])
def test_unknown_units_are_refused(stated: str):
    with pytest.raises(BadInputError, match="system of units"):
        Preferred(stated)


def test_windows_and_values_show_the_original_behind():
    p = Phrases(Texts("en"), units=Preferred("US,[lbf_av].[in_i]"))
    window = Window.between("2.0", "2.6", "N.m")
    assert p.limits(window).replace("\xa0", " ") == "17.7 to 23.0 in·lbf (2.0 to 2.6 N·m)"
    pounds = invented.entry(value="21", unit="[lbf_av].[in_i]")  # the reading sets the unit
    assert Phrases(Texts("en"), units=Preferred("US")).limits(window, pounds) == p.limits(window)
    said = invented.entry(value="21", unit="Cel")
    assert p.value(said).replace("\xa0", " ") == "70 °F (21 °C)"
    assert p.value(invented.entry(value="10.60", unit="Ohm")) == "10.60\xa0Ω"


def test_a_torque_stands_in_its_own_table_in_the_customers_unit(log: JobLog, tmp_path: Path):
    log.start_job({}, at=invented.START, ref="t")
    said = invented.entry(value="21", unit="[lbf_av].[in_i]", label="bracket")
    body = invented.body(said, window=Window.between("2.0", "2.6", "N.m"))
    log.append("t", "reading", body, at=invented.START)
    begun = {"step": "cross-bolts", "move": "begin", "round": "1"}
    log.append("t", "step", begun, at=invented.START)
    words = plain(report(log, "t", tmp_path / "t.html", locale="en", units="SI").read_text("utf-8"))
    table = words[words.index("Tightened to") : words.index("Instrument and procedure")]
    assert "2.4 N·m (21 in·lbf)" in table
    assert "2.0 to 2.6 N·m" in table
    assert "Cross bolts Round 1 done at 09:12:05." in table
    assert "0.23 N·m to the nearest limit" in words
    assert "22731859" not in words


@pytest.mark.parametrize(
    ("confidence", "shown"),
    [(0.874, "87 %"), (0.99, "99 %"), (0.9934, "> 99 %"), (1.0, "> 99 %"), (None, ""), ("no", "")],
)
def test_nobody_is_wholly_sure(confidence: object, shown: str):
    """The sign never stands alone at the end of a line."""
    said = Phrases(Texts("en")).share(confidence)
    assert said.replace("\N{NO-BREAK SPACE}", " ") == shown
    assert not said.startswith("> ")
