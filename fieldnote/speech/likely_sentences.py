"""Sentences of a grammar as often as they are said: what vosk's language model is made of.

vosk takes a list of phrases and counts which word follows which; the grammar itself it can't take.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldnote.speech.prior import SINGULAR, word_cost

if TYPE_CHECKING:
    from fieldnote.language import Grammar

SENTENCES = 20_000
"""Drawn for a language model."""

PRICE = 0.8
"""Part of a word's usual price (`prior`) that counts here: wires, notes and commands are rarer than
readings, but are said."""

ENDS = 3.0
"""Odds of the end where a sentence may end, on the scale of the words' odds."""

ONE = 0.2
"""Odds of a unit's singular against its plural: "one ohm" is said less often than "six ohms"."""

LONGEST = 12
"""Words; a longer sentence is cut, its last words have neighbours enough in others."""


def phrases_of(grammar: Grammar) -> list[str]:
    """What to give vosk: every word and every fixed phrase once, and likely sentences."""
    return [*grammar.phrases(), *likely_sentences(grammar, SENTENCES)]


def likely_sentences(grammar: Grammar, count: int, seed: int = 1) -> list[str]:
    """`count` sentences, the same for the same seed."""
    arcs = sorted(grammar.arcs)
    source = np.array([arc[0] for arc in arcs])
    target = np.array([arc[2] for arc in arcs])
    odds = {
        word: float(np.exp(PRICE * word_cost(word))) * (ONE if word in SINGULAR else 1.0)
        for word in grammar.words
    }
    # The odds of all arcs in a row: a draw between a state's bounds is one of its arcs.
    row = np.concatenate([[0.0], np.cumsum([odds[word] for _, word, _ in arcs])])
    states = int(max(source.max(), target.max())) + 1
    stop = np.searchsorted(source, np.arange(states), "right")
    first, last = row[np.searchsorted(source, np.arange(states), "left")], row[stop]
    ends = np.zeros(states)
    ends[list(grammar.finals)] = ENDS
    ends[first == last] = 1.0

    rng = np.random.default_rng(seed)
    state = np.full(count, grammar.start)
    said: list[list[str]] = [[] for _ in range(count)]
    going = np.arange(count)
    for _ in range(LONGEST):
        here = state[going]
        drawn = rng.random(len(going)) * (last[here] - first[here] + ends[here]) - ends[here]
        going, drawn = going[drawn >= 0], drawn[drawn >= 0]
        chosen = np.searchsorted(row, first[state[going]] + drawn, "right") - 1
        chosen = np.minimum(chosen, stop[state[going]] - 1)  # a sum may round up to its end
        for place, arc in zip(going.tolist(), chosen.tolist(), strict=True):
            said[place].append(arcs[arc][1])
        state[going] = target[chosen]
    return [" ".join(words) for words in said if words]
