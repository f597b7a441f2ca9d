"""The nets of models/display: one finds displays, one or two read a line.

What goes in and comes out of them is in models/display/README.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, degrees

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.geometry import Place
from fieldnote.photo.infer import run
from fieldnote.photo.picture import Pixels
from fieldnote.photo.strings import ALPHABET
from fieldnote.weights import find_weights, weights

READER, FINDER = "display/reader.onnx", "display/finder.onnx"
SECOND_READER = "display/reader2.onnx"
"""Trained apart from the first, with the same input and output; may be missing."""

LINE_HEIGHT, LINE_WIDTH = 48, 320
"""px of the reader's input."""
FRAME = 4
"""px of the input that one frame of the reader, or one cell of the finder, covers."""

_KEPT_INNER = 0.5
_UNIT = 16.0
"""px of the finder's input in which its distances are given."""
_FEWEST_CELLS = 3

Values = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lines:
    """What the reader net says of n lines, in t frames.

    characters: (n, t, 1 + alphabet) logarithms of probabilities. point_after: (n, t) probability
    that a point follows the digit at that frame. top, bottom: (n, t) edges of the digit there, as
    shares of the line's height. widths: (n,) px of each line that are used, of `LINE_WIDTH`.
    """

    characters: Values
    point_after: Values
    top: Values
    bottom: Values
    widths: npt.NDArray[np.intp]


def nets_present() -> bool:
    """Whether the weights of both nets are installed."""
    return find_weights(READER) is not None and find_weights(FINDER) is not None


def reader_nets() -> tuple[str, ...]:
    """The reader, and the second one where its weights are installed."""
    return (READER,) if find_weights(SECOND_READER) is None else (READER, SECOND_READER)


def read_lines(lines: Sequence[Pixels], reader: str = READER) -> Lines:
    """Runs a reader on upright lines (height, width, 3), blue-green-red, of any size.

    Raises:
        MissingPartError: the reader's weights are not installed.
    """
    batch = np.zeros((len(lines), 3, LINE_HEIGHT, LINE_WIDTH), np.float32)
    widths = np.zeros(len(lines), np.intp)
    for i, line in enumerate(lines):
        prepared = _prepared(line)
        widths[i] = prepared.shape[2]
        batch[i, :, :, : widths[i]] = prepared
    out = run(weights(reader), batch).astype(np.float64)
    count = 1 + len(ALPHABET)
    logits = out[:, :count]
    logits = logits - logits.max(axis=1, keepdims=True)
    logp = logits - np.log(np.exp(logits).sum(axis=1, keepdims=True))
    return Lines(
        characters=logp.transpose(0, 2, 1),
        point_after=_sigmoid(out[:, count]),
        top=out[:, count + 1],
        bottom=out[:, count + 2],
        widths=widths,
    )


def _prepared(line: Pixels) -> npt.NDArray[np.float32]:
    height, width = line.shape[:2]
    wanted = min(LINE_WIDTH, max(16, round(width * LINE_HEIGHT / height)))
    shrinks = height > LINE_HEIGHT
    resized = cv2.resize(
        cv2.cvtColor(line, cv2.COLOR_BGR2RGB),
        (wanted, LINE_HEIGHT),
        interpolation=cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR,
    ).astype(np.float32)
    resized -= resized.mean(axis=(0, 1))
    resized /= resized.std() + 4.0
    return np.asarray(resized.transpose(2, 0, 1), np.float32)


def find_displays(pixels: Pixels, longer_side: int = 384) -> list[Place]:
    """Runs the finder; places tight round the digits, surest first.

    Args:
        longer_side: px to which the picture is brought; more of them show smaller displays.

    Raises:
        MissingPartError: the finder's weights are not installed.
    """
    height, width = pixels.shape[:2]
    scale = longer_side / max(height, width)
    small = cv2.resize(
        cv2.cvtColor(pixels, cv2.COLOR_BGR2RGB),
        (max(1, round(width * scale)), max(1, round(height * scale))),
        interpolation=cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR,
    )
    rows, columns = (-(-side // 32) * 32 for side in small.shape[:2])
    padded = np.full((rows, columns, 3), 114, np.float32)
    padded[: small.shape[0], : small.shape[1]] = small
    batch = np.ascontiguousarray((padded / 127.5 - 1.0).transpose(2, 0, 1)[None], np.float32)
    out = run(weights(FINDER), batch)[0].astype(np.float64)
    return [_scaled(place, 1 / scale) for place in _decoded(out)]


def _scaled(place: Place, scale: float) -> Place:
    return Place(
        place.x * scale, place.y * scale, place.width * scale, place.height * scale,
        place.angle, place.score,
    )  # fmt: skip


def _decoded(out: Values) -> list[Place]:
    """Oriented boxes from the finder's maps (8, rows, columns), px of its input."""
    inner = _sigmoid(out[0])
    count, label = cv2.connectedComponents((inner > _KEPT_INNER).astype(np.uint8), connectivity=4)
    places = []
    for i in range(1, count):
        ys, xs = np.nonzero(label == i)
        if len(ys) < _FEWEST_CELLS:
            continue
        score = float(inner[ys, xs].mean())
        cosine, sine = out[6, ys, xs].mean(), out[7, ys, xs].mean()
        length = max(1e-6, float(np.hypot(cosine, sine)))
        along = np.array([cosine, sine]) / length
        across = np.array([-along[1], along[0]])
        cells = np.stack([(xs + 0.5) * FRAME, (ys + 0.5) * FRAME], axis=1)
        u, v = cells @ along, cells @ across
        left, up, right, down = (
            _UNIT * np.exp(np.clip(out[2 + k, ys, xs], -6, 4)) for k in range(4)
        )
        third = max(1, len(u) // 3)
        order = np.argsort(u)
        start = float(np.median((u - left)[order[:third]]))
        end = float(np.median((u + right)[order[-third:]]))
        top, bottom = float(np.median(v - up)), float(np.median(v + down))
        if end - start < 2 or bottom - top < 2:
            continue
        middle = along * (start + end) / 2 + across * (top + bottom) / 2
        angle = degrees(atan2(along[1], along[0]))
        places.append(
            Place(float(middle[0]), float(middle[1]), end - start, bottom - top, angle, score)
        )
    return sorted(places, key=lambda p: -p.score * p.height)


def _sigmoid(x: Values) -> Values:
    return np.asarray(1 / (1 + np.exp(-np.clip(x, -40, 40))), np.float64)
