"""Sentences of a grammar as often as they are said: what vosk's language model is made of.

vosk takes a list of phrases and counts which word follows which; the grammar itself it can't take.
"""

from __future__ import annotations

import math
import random
from collections import defaultdict
from itertools import accumulate
from typing import TYPE_CHECKING

from fieldnote.speech.prior import word_cost

if TYPE_CHECKING:
    from fieldnote.language import Grammar

ENDS = 3.0
"""Odds of the end where a sentence may end, on the scale of the words' odds."""

LONGEST = 12
"""Words; a longer sentence is cut, its last words have neighbours enough in others."""


SENTENCES = 4000
"""Drawn for a language model. vosk takes 0.02 s to count them."""


def phrases_of(grammar: Grammar) -> list[str]:
    """What to give vosk: every word once, and what is said most again and again."""
    return [*sorted(grammar.words), *likely_sentences(grammar, SENTENCES)]


def likely_sentences(grammar: Grammar, count: int, seed: int = 1) -> list[str]:
    """`count` sentences, the same for the same seed, words drawn by their price (`prior`)."""
    following: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for source, word, target in grammar.arcs:
        following[source].append((word, target))
    finals = frozenset(grammar.finals)
    odds = {
        state: list(accumulate(math.exp(word_cost(word)) for word, _ in arcs))
        for state, arcs in following.items()
    }
    rng = random.Random(seed)

    def sentence() -> str:
        state, said = grammar.start, list[str]()
        while len(said) < LONGEST and state in following:
            if state in finals and rng.random() * (ENDS + odds[state][-1]) < ENDS:
                break
            (chosen,) = rng.choices(following[state], cum_weights=odds[state])
            said.append(chosen[0])
            state = chosen[1]
        return " ".join(said)

    return [sentence() for _ in range(count)]
