"""Read-back, and the entries made of displays."""

from __future__ import annotations

import pytest

from fieldnote.language import Entry, display_entry, parse, speak, speak_number


@pytest.mark.parametrize(
    ("digits", "words"),
    [
        ("10.60", "ten point six zero"),
        ("-0.47", "minus zero point four seven"),
        ("3000", "three thousand"),
        ("1006", "one thousand and six"),
        ("115", "one hundred and fifteen"),
        ("21", "twenty one"),
        (
            "1234567",
            "one million two hundred and thirty four thousand five hundred and sixty seven",
        ),
        ("034", "zero three four"),
    ],
)
def test_numbers_are_spoken_digit_for_digit(digits, words):
    assert speak_number(digits) == words


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("10.6 ohms", "ten point six ohms"),
        ("1 volt", "one volt"),
        ("12.6 V DC", "twelve point six volts d c"),
        ("pin four to ground open", "pin four to ground open circuit"),
        ("pin 3 black brown", "pin three black with brown tracer"),
        ("9.8, 10.1 ohms", "nine point eight and ten point one ohms"),
        ("about twelve bar", "about twelve bar"),
        ("twelve volts at idle", "twelve volts at idle"),
        ("note seal damaged", "note seal damaged"),
    ],
)
def test_what_is_read_back(text, spoken):
    assert speak(parse(text)) == spoken


def test_an_unclear_entry_is_read_back_as_a_question():
    said = speak(parse("ten six ohms"))
    assert said.startswith("unclear: ten point six ohms?")


@pytest.mark.parametrize(
    ("characters", "unit", "kind", "value"),
    [
        ("-10.60", "Ohm", "reading", "-10.60"),
        ("10.60", None, "bare", "10.60"),
        (" 10.60 ", "V", "reading", "10.60"),
        ("007.5", "V", "reading", "7.5"),
        ("0.00", "A", "reading", "0.00"),
        (".47", "V", "reading", "0.47"),
        ("OL", "Ohm", "open", None),
        ("0L", "MOhm", "open", None),
        ("0.L", "MOhm", "open", None),
        ("----", None, "unclear", None),
        ("1.2.3", "V", "unclear", None),
        ("8E8", "V", "unclear", None),
        ("", None, "none", None),
    ],
)
def test_displays(characters, unit, kind, value):
    entry = display_entry(characters, unit)
    assert (entry.kind, entry.value) == (kind, value)
    if kind == "reading":
        assert entry.unit == unit


def test_a_display_and_its_words_make_the_same_entry():
    shown, said = display_entry("10.60", "Ohm"), parse("ten point six zero ohms")
    assert (shown.kind, shown.value, shown.unit) == (said.kind, said.value, said.unit)


def test_entries_go_to_json_and_keep_their_order():
    keys = list(Entry("none").to_json())
    assert keys[:3] == ["kind", "value", "unit"]
