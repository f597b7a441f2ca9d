"""The labelled utterances: every one right, and never a value that was not said."""

from __future__ import annotations

from pathlib import Path

import pytest

from fieldnote.language import Context, Entry, parse, vocabulary
from fieldnote.language.commands import ANSWERS, COMMANDS
from fieldnote.language.text import words_of
from tests.language import corpus

CASES = corpus.read()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.text)
def test_utterance(case):
    entry = parse(case.text)
    assert not corpus.differences(entry, case), entry
    assert not corpus.invented(entry, case)


@pytest.mark.parametrize(
    "text",
    [
        "to point six ohms",  # a recogniser's spelling of "two point six"
        "pin four to point six volts",
        "to twenty volts",
        "twenty, seven ohms",
        "minus eighteen, minus eighteen degrees celsius",
        "glow plug one nought point nine ohms",
        "fifty fifty",
        "the fuse is a ten amp",
        "step five of ten",
        "after ten minutes",
        "thirty seconds left",
        "one eighty turn",
    ],
)
def test_what_could_be_another_value_is_asked_about(text):
    assert parse(text).kind == "unclear"


def test_other_peoples_words_stay_understood_and_nothing_is_invented_with_a_unit():
    cases = corpus.read("other_people.txt")
    right = [c for c in cases if not corpus.differences(parse(c.text), c) or asked(c)]
    invented = [c.text for c in cases if corpus.invented(parse(c.text), c)]
    assert len(right) >= 0.88 * len(cases)
    assert invented == ["two thousand and twenty six"]  # a year; words can't tell


STILL_READINGS = {
    *("three volts of drop", "ten volts drop", "nearly got twelve volts"),
    *("say ten ohms", "write ten ohms"),
}
"""Talk to some, a reading to others; what the meter shows is in each of them."""


@pytest.mark.parametrize("context", [Context(), Context(unit="Ohm", kind="Ohm")])
def test_talk_with_values_in_it_is_no_reading(context):
    lines = (Path(__file__).parent / "talk.txt").read_text(encoding="utf-8").splitlines()
    texts = [line for line in lines if line and not line.startswith("#")]
    assert len(texts) == 137
    taken = {text for text in texts if parse(text, context).kind in ("reading", "series", "bare")}
    assert taken <= STILL_READINGS


def asked(case: corpus.Case) -> bool:
    """Rightly taken for no value, if perhaps with another reason."""
    return case.kind in corpus.VALUELESS and parse(case.text).kind in corpus.VALUELESS


def test_the_held_out_set_stays_above_the_bar():
    cases = corpus.read("held_out.txt")
    right = [case for case in cases if not corpus.differences(parse(case.text), case)]
    assert len(right) / len(cases) >= 0.97
    assert not [case.text for case in cases if corpus.invented(parse(case.text), case)]


def test_the_corpus_is_large_and_refuses_much():
    refused = [case for case in CASES if case.kind in corpus.VALUELESS]
    assert len(CASES) >= 600
    assert len(refused) >= 100
    assert {case.kind for case in CASES} == {
        "reading", "bare", "series", "open", "short", "wire", "remark", "command", "unclear",
        "none",
    }  # fmt: skip


@pytest.mark.parametrize(
    "case", [c for c in CASES if c.kind in corpus.VALUELESS], ids=lambda c: c.text
)
def test_what_is_refused_says_why(case):
    assert parse(case.text).reason


def test_every_form_of_every_command_is_that_command():
    for name, forms in COMMANDS.items():
        for form in forms:
            entry = parse(form, Context(question=name in ANSWERS))
            assert (entry.kind, entry.command) == ("command", name), form


@pytest.mark.parametrize("text", ["the first one", "neither of them", "second"])
def test_an_answer_to_a_question_is_talk_while_none_is_open(text):
    assert parse(text).kind == "none"


@pytest.mark.parametrize(("text", "unit"), [("volts", "V"), ("bar", "bar"), ("milli volts", "mV")])
def test_a_unit_alone_answers_a_question(text, unit):
    entry = parse(text, Context(question=True))
    assert (entry.kind, entry.unit, entry.value) == ("unclear", unit, None)


