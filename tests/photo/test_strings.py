"""String scores against the definition: the sum over all ways to spread a string over frames."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldnote.photo.strings import ALPHABET, candidates, greedy, probabilities


def _collapsed(path: tuple[int, ...]) -> str:
    """Repeats merged, then "nothing" left out: B of Graves et al., ICML 2006, section 3.1."""
    merged = [k for i, k in enumerate(path) if i == 0 or k != path[i - 1]]
    return "".join(ALPHABET[k - 1] for k in merged if k)


def _frames(seed: int, count: int, sharp: float = 1.0) -> np.ndarray:
    logits = np.random.default_rng(seed).normal(size=(count, 1 + len(ALPHABET))) * sharp
    return logits - np.log(np.exp(logits).sum(axis=1, keepdims=True))


@pytest.mark.parametrize("string", ["", "1", "11", "12", "1.", "121"])
def test_forward_recursion_is_the_sum_over_all_paths(string: str) -> None:
    frames = _frames(3, 4)
    used = sorted({0, *(ALPHABET.index(c) + 1 for c in string)})
    total = sum(
        float(np.exp(sum(frames[t, k] for t, k in enumerate(path))))
        for path in product(used, repeat=4)
        if _collapsed(path) == string
    )
    assert probabilities(frames[None], [string])[0, 0] == pytest.approx(total)


def test_strings_of_different_lengths_are_scored_alike_together_and_alone() -> None:
    frames = np.stack([_frames(1, 12), _frames(2, 12)])
    strings = ["7", "12.34", "-0.5", "OL".replace("O", "0"), "88888"]
    together = probabilities(frames, strings)
    for k, string in enumerate(strings):
        assert together[:, k] == pytest.approx(probabilities(frames, [string])[:, 0])


@settings(max_examples=60, deadline=None)
@given(st.text("0123456789.-", min_size=1, max_size=9))
def test_what_the_frames_spell_is_read_back(text: str) -> None:
    frames = np.full((40, 1 + len(ALPHABET)), np.log(1e-4))
    frames[:, 0] = np.log(1 - 20e-4)
    for i, character in enumerate(text):
        frames[3 + 4 * i] = frames[3 + 4 * i][::-1]
        frames[3 + 4 * i] = np.log(1e-4)
        frames[3 + 4 * i, ALPHABET.index(character) + 1] = np.log(1 - 20e-4)
    assert greedy(frames) == (text, [3 + 4 * i for i in range(len(text))])
    others = [c for c in candidates(frames[None]) if c != text]
    scores = probabilities(frames[None], [text, *others])[0]
    assert scores[0] > 0.9
    assert all(score < 0.05 for score in scores[1:])


def test_candidates_move_the_point_and_turn_the_sign() -> None:
    frames = np.full((20, 1 + len(ALPHABET)), np.log(1e-4))
    frames[:, 0] = np.log(1 - 20e-4)
    for i, character in enumerate("123"):
        frames[3 + 4 * i] = np.log(1e-4)
        frames[3 + 4 * i, ALPHABET.index(character) + 1] = np.log(1 - 20e-4)
    assert {"123", "1.23", "12.3", "-123"} <= set(candidates(frames[None]))
