"""The recogniser's grammar and the parser are two uses of one vocabulary."""

from __future__ import annotations

import random
from collections import Counter

import lark
import pytest

from fieldnote.language import UNITS, Context, Grammar, kind_of, parse, vocabulary
from tests.language import corpus

SAID = ("reading", "bare", "series", "open", "short", "wire", "command")
TYPED_ONLY = {"five thirty-seconds of an inch", "three sixty fourths of an inch"}
"""Fractions so rare in speech that they would only add errors to hearing."""
UNHEARD = {"thirteen oh sorry thirty volts"}
"""A correction that begins with "oh" is heard as a zero."""


@pytest.fixture(scope="module")
def tight():
    return Grammar.build()


@pytest.fixture(scope="module")
def wide():
    return Grammar.build(wide=True)


def _spoken_cases():
    """Corpus utterances in words that do not lean on written commas (a recogniser gives none)."""
    for case in corpus.read():
        plain = "".join(mark for mark in case.text if mark not in ",.:?")
        in_words = not any(mark.isdigit() or mark in "/½" for mark in case.text)
        if case.kind not in SAID or not in_words or case.text in TYPED_ONLY | UNHEARD:
            continue
        if not corpus.differences(parse(plain), case):
            yield case.text


def test_every_spoken_utterance_of_the_corpus_is_in_the_wide_grammar(wide):
    refused = [text for text in _spoken_cases() if not wide.accepts(text)]
    assert not refused
    assert len(list(_spoken_cases())) > 400


def test_the_tight_grammar_has_most_of_it(tight):
    texts = list(_spoken_cases())
    share = sum(map(tight.accepts, texts)) / len(texts)
    assert share > 0.95


@pytest.mark.parametrize("size", ["tight", "wide"])
def test_every_sentence_of_the_grammar_is_read_without_an_error(size, request):
    grammar = request.getfixturevalue(size)
    rng = random.Random(20)
    for _ in range(800):
        sentence = rng.choice((grammar.sample, grammar.walk))(rng)
        assert grammar.accepts(sentence), sentence
        entry = parse(sentence)
        assert entry.kind in (*SAID, "remark", "unclear", "none")
        assert entry.kind not in ("unclear", "none") or entry.reason, sentence


def test_samples_are_the_same_for_a_seed_and_mostly_readings(tight):
    drawn = [tight.sample(random.Random(seed)) for seed in range(300)]
    assert drawn == [tight.sample(random.Random(seed)) for seed in range(300)]
    kinds = Counter(parse(sentence).kind for sentence in drawn)
    assert kinds["reading"] > 150
    assert {"command", "wire", "open", "remark", "bare"} <= set(kinds)
    assert kinds["none"] == 0


def test_samples_of_a_narrow_grammar_use_its_units_and_labels():
    grammar = Grammar.build(Context(unit="Ohm", labels=("port sender",)))
    rng = random.Random(3)
    drawn = [grammar.sample(rng) for _ in range(200)]
    entries = [parse(sentence, Context(labels=("port sender",))) for sentence in drawn]
    assert {"resistance"} == {kind_of(e.unit) for e in entries if e.kind == "reading" and e.unit}
    assert any(entry.label == "port sender" for entry in entries)


@pytest.mark.parametrize(
    "text",
    [
        "over five hundred meg ohms",
        "insulation greater than five hundred meg ohms",
        "less than one ohm",
        "ten to twelve volts",
        "ten or twelve volts",
        "twelve volts plus or minus one",
        "not ten ohms",
        "two thirds of an inch",
        "ten k",
        "two meg",
        "zero five volts",
        "pin three light blue",
        "no reading",
        "no short",
    ],
)
def test_what_the_parser_refuses_can_be_heard_as_what_it_is(text, tight):
    """Else a decoder would be forced to hear a plain value in it."""
    assert tight.accepts(text)
    assert parse(text).kind in ("unclear", "none")


def test_the_automaton_is_deterministic_and_without_dead_ends(tight):
    seen = {(state, word) for state, word, _ in tight.arcs}
    assert len(seen) == len(tight.arcs)
    reaching = set(tight.finals)
    while True:
        more = {s for s, _, t in tight.arcs if t in reaching} - reaching
        if not more:
            break
        reaching |= more
    assert {s for s, _, _ in tight.arcs} <= reaching
    assert tight.start == 0


