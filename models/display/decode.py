"""From the networks' output to boxes and strings: numpy and OpenCV only, used to evaluate the
weights."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from models.display.samples import FINDER_SIZE, GREY, fit, normalise
from models.display.text import ALPHABET

CLASSES = len(ALPHABET) + 1
VIEWS = (
    (0.0, 0.0, 0.0, 0.0),
    (0.15, 0.08, 0.15, 0.08),
    (-0.08, -0.04, -0.08, -0.04),
    (0.3, 0.0, 0.0, 0.12),
    (0.0, 0.12, 0.3, 0.0),
)
"""Margins (left, top, right, bottom) added to a crop for each view, in heights of the crop."""


@dataclass(slots=True)
class Box:
    """A box found: centre, half length and half height in px, direction as a unit vector, score in
    [0, 1]."""

    centre: np.ndarray
    half: np.ndarray
    along: np.ndarray
    score: float

    def quad(self, grow_x: float = 0.0, grow_y: float = 0.0) -> np.ndarray:
        """Corners (4, 2), grown on each side by shares of the height."""
        across = np.array([-self.along[1], self.along[0]])
        a = self.along * (self.half[0] + 2 * grow_x * self.half[1])
        b = across * self.half[1] * (1 + 2 * grow_y)
        return np.stack(
            [self.centre - a - b, self.centre + a - b, self.centre + a + b, self.centre - a + b]
        ).astype(np.float32)


@dataclass(slots=True)
class Read:
    """Strings with their probabilities, likeliest first; point: probability that a point follows
    each digit of the best."""

    ranked: list[tuple[str, float]]

    @property
    def text(self) -> str:
        return self.ranked[0][0] if self.ranked else ""

    @property
    def confidence(self) -> float:
        return self.ranked[0][1] if self.ranked else 0.0


def network(path: Path) -> cv2.dnn.Net:
    return cv2.dnn.readNetFromONNX(str(path))


def find(
    net: cv2.dnn.Net, picture: np.ndarray, size: int = FINDER_SIZE, threshold: float = 0.5
) -> list[Box]:
    """Displays in an upright RGB picture (uint8), the best score first."""
    h, w = picture.shape[:2]
    k = size / max(h, w)
    nw, nh = max(1, round(w * k)), max(1, round(h * k))
    canvas = np.full((-(-nh // 32) * 32, -(-nw // 32) * 32, 3), GREY, np.uint8)
    canvas[:nh, :nw] = cv2.resize(
        picture, (nw, nh), interpolation=cv2.INTER_AREA if k < 1 else cv2.INTER_LINEAR
    )
    net.setInput((canvas.astype(np.float32) / 127.5 - 1).transpose(2, 0, 1)[None])
    out = net.forward()[0]
    score = 1 / (1 + np.exp(-out[0]))
    count, labels = cv2.connectedComponents((score > threshold).astype(np.uint8), connectivity=4)
    boxes = []
    for label in range(1, count):
        ys, xs = np.nonzero(labels == label)
        if len(ys) < 3:
            continue
        cells = out[:, ys, xs]
        weight = score[ys, xs]
        along = (cells[6:8] * weight).sum(1)
        along = along / max(float(np.linalg.norm(along)), 1e-6)
        across = np.array([-along[1], along[0]])
        points = np.stack([(xs + 0.5) * 4, (ys + 0.5) * 4])
        u, v = along @ points, across @ points
        left, top, right, bottom = 16 * np.exp(np.clip(cells[2:6], -5, 5))
        low, high = np.quantile(u, [1 / 3, 2 / 3])
        near_left, near_right = u <= low, u >= high
        u0, u1 = np.median((u - left)[near_left]), np.median((u + right)[near_right])
        v0, v1 = np.median(v - top), np.median(v + bottom)
        half = np.array([max(u1 - u0, 2.0), max(v1 - v0, 2.0)]) / 2 / k
        centre = (along * (u0 + u1) / 2 + across * (v0 + v1) / 2) / k
        boxes.append(Box(centre, half, along, float(weight.mean())))
    return sorted(boxes, key=lambda box: -box.score)


def cut(picture: np.ndarray, quad: np.ndarray) -> np.ndarray:
    """The inside of a quad as an upright crop at about the reader's resolution."""
    high = float(np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2
    wide = float(np.linalg.norm(quad[1] - quad[0]) + np.linalg.norm(quad[2] - quad[3])) / 2
    h = int(np.clip(high, 24, 96))
    w = int(max(12, round(wide * h / max(high, 1e-3))))
    source = picture
    if high > 2 * h:  # shrink first, or the warp would skip pixels
        k = h / high
        source = cv2.resize(picture, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
        quad = quad * np.array(
            [source.shape[1] / picture.shape[1], source.shape[0] / picture.shape[0]], np.float32
        )
    matrix = cv2.getPerspectiveTransform(
        quad.astype(np.float32), np.float32([(0, 0), (w, 0), (w, h), (0, h)])
    )
    return cv2.warpPerspective(
        source, matrix, (w, h), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )


def logits(net: cv2.dnn.Net, crops: list[np.ndarray]) -> np.ndarray:
    """Reader output (n, channels, frames) of RGB crops."""
    net.setInput(np.stack([normalise(*fit(crop)) for crop in crops]))
    return net.forward().copy()


def log_softmax(out: np.ndarray) -> np.ndarray:
    raw = out[..., :CLASSES, :]
    raw = raw - raw.max(-2, keepdims=True)
    return raw - np.log(np.exp(raw).sum(-2, keepdims=True))


def greedy(scores: np.ndarray) -> str:
    best = scores.argmax(0)
    return "".join(
        ALPHABET[best[t] - 1] for t in np.flatnonzero(np.diff(best, prepend=0)) if best[t]
    )


def beam(scores: np.ndarray, width: int = 6) -> list[str]:
    """Likeliest strings of one view: prefix beam search over (classes, frames) log
    probabilities."""
    beams: dict[str, tuple[float, float]] = {"": (0.0, -np.inf)}
    for column in scores.T:
        grown: dict[str, list[float]] = defaultdict(lambda: [-np.inf, -np.inf])
        likely = [c for c in np.argsort(column)[-4:] if column[c] > -7]
        for prefix, (blank, full) in beams.items():
            both = np.logaddexp(blank, full)
            cell = grown[prefix]
            cell[0] = np.logaddexp(cell[0], both + column[0])
            for c in likely:
                if c == 0:
                    continue
                char = ALPHABET[c - 1]
                if prefix.endswith(char):
                    cell[1] = np.logaddexp(cell[1], full + column[c])
                    longer = grown[prefix + char]
                    longer[1] = np.logaddexp(longer[1], blank + column[c])
                else:
                    longer = grown[prefix + char]
                    longer[1] = np.logaddexp(longer[1], both + column[c])
        beams = {
            p: (b, f)
            for p, (b, f) in sorted(grown.items(), key=lambda item: -np.logaddexp(*item[1]))[:width]
        }
    return list(beams)


def forward(scores: np.ndarray, text: str) -> float:
    """Log probability of a string under CTC; scores (classes, frames)."""
    labels = np.zeros(2 * len(text) + 1, np.int64)
    labels[1::2] = [ALPHABET.index(char) + 1 for char in text]
    skip = np.zeros(len(labels), bool)
    skip[2:] = (labels[2:] != 0) & (labels[2:] != labels[:-2])
    state = np.full(len(labels), -1e9)
    state[:2] = scores[labels[:2], 0]
    for column in scores.T[1:]:
        one = np.concatenate([[-1e9], state[:-1]])
        two = np.where(skip, np.concatenate([[-1e9, -1e9], state[:-2]])[: len(state)], -1e9)
        state = np.logaddexp(np.logaddexp(state, one), two) + column[labels]
    return float(np.logaddexp(state[-1], state[-2])) if len(state) > 1 else float(state[-1])


def plausible(text: str) -> bool:
    """Could stand on a display as one reading: at most one point, a sign only in front."""
    return (
        bool(text)
        and text.count(".") <= 1
        and "-" not in text.lstrip("-")
        and text not in ("-", ".", ":")
    )


def read(
    net: cv2.dnn.Net, crop: np.ndarray, views: tuple[tuple[float, float, float, float], ...] = VIEWS
) -> Read:
    """A display line in an RGB crop: strings scored as wholes over several views."""
    h, w = crop.shape[:2]
    pad = max(1, int(0.35 * h))
    wide = cv2.copyMakeBorder(crop, pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    crops = []
    for left, top, right, bottom in views:
        y0, y1 = round(pad - top * h), round(pad + h + bottom * h)
        x0, x1 = round(pad - left * h), round(pad + w + right * h)
        crops.append(wide[max(0, y0) : y1, max(0, x0) : x1])
    scores = log_softmax(logits(net, crops))
    candidates = {text for view in scores for text in beam(view)}
    for text in list(candidates):
        digits = text.replace(".", "")
        sign = len(digits) - len(digits.lstrip("-"))
        if text == next(iter(candidates)) or len(candidates) < 40:
            candidates |= {digits} | {
                digits[:i] + "." + digits[i:] for i in range(sign + 1, len(digits))
            }
    kept = [text for text in candidates if plausible(text)]
    ranked = [
        (text, float(np.mean([np.exp(forward(view, text)) for view in scores]))) for text in kept
    ]
    return Read(sorted(ranked, key=lambda item: -item[1])[:8])
