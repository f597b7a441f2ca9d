"""The search against a plain one that knows nothing of graphs: every sentence, every alignment."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from fieldnote.speech.ctc_graph import spell_out
from fieldnote.speech.ctc_search import paths, search
from fieldnote.speech.word_graph import Arc, WordGraph

BLANK = 4
SOUNDS = {"ab": [(0, 1)], "a": [(0,), (2, 0)], "cc": [(2, 2)], "d": [(3,)]}
COST = -0.4


def two_word_graph() -> WordGraph:
    """One or two words of four."""
    first = [Arc(0, word, 0) for word in SOUNDS]
    second = [Arc(1, word, 1) for word in SOUNDS]
    return WordGraph(
        (*first, *second), (frozenset({1}), frozenset()), frozenset({0}), frozenset({0, 1})
    )


def best_alignment(words, log_probs, gap) -> float:
    """The best score of a sentence: states one behind the other, in plain Python.

    Between words stands a gap, which may be left out; between equal phonemes a blank, which may
    not (Graves et al. 2006).
    """
    best = -np.inf
    for ways in product(*(SOUNDS[word] for word in words)):
        states: list[tuple[str, int]] = [("gap", -1)]
        for way in ways:
            for place, phoneme in enumerate(way):
                if place:
                    states.append(("blank", BLANK))
                states.append(("phoneme", phoneme))
            states.append(("gap", -1))

        def emitted(state, frame):
            return gap[frame] if state[0] == "gap" else log_probs[frame, state[1]]

        scores = [-np.inf] * len(states)
        scores[0], scores[1] = emitted(states[0], 0), emitted(states[1], 0)
        for frame in range(1, len(log_probs)):
            scores = [
                max(
                    scores[place],
                    scores[place - 1] if place else -np.inf,
                    scores[place - 2] if may_skip(states, place) else -np.inf,
                )
                + emitted(state, frame)
                for place, state in enumerate(states)
            ]
        best = max(best, scores[-1], scores[-2])
    return best + COST * len(words)


def may_skip(states, place) -> bool:
    if place < 2 or states[place][0] != "phoneme" or states[place - 2][0] != "phoneme":
        return False
    return states[place - 1][0] == "gap" or states[place] != states[place - 2]


@pytest.mark.parametrize("seed", range(12))
def test_all_sentences_in_order_with_their_scores(seed: int) -> None:
    rng = np.random.default_rng(seed)
    log_probs = np.log(rng.dirichlet(np.full(5, 0.5), size=9)).astype(np.float32)
    gap = np.maximum(log_probs[:, BLANK], np.float32(-3))
    graph = spell_out(two_word_graph(), SOUNDS, BLANK, cost=lambda word: COST)
    found = {path.text: path.score for path in paths(search(graph, log_probs, gap), beam=60)}
    sentences = [(one,) for one in SOUNDS] + list(product(SOUNDS, repeat=2))
    expected = {" ".join(one): best_alignment(one, log_probs, gap) for one in sentences}
    assert list(found.values()) == sorted(found.values(), reverse=True)
    assert max(expected.values()) == pytest.approx(next(iter(found.values())), abs=1e-3)
    # A second word's beginning is taken as that of the best first word: never better than true.
    for text, score in found.items():
        assert score <= expected[text] + 1e-3
    assert set(list(found)[:1]) == {max(expected, key=expected.__getitem__)}
    singles = {text for text in expected if " " not in text}
    for text in singles & set(found):
        assert found[text] == pytest.approx(expected[text], abs=1e-3)


def test_words_have_their_times() -> None:
    """Frames: gap, a, b, gap, d, gap."""
    log_probs = np.full((6, 5), -8, np.float32)
    for frame, sound in enumerate([BLANK, 0, 1, BLANK, 3, BLANK]):
        log_probs[frame, sound] = -0.01
    graph = spell_out(two_word_graph(), SOUNDS, BLANK, cost=lambda word: COST)
    best = next(paths(search(graph, log_probs, log_probs[:, BLANK]), beam=10))
    assert [(word.word, word.start, word.end) for word in best.words] == [("ab", 1, 3), ("d", 4, 5)]


def test_no_frames_no_sentences() -> None:
    graph = spell_out(two_word_graph(), SOUNDS, BLANK, cost=lambda word: COST)
    nothing = np.zeros((0, 5), np.float32)
    assert list(paths(search(graph, nothing, nothing[:, 0]), beam=10)) == []
