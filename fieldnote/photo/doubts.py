"""Why a string that reads well may still not be what the display shows: then it is asked about."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from fieldnote.photo.nets import Lines
from fieldnote.photo.strings import greedy, probabilities

_DOUBT = 0.25
"""Share of the best string's probability from which a rival makes what differs uncertain."""
_POINT_SEEN = 0.25
"""Agreement of the second witness below which the point is uncertain."""
_SURE_OF_MORE = 0.5
"""Probability of a longer string in one view from which the shorter one is doubted."""
_GROWTH = 1.3
"""From this ratio of heights on, digits do not belong to the same number."""
_SLIGHT_GROWTH = 1.12
"""From this ratio on, if they stand further apart too."""
_APART = 1.8
"""Pitch of two digits, over the usual one, from which something may stand between them."""


def doubts_of(
    seen: Sequence[Lines], best: str, ranked: Sequence[tuple[str, float]]
) -> tuple[str, ...]:
    """What is uncertain about `best`, in words that follow "uncertain:".

    seen: what each reader net says of the same views. ranked: strings as shown, likeliest first.
    """
    if set(best) == {"-"}:
        return ()
    found = [*_of_point_and_sign(best, ranked), *_of_digits(best, ranked)]
    if not found and min(_point_agrees(lines, best) for lines in seen) < _POINT_SEEN:
        found.append("the decimal point")
    if best.lstrip("-").startswith("."):
        found.append("whether a digit stands before the point")
    if any(_more_beside(lines, best) for lines in seen):
        found.append("whether all digits were seen")
    if len(digits_of(best)) == 1:
        found.append("whether this is a display: only one digit was seen")
    spaced = [doubt for lines in seen if (doubt := _of_spacing(lines, best)) is not None]
    return tuple(dict.fromkeys((*found, *spaced)))


def digits_of(string: str) -> str:
    """The string without its point, sign and colon."""
    return string.replace(".", "").replace("-", "").replace(":", "")


def _of_point_and_sign(best: str, ranked: Sequence[tuple[str, float]]) -> list[str]:
    found: list[str] = []
    chance = ranked[0][1]
    digits = best.replace(".", "").lstrip("-")
    for text, other in ranked[1:]:
        if other < _DOUBT * chance or text.replace(".", "").lstrip("-") != digits:
            continue
        if text.startswith("-") != best.startswith("-"):
            found.append("the sign")
        if text.lstrip("-") != best.lstrip("-"):
            found.append("the decimal point")
    return list(dict.fromkeys(found))


def _of_digits(best: str, ranked: Sequence[tuple[str, float]]) -> list[str]:
    digits = digits_of(best)
    found = []
    for text, other in ranked[1:]:
        rival = digits_of(text)
        if other < _DOUBT * ranked[0][1] or rival == digits or not digits.isdigit():
            continue
        differing = [k for k in range(len(digits)) if digits[k] != rival[k : k + 1]]
        if len(rival) != len(digits):
            found.append("whether all digits were seen")
        elif differing == [0]:
            found.append("the first digit")
        elif differing == [len(digits) - 1]:
            found.append("the last digit")
        else:
            found.append("a digit")
    return found


def _point_agrees(lines: Lines, string: str) -> float:
    """How far the net's second witness of the point, digit by digit, bears the string out.

    In [0, 1]; 1 where no view read these digits one by one.
    """
    digits = digits_of(string)
    after = string.replace("-", "").find(".") - 1
    agreeing = []
    for i, view in enumerate(lines.characters):
        text, frames = greedy(view)
        if not digits.isdigit() or digits_of(text) != digits:
            continue
        seen = [lines.point_after[i, t] for t, c in zip(frames, text, strict=True) if c.isdigit()]
        # A point after the last digit means nothing: neither seen nor missed.
        agreeing.append(
            min((p if k == after else 1 - p for k, p in enumerate(seen[:-1])), default=1.0)
        )
    return float(np.mean(agreeing)) if agreeing else 1.0


def _more_beside(lines: Lines, string: str) -> bool:
    """Whether some view surely saw further digits before or behind these."""
    digits = digits_of(string)
    for view in lines.characters:
        text, _ = greedy(view)
        seen = digits_of(text)
        if len(seen) > len(digits) and digits in seen:
            chance = float(probabilities(view[None], [text])[0, 0])
            if chance > _SURE_OF_MORE:
                return True
    return False


def _of_spacing(lines: Lines, string: str) -> str | None:
    """What the digits' heights and distances say against their being one whole number.

    Digits further right may be smaller, as decimals are, never larger; and they stand evenly.
    """
    for i, view in enumerate(lines.characters):
        text, frames = greedy(view)
        if text != string:
            continue
        at = [k for k, c in enumerate(text) if c.isdigit()]
        where = np.array([frames[k] for k in at], np.intp)
        heights = lines.bottom[i, where] - lines.top[i, where]
        return _uneven(where, heights, [text[a + 1 : b] for a, b in pairwise(at)])
    return None


def _uneven(where: np.ndarray, heights: np.ndarray, between: Sequence[str]) -> str | None:
    pitch = np.diff(where)
    narrower = np.sort(pitch)[: (len(pitch) + 1) // 2]
    usual = float(np.median(narrower)) if len(pitch) else 0.0
    for k in range(1, len(heights)):
        growth = float(np.median(heights[k:])) / max(1e-6, float(np.median(heights[:k])))
        wider = k >= 2 and pitch[k - 1 :].min() >= 1.4 * np.median(pitch[: k - 1])
        if growth > _GROWTH or (growth > _SLIGHT_GROWTH and wider):
            return "whether this is one display or two side by side"
    if len(pitch) >= 2 and any(
        gap > _APART * usual and gap >= usual + 3 and not signs
        for gap, signs in zip(pitch, between, strict=True)
    ):
        return "whether a digit stands in the gap between these"
    return None
