"""Nothing that was not said: word salad and any text at all. The 200,000 lines are a benchmark."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnote.language import Context, parse
from fieldnote.language.numbers import STARTERS
from fieldnote.language.page import page
from tests.language import salad

VALUES = ("reading", "bare", "series")


def test_salad_without_a_number_word_is_never_a_value():
    rng = random.Random(11)
    bowl = [word for word in salad.words() if word not in STARTERS]
    for _ in range(3000):
        text = salad.toss(bowl, rng)
        assert parse(text).kind not in VALUES, text


def test_salad_taken_for_a_value_has_a_reason():
    rng = random.Random(12)
    bowl = salad.words()
    taken = 0
    for _ in range(3000):
        text = salad.toss(bowl, rng)
        entry = parse(text)
        if entry.kind in VALUES:
            taken += 1
            assert salad.why(text, entry) != "other", text
    assert 0 < taken < 150


@settings(max_examples=400, deadline=None)
@given(text=st.text(max_size=60), unit=st.sampled_from([None, "Ohm", "Cel"]))
def test_any_text_gives_an_entry(text, unit):
    entry = parse(text, Context(unit=unit))
    if entry.kind in ("reading", "bare"):
        assert entry.value
        assert entry.kind == "bare" or entry.unit
    if entry.kind in ("unclear", "none"):
        assert entry.reason


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                "ten",
                "six",
                "point",
                "five",
                ",",
                "-",
                ".",
                "3",
                "12.6",
                "ohms",
                "volts",
                "no",
                "pin",
                "four",
                "to",
                "and",
                "k",
                "V",
                "Ω",
                "%",
            ]
        ),
        max_size=9,
    )
)
def test_a_value_is_made_of_digits_that_were_said(pieces):
    text = " ".join(pieces)
    entry = parse(text)
    if entry.kind not in VALUES:
        return
    said = {"ten": "10", "six": "6", "five": "5", "four": "4"}
    digits = {mark for word in pieces for mark in said.get(word, word) if mark.isdigit()}
    assert {mark for mark in entry.value if mark.isdigit()} <= digits | {"0"}, (text, entry)


def test_importing_the_language_loads_nothing_slow():
    code = (
        "import sys, fieldnote.language as f; f.parse('ten ohms');"
        "print([n for n in ('pint', 'numpy', 'pydantic') if n in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_the_users_page_is_current():
    shown = Path(__file__).parents[2] / "docs" / "what-you-can-say.md"
    assert shown.read_text(encoding="utf-8") == page(), (
        "write it anew: python -m fieldnote.language.page > docs/what-you-can-say.md"
    )
