"""Sentences that are known to be taken for one another are found, and only such."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.language import Context, Grammar, parse
from fieldnote.language.page import CLEARER
from fieldnote.procedure import load, shipped
from fieldnote.speech.confusable import distance, likeness, rivals
from fieldnote.speech.pronunciations import pronunciation

PHONEMES = sorted({p for word in ("five", "seventy", "thirteen") for p in pronunciation(word)[0]})
SOUNDS = st.lists(st.sampled_from(PHONEMES), max_size=6).map(tuple)


@pytest.mark.parametrize(
    ("said", "heard"),
    [
        # both ears of this project took the one for the other, 25 November 2026
        ("port twenty seven point four ohms", "four twenty seven point four ohms"),
        ("four twenty seven point four ohms", "port twenty seven point four ohms"),
        ("cracked", "correct"),
        # common practice of radio and aviation to keep apart, no source
        ("fifteen volts", "fifty volts"),
        ("thirteen point six volts", "thirty point six volts"),
        ("sixteen bar", "sixty bar"),
    ],
)
def test_known_confusions_are_rivals(said, heard):
    context = Context(choices=("cracked", "sound"))
    found = [rival.sentence for rival in rivals(said, Grammar.build(context), context, limit=20)]
    assert heard in found


@pytest.mark.parametrize("text", ["stop", "next step", "scratch that", "two hundred and six volts"])
def test_what_sounds_like_nothing_else_has_no_near_rival(text):
    assert not [rival for rival in rivals(text, Grammar.build()) if rival.distance < 0.6]


def test_rivals_are_sentences_of_another_meaning_nearest_first():
    grammar = Grammar.build()
    rng = random.Random(5)
    for _ in range(20):
        sentence = grammar.sample(rng)
        found = rivals(sentence, grammar)
        assert [rival.distance for rival in found] == sorted(rival.distance for rival in found)
        for rival in found:
            assert grammar.accepts(rival.sentence)
            assert parse(rival.sentence) != parse(sentence)


@pytest.mark.parametrize(("say", "rather_than", "sounds_like"), CLEARER)
def test_what_the_page_advises_is_told_apart_better(say, rather_than, sounds_like):
    context = Context(question=True)
    grammar = Grammar.build(context)
    near = {r.sentence: r.distance for r in rivals(rather_than, grammar, context, limit=20)}
    other = parse(sounds_like, context)
    alike = [d for text, d in near.items() if same(parse(text, context), other)]
    assert alike
    mistaken = [r for r in rivals(say, grammar, context, limit=20) if same_words(r, other, context)]
    assert not mistaken


def test_no_choice_of_a_shipped_procedure_sounds_like_a_command():
    """A "wet" heard as "wait", a "cracked" as "correct", would do what nobody asked for."""
    steps = [step for name in shipped() for step in load(name).steps]
    choices = tuple(sorted({c for step in steps if step.kind == "observe" for c in step.labels}))
    assert len(choices) > 10
    context = Context(labels=choices, choices=choices)
    grammar = Grammar.build(context)
    near = {
        (choice, rival.sentence)
        for choice in choices
        for rival in rivals(choice, grammar, context)
        if parse(rival.sentence, context).kind == "command"
    }
    assert near == set()


def same(one, other) -> bool:
    """Whether two entries have the same content, whatever the words."""
    return replace(one, text="", label=None) == replace(other, text="", label=None)


def same_words(rival, other, context) -> bool:
    return same(parse(rival.sentence, context), other)


@given(SOUNDS, SOUNDS, SOUNDS)
def test_the_distance_of_sounds_is_a_metric(one, other, third):
    assert distance(one, one) == 0
    assert distance(one, other) == pytest.approx(distance(other, one))
    assert distance(one, third) <= distance(one, other) + distance(other, third) + 0.61


def test_phonemes_that_differ_in_voicing_only_are_nearest():
    assert likeness("P", "B") < likeness("P", "T") < likeness("P", "N")
    assert likeness("IH", "EH") < likeness("IH", "AO")
