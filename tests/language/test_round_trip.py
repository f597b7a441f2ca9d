"""Reading → spoken forms → parse → the same reading, in every way of saying it."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnote.language import UNITS, Entry, parse, speak
from tests.language import spoken_forms

WAIT = "one second"
"""The one reading that is taken for something else: everybody says it to ask for a moment."""
DIGITS = st.from_regex(r"-?(0|[1-9][0-9]{0,6})(\.[0-9]{1,4})?", fullmatch=True)
SEEDS = st.integers(0, 2**32 - 1)


@pytest.mark.parametrize("form", spoken_forms.FORMS, ids=lambda form: form.__name__)
@settings(max_examples=250, deadline=None)
@given(digits=DIGITS, unit=st.sampled_from(sorted(UNITS)), seed=SEEDS)
def test_every_way_of_saying_a_reading_gives_it_back(form, digits, unit, seed):
    rng = random.Random(seed)
    said = form(digits, rng)
    if said is None:
        return
    text = f"{said} {rng.choice(UNITS[unit].spoken)}"
    entry = parse(text)
    if text == WAIT:
        assert entry.command == "pause"
        return
    assert (entry.kind, entry.value, entry.unit) == ("reading", digits, unit), (text, entry)


@settings(max_examples=300, deadline=None)
@given(digits=DIGITS, unit=st.sampled_from(sorted(UNITS)), pins=st.booleans())
def test_what_is_spoken_back_parses_to_the_same_entry(digits, unit, pins):
    entry = Entry("reading", value=digits, unit=unit, pins=("4", "ground") if pins else ())
    again = parse(speak(entry))
    if speak(entry) == WAIT:
        assert again.command == "pause"
        return
    assert (again.value, again.unit, again.pins) == (entry.value, entry.unit, entry.pins), again


@settings(max_examples=200, deadline=None)
@given(top=st.integers(1, 63), bottom=st.sampled_from([2, 4, 8, 16]), whole=st.integers(0, 40))
def test_fractions_are_exact(top, bottom, whole):
    if top >= bottom or (top % 2 == 0):
        return
    names = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth"}
    part = f"{spoken_forms.below_hundred(top)} {names[bottom]}{'s' if top > 1 else ''}"
    if (top, bottom) == (1, 2):
        part = "a half"
    text = (f"{spoken_forms.below_hundred(whole)} and {part}" if whole else part) + " inches"
    entry = parse(text)
    assert entry.kind == "reading", (text, entry)
    assert Fraction(entry.value) == whole + Fraction(top, bottom), text


@pytest.mark.parametrize("digits", ["10.6", "10.60", "0.47", "6.20", "1604", "-40", "0", "0.0"])
def test_digits_are_kept_as_said(digits):
    said = spoken_forms.american(digits, random.Random(1))
    assert parse(f"{said} volts").value == digits