@pytest.mark.parametrize(
    ("text", "kind", "label"),
    [
        ("sound", "remark", "sound"),
        ("it's cracked", "remark", "Cracked"),
        ("yes", "command", None),
        ("open", "open", None),
        ("twelve volts", "reading", None),
        ("sound asleep", "none", None),
    ],
)
def test_a_choice_alone_answers_an_observation(text, kind, label):
    entry = parse(text, Context(choices=("sound", "Cracked", "yes", "open", "12 V")))
    assert (entry.kind, entry.label) == (kind, label)


def test_command_forms_are_written_in_the_vocabularys_spelling():
    for forms in COMMANDS.values():
        for form in forms:
            assert words_of(form) == form.split()


def test_no_form_belongs_to_two_commands():
    forms = [form for all_forms in vocabulary.COMMANDS.values() for form in all_forms]
    assert len(forms) == len(set(forms))


@pytest.mark.parametrize(
    ("text", "context", "expected"),
    [
        ("nine point five", Context(unit="Ohm"), ("reading", "9.5", "Ohm", "step")),
        ("nine point five ohms", Context(unit="Ohm"), ("reading", "9.5", "Ohm", "said")),
        ("nine point five kilohms", Context(unit="Ohm"), ("reading", "9.5", "kOhm", "said")),
        ("nine point five volts", Context(unit="Ohm"), ("unclear", "9.5", "V", None)),
        ("nine point five volts", Context(kind="mOhm"), ("unclear", "9.5", "V", None)),
        ("minus five degrees", Context(unit="Cel"), ("reading", "-5", "Cel", "step")),
        ("minus five degrees", Context(kind="Cel"), ("unclear", "-5", None, None)),
        ("minus five degrees", Context(unit="deg"), ("reading", "-5", "deg", "said")),
        ("seventy five degrees f", Context(unit="Cel"), ("reading", "75", "[degF]", "said")),
        ("ten k", Context(unit="Ohm"), ("reading", "10", "kOhm", "step")),
        ("two meg", Context(kind="Ohm"), ("reading", "2", "MOhm", "step")),
        ("ten mills", Context(kind="A"), ("reading", "10", "mA", "step")),
        ("ten mills", Context(unit="mm"), ("unclear", "10", None, None)),
        ("three k", Context(unit="[psi]"), ("unclear", "3", None, None)),
        ("ten mills", Context(kind="Hz"), ("unclear", "10", None, None)),
        ("72 F", Context(kind="Cel"), ("reading", "72", "[degF]", "said")),
        ("ten point one, nine point two", Context(unit="V"), ("series", "10.1 9.2", "V", "step")),
        ("open", Context(unit="Ohm"), ("open", None, None, None)),
    ],
)  # fmt: skip
def test_the_step_gives_the_unit_and_the_kind(text, context, expected):
    entry = parse(text, context)
    unit_from = entry.unit_from if entry.kind != "unclear" else None
    assert (entry.kind, entry.value, entry.unit, unit_from) == expected, entry


def test_labels_of_a_procedure_join_the_vocabulary():
    text = "sprogglet gizmo twelve volts"
    assert parse(text).kind != "reading"
    entry = parse(text, Context(labels=("sprogglet gizmo",)))
    assert (entry.kind, entry.label, entry.value) == ("reading", "sprogglet gizmo", "12")


def test_the_start_word_is_dropped():
    context = Context(start_word="notebook")
    assert parse("notebook ten ohms", context).value == "10"
    assert parse("notebook, next step", context).command == "next"


def test_a_timer_takes_the_time_that_was_said():
    entry = parse("set a timer for five minutes")
    assert (entry.command, entry.value, entry.unit) == ("timer-start", "5", "min")


def test_a_correction_on_its_own_withdraws_the_last_entry_and_says_the_new_one():
    entry = parse("make that five point four bar")
    assert (entry.kind, entry.value, entry.command) == ("reading", "5.4", "withdraw")


def test_half_a_correction_is_asked_for_again():
    entry = parse("five point one, no, point four bar")
    assert entry.kind == "unclear"


def test_json_has_the_keys_of_the_machine_interface():
    assert {"kind", "value", "unit", "label", "pins", "colour", "command", "text", "reason"} <= set(
        Entry("none").to_json()
    )


@pytest.mark.parametrize(
    "text", ["", "   ", ",", "-", "\x00", "🔧", "٣ ohms", "½", "=", "=Ohm", "1/0 in", "9" * 400]
)
def test_odd_text_never_raises_nor_gives_nonsense(text):
    assert parse(text).kind in ("none", "unclear", "bare")