def test_chains_are_the_arcs_told_once(tight):
    told = [(s, word, target) for word, target, sources in tight.chains for s in sources]
    assert sorted(told) == list(tight.arcs)
    assert len(tight.chains) < 3000


def test_kinds_and_labels_narrow_and_widen():
    grammar = Grammar.build(Context(unit="Ohm", labels=("sprogglet housing",)))
    assert grammar.accepts("ten point six ohms")
    assert grammar.accepts("sprogglet housing ten point six kilo ohms")
    assert not grammar.accepts("ten point six volts")
    assert not Grammar.build().accepts("sprogglet housing ten point six ohms")
    assert not Grammar.build(kinds=["angle"]).accepts("ten bar")


def test_answers_are_heard_only_while_a_question_is_open(tight):
    asked = Grammar.build(Context(question=True))
    for text in ("the first one", "second", "neither of them", "none of them", "milli volts"):
        assert asked.accepts(text)
        assert not tight.accepts(text)


def test_labels_and_choices_are_heard_alone():
    grammar = Grammar.build(Context(labels=("plain gauge",), choices=("sound", "12 V")))
    for text in ("plain gauge", "sound", "it's sound", "twelve volts"):
        assert grammar.accepts(text)


def test_every_form_of_a_command_that_is_expected_is_heard(tight):
    for name, forms in vocabulary.HEARD.items():
        if name not in vocabulary.ANSWERS:
            assert all(map(tight.accepts, forms)), name


def test_every_word_that_carries_a_value_can_be_heard(wide):
    said = {word for unit in UNITS.values() for form in unit.spoken for word in form.split()}
    said |= set(vocabulary.DIGITS) | set(vocabulary.TEENS) | set(vocabulary.TENS)
    said |= set(vocabulary.COLOURS) | set(vocabulary.SCALES) | set(vocabulary.DENOMINATORS)
    said |= {word for form in (*vocabulary.OPEN, *vocabulary.SHORT) for word in form.split()}
    said |= {
        word
        for name, forms in vocabulary.COMMANDS.items()
        for form in forms
        for word in form.split()
        if name not in vocabulary.ANSWERS
    }
    assert said <= wide.words


def test_every_unit_can_be_heard_and_read():
    grammar = Grammar.build()
    for code, unit in UNITS.items():
        for form in unit.spoken:
            text = f"twelve point five {form}"
            assert grammar.accepts(text), text
            entry = parse(text)
            assert (entry.kind, entry.value, entry.unit) == ("reading", "12.5", code), text


JSGF = r"""
    start: "#JSGF V1.0;" "grammar" NAME ";" rule+
    rule: ["public"] "<" NAME ">" "=" choice ";"
    choice: sequence ("|" sequence)*
    sequence: item+
    item: WORD | "<" NAME ">" | "(" choice ")" | "[" choice "]"
    NAME: /[a-z0-9]+/
    WORD: /[a-z][a-z'-]*/
    %ignore /\s+/
"""


def test_jsgf_is_well_formed_and_says_the_same(tight):
    """Read by an outside parser after the W3C note's syntax, then walked against the automaton."""
    tree = lark.Lark(JSGF, parser="lalr").parse(Grammar.build(kinds=["angle"]).jsgf())
    rules = {str(rule.children[-2]) for rule in tree.find_data("rule")}
    used = {
        str(item.children[0])
        for item in tree.find_data("item")
        if isinstance(item.children[0], lark.Token) and item.children[0].type == "NAME"
    }
    assert used <= rules


def test_phrases_hold_every_word_and_keep_order_where_it_matters(tight):
    phrases = tight.phrases()
    assert set(tight.words) <= set(phrases)
    assert {"inch pounds", "twenty one", "scratch that", "open circuit"} <= set(phrases)


def test_the_prompt_shows_units_and_never_a_limit():
    prompt = Grammar.build(kinds=["resistance"]).prompt()
    assert "Ω" in prompt
    assert "bar" not in prompt.split("Pin")[0]
