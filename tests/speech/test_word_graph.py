"""The search's word graph has the sentences of the language's grammar."""

from __future__ import annotations

import random

import pytest

from fieldnote.language import Grammar
from fieldnote.speech.word_graph import WordGraph, sentences_graph, word_graph


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return Grammar.build()


@pytest.fixture(scope="module")
def graph(grammar: Grammar) -> WordGraph:
    return word_graph(grammar)


def accepts(graph: WordGraph, sentence: str) -> bool:
    """Set simulation, the plain way."""
    steps: dict[tuple[int, str], set[int]] = {}
    for arc in graph.arcs:
        steps.setdefault((arc.group, arc.word), set()).add(arc.place)
    groups, places = set(graph.begins), set()
    for word in sentence.split():
        places = {place for group in groups for place in steps.get((group, word), ())}
        groups = {group for place in places for group in graph.feeds[place]}
    return bool(places & graph.finals)


def test_sentences_of_the_grammar_are_in_the_graph(grammar: Grammar, graph: WordGraph) -> None:
    rng = random.Random(5)
    sentences = [grammar.sample(rng) for _ in range(200)]
    assert [one for one in sentences if not accepts(graph, one)] == []


@pytest.mark.parametrize(
    "sentence", ["ten point six ohms", "open circuit", "scratch that", "pin three black brown"]
)
def test_what_technicians_say_is_in_it(graph: WordGraph, sentence: str) -> None:
    assert accepts(graph, sentence)


@pytest.mark.parametrize("sentence", ["point", "ohms ten", "scratch", "ten point ohms", "volts"])
def test_what_is_no_sentence_is_not(grammar: Grammar, graph: WordGraph, sentence: str) -> None:
    assert not grammar.accepts(sentence)
    assert not accepts(graph, sentence)


def test_a_list_of_sentences_has_exactly_those() -> None:
    sentences = [("eight", "amps"), ("eight", "volts"), ("eight",)]
    graph, ends = sentences_graph(sentences)
    assert len(set(ends)) == 3
    assert all(accepts(graph, " ".join(sentence)) for sentence in sentences)
    assert not accepts(graph, "amps")
