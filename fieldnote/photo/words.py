"""Cuts what stands round the digits into words and lets the annunciator net name them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.infer import run
from fieldnote.photo.picture import Pixels
from fieldnote.photo.symbols import OTHER, SPELLINGS
from fieldnote.photo.word_input import prepared
from fieldnote.weights import find_weights, weights

WEIGHTS = "annunciators/words.onnx"

_DIGITS = 128
"""px to which the height of the digits is brought."""
_LEFT, _RIGHT, _ABOVE, _BELOW = 0.9, 3.4, 1.3, 1.1
"""How far round the digits is looked, in their heights."""
_SURE = 0.9
_MOST_WORDS = 96
_NAMES = tuple(SPELLINGS)


@dataclass(frozen=True, slots=True)
class Word:
    """A word near the digits.

    name: the symbol. probability: of that name. rival: the next likely name, rival_probability its.
    x, y, height: of its middle from the middle of the digits' right edge, in heights of the digits.
    prefixed: whether something unnamed stands close before it. followed: whether anything stands
        behind it on its line, as the h of a spaced "kW h".
    """

    name: str
    probability: float
    rival: str
    rival_probability: float
    x: float
    y: float
    height: float
    prefixed: bool
    followed: bool


@dataclass(frozen=True, slots=True)
class _Blob:
    left: int
    top: int
    right: int
    bottom: int

    @property
    def height(self) -> int:
        return self.bottom - self.top


def annunciator_net_present() -> bool:
    """Whether the net's weights are installed."""
    return find_weights(WEIGHTS) is not None


def classify(words: list[Pixels]) -> npt.NDArray[np.float64]:
    """(n, names of `SPELLINGS`): probabilities for cut-out grey words."""
    batch = np.stack([prepared(word)[None] for word in words])
    logits = run(weights(WEIGHTS), batch).astype(np.float64)
    logits -= logits.max(axis=1, keepdims=True)
    odds = np.exp(logits)
    return np.asarray(odds / odds.sum(axis=1, keepdims=True), np.float64)


def words_near(pixels: Pixels, place: Place) -> list[Word]:
    """Units and annunciators round the digits at `place`; only those that are sure."""
    wide = place.widened(_LEFT, _RIGHT, _ABOVE, _BELOW)
    scale = _DIGITS / place.height
    size = (min(2000, round(wide.width * scale)), round(wide.height * scale))
    view = cut(pixels, wide, *size)
    grey = np.asarray(cv2.cvtColor(view, cv2.COLOR_BGR2GRAY), np.uint8)
    left, top = round(_LEFT * _DIGITS), round(_ABOVE * _DIGITS)
    digits = _Blob(left, top, round(size[0] - _RIGHT * _DIGITS), top + _DIGITS)
    blobs = _blobs(grey, digits)
    runs = [run for line in _lines(blobs) for run in _runs(line)][:_MOST_WORDS]
    if not runs:
        return []
    chances = classify([_cut_out(grey, run) for run, _ in runs])
    found: list[Word] = []
    taken: list[_Blob] = []
    # Longer runs first: in "kΩ" the lone "Ω" must not win.
    for i in sorted(range(len(runs)), key=lambda i: (-len(runs[i][0]), -chances[i].max())):
        run, prefixed = runs[i]
        best, second = (int(k) for k in np.argsort(chances[i])[::-1][:2])
        if _NAMES[best] == OTHER or chances[i, best] < _SURE or any(b in taken for b in run):
            continue
        taken += run
        x = (run[0].left + run[-1].right) / 2 - digits.right
        y = (min(b.top for b in run) + max(b.bottom for b in run)) / 2 - top - _DIGITS / 2
        height = max(b.bottom for b in run) - min(b.top for b in run)
        found.append(
            Word(_NAMES[best], float(chances[i, best]), _NAMES[second], float(chances[i, second]),
                 x / _DIGITS, y / _DIGITS, height / _DIGITS, prefixed, _followed(run, blobs))
        )  # fmt: skip
    return found


