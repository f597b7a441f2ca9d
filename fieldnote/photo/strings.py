"""Scores whole strings against what a reader net says frame by frame.

The net gives, for every frame, probabilities of "nothing" and of each character (connectionist
temporal classification: Graves et al., ICML 2006). A string's probability is the sum over all ways
to spread it over the frames, found by the forward recursion of that paper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

Frames = npt.NDArray[np.float64]
"""(views, frames, 1 + characters): logarithms of probabilities, "nothing" first."""

ALPHABET = "0123456789.-:LErHioF"
_NEVER = -1e9


def greedy(frames: npt.NDArray[np.float64]) -> tuple[str, list[int]]:
    """The likeliest character of every frame, repeats merged, and the frame of each character.

    Args:
        frames: (frames, 1 + characters), one view.
    """
    best = frames.argmax(axis=1)
    text, places, before = "", [], 0
    for t, k in enumerate(best):
        if k != 0 and k != before:
            text += ALPHABET[k - 1]
            places.append(t)
        elif k != 0 and frames[t, k] > frames[places[-1], k]:
            places[-1] = t
        before = int(k)
    return text, places


def probabilities(frames: Frames, strings: Sequence[str]) -> npt.NDArray[np.float64]:
    """(views, strings): the probability of each string in each view."""
    longest = max((len(s) for s in strings), default=0)
    states = 2 * longest + 1
    labels = np.zeros((len(strings), states), np.intp)
    for row, string in zip(labels, strings, strict=True):
        row[1 : 2 * len(string) : 2] = [ALPHABET.index(c) + 1 for c in string]
    lasts = np.array([2 * len(s) for s in strings])
    # From a character straight to the next one, where the two differ.
    skips = np.full(labels.shape, _NEVER)
    skips[:, 2:][(labels[:, 2:] != 0) & (labels[:, 2:] != labels[:, :-2])] = 0.0

    shape = (frames.shape[0], *labels.shape)
    alpha = np.full(shape, _NEVER)
    emitted = frames[:, :, labels]  # views, frames, strings, states
    alpha[:, :, 0] = emitted[:, 0, :, 0]
    if states > 1:
        alpha[:, :, 1] = emitted[:, 0, :, 1]
    for t in range(1, frames.shape[1]):
        total = alpha.copy()
        total[:, :, 1:] = np.logaddexp(total[:, :, 1:], alpha[:, :, :-1])
        total[:, :, 2:] = np.logaddexp(total[:, :, 2:], alpha[:, :, :-2] + skips[None, :, 2:])
        alpha = total + emitted[:, t]
    rows = np.arange(len(strings))
    ends = alpha[:, rows, lasts]
    before = alpha[:, rows, np.maximum(lasts - 1, 0)]
    ends = np.where(lasts > 0, np.logaddexp(ends, before), ends)
    return np.asarray(np.exp(np.minimum(ends, 0.0)), np.float64)


def candidates(frames: Frames, most: int = 48) -> list[str]:
    """Strings worth scoring: each view's greedy one, and those a doubtful frame away from it."""
    found: dict[str, None] = {}
    for view in frames:
        text, places = greedy(view)
        if text:
            found[text] = None
        for i, t in enumerate(places):
            order = np.argsort(view[t])[::-1]
            for k in order[:3]:
                if view[t, k] < np.log(0.03):
                    break
                other = ALPHABET[k - 1] if k else ""
                changed = text[:i] + other + text[i + 1 :]
                if changed:
                    found[changed] = None
    for text in list(found)[:8]:
        for changed in _pointed(text):
            found[changed] = None
    return list(found)[:most]


def _pointed(text: str) -> Iterable[str]:
    """The same digits with the point left out or elsewhere, with and without the sign."""
    body = text.lstrip("-")
    digits = body.replace(".", "")
    if not digits.isdigit():
        return
    sign = "-" if text.startswith("-") else ""
    yield sign + digits
    for i in range(1, len(digits)):
        yield sign + digits[:i] + "." + digits[i:]
    yield ("" if sign else "-") + body