def _followed(run: list[_Blob], blobs: list[_Blob]) -> bool:
    top, bottom = min(b.top for b in run), max(b.bottom for b in run)
    right, height = max(b.right for b in run), bottom - top
    return any(
        right <= b.left <= right + 1.8 * height
        and min(b.bottom, bottom) - max(b.top, top) > 0.5 * height
        for b in blobs
    )


def _blobs(grey: Pixels, digits: _Blob) -> list[_Blob]:
    """Connected strokes outside the digits, of the polarity of the digits."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (35, 35))
    inside = (
        slice(digits.top, digits.bottom),
        slice(digits.left, max(digits.right, digits.left + 8)),
    )
    strokes, strong = np.zeros_like(grey), 0.0
    for operation in (cv2.MORPH_BLACKHAT, cv2.MORPH_TOPHAT):
        each = np.asarray(cv2.morphologyEx(grey, operation, kernel), np.uint8)
        strength = float(np.percentile(each[inside], 85))
        if strength > strong:
            strokes, strong = each, strength
    level = max(12.0, 0.38 * strong)
    binary = (cv2.GaussianBlur(strokes, (0, 0), 0.7) > level).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(binary)
    blobs = []
    for x, y, w, h, area in stats[1:]:
        blob = _Blob(int(x), int(y), int(x + w), int(y + h))
        middle = ((blob.left + blob.right) / 2, (blob.top + blob.bottom) / 2)
        in_digits = (
            digits.left - 3 < middle[0] < digits.right + 2
            and digits.top - 3 < middle[1] < digits.bottom + 3
        )
        if area >= 4 and h <= 0.85 * _DIGITS and w <= 2.5 * _DIGITS and not in_digits:
            blobs.append(blob)
    return blobs


def _lines(blobs: list[_Blob]) -> list[list[_Blob]]:
    """Groups of neighbours, each from left to right."""
    tall = [b for b in blobs if b.height >= 7]
    small = [b for b in blobs if b.height < 7]
    lines: list[list[_Blob]] = []
    for blob in sorted(tall, key=lambda b: b.left):
        for line in lines:
            last = line[-1]
            shared = min(last.bottom, blob.bottom) - max(last.top, blob.top)
            most = max(last.height, blob.height)
            near = blob.left - max(b.right for b in line) <= 0.75 * most
            if near and shared >= 0.4 * min(last.height, blob.height):
                line.append(blob)
                break
        else:
            lines.append([blob])
    for blob in small:  # the ring of a degree sign, the dot of N·m
        for line in lines:
            most = max(b.height for b in line)
            top, bottom = min(b.top for b in line), max(b.bottom for b in line)
            reach = line[0].left - 0.5 * most <= blob.left <= line[-1].right
            if reach and top - 0.3 * most <= blob.top and blob.bottom <= bottom + 1:
                line.append(blob)
                line.sort(key=lambda b: b.left)
                break
    return lines


def _runs(line: list[_Blob]) -> list[tuple[list[_Blob], bool]]:
    """Stretches of a line that stand apart as words, and whether something is close before each."""
    runs = []
    for first in range(len(line)):
        for last in range(first, min(len(line), first + 7)):
            run = line[first : last + 1]
            height = max(b.bottom for b in run) - min(b.top for b in run)
            if height < 7:
                continue
            right = max(b.right for b in line[: last + 1])
            after = line[last + 1].left - right if last + 1 < len(line) else 10**6
            before = run[0].left - max(b.right for b in line[:first]) if first else 10**6
            inner = [b.left - max(o.right for o in run[:k]) for k, b in enumerate(run[1:], start=1)]
            apart = max(0.22 * height, 1.25 * max(inner, default=0))
            if min(before, after) >= apart and max(inner, default=0) <= 0.6 * height:
                runs.append((run, before < 0.8 * height))
    return runs


def _cut_out(grey: Pixels, run: list[_Blob]) -> Pixels:
    left, right = run[0].left, max(b.right for b in run)
    top, bottom = min(b.top for b in run), max(b.bottom for b in run)
    margin = max(1, round(0.08 * (bottom - top)))
    return np.ascontiguousarray(
        grey[max(0, top - margin) : bottom + margin, max(0, left - margin) : right + margin]
    )
