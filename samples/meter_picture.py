"""Draws photograph-like pictures of an invented hand-held meter, for the demo.

Nothing in them is a photograph: body, display and surroundings are drawn here, then tilted, lit,
blurred and made noisy as a phone would. Needs OpenCV, Pillow and the DejaVu fonts.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Picture = NDArray[np.uint8]
FONT = "DejaVuSans-Bold.ttf"
"""Of Debian's fonts-dejavu-core."""

# Segments a to g of a digit, as (x, y) corners in a cell 1 wide and 2 high, slanted afterwards.
_T = 0.17  # thickness of a segment
_SEGMENTS: dict[str, list[tuple[float, float]]] = {
    "a": [(0.1, 0), (0.9, 0), (0.9 - _T, _T), (0.1 + _T, _T)],
    "b": [(1, 0.1), (1, 0.95), (1 - _T, 0.95 - _T / 2), (1 - _T, 0.1 + _T)],
    "c": [(1, 1.05), (1, 1.9), (1 - _T, 1.9 - _T), (1 - _T, 1.05 + _T / 2)],
    "d": [(0.1, 2), (0.9, 2), (0.9 - _T, 2 - _T), (0.1 + _T, 2 - _T)],
    "e": [(0, 1.05), (0, 1.9), (_T, 1.9 - _T), (_T, 1.05 + _T / 2)],
    "f": [(0, 0.1), (0, 0.95), (_T, 0.95 - _T / 2), (_T, 0.1 + _T)],
    "g": [(0.12, 1), (0.2, 0.91), (0.8, 0.91), (0.88, 1), (0.8, 1.09), (0.2, 1.09)],
}
_LIT = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd",
    "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg", "-": "g", "L": "fed", " ": "",
}  # fmt: skip


def digits(image: Picture, text: str, origin: tuple[int, int], height: int, ink: int) -> None:
    """Draw `text` (digits, "-", "L", ".") in seven segments onto a grey image, in place."""
    x, scale = float(origin[0]), height / 2
    for mark in text:
        if mark == ".":
            centre = (int(x - 0.26 * scale), int(origin[1] + 1.93 * scale))
            cv2.circle(image, centre, max(2, int(0.1 * scale)), ink, -1, cv2.LINE_AA)
            continue
        for name in _LIT[mark]:
            corners = [
                (x + (px + 0.06 * (2 - py)) * scale, origin[1] + py * scale)
                for px, py in _SEGMENTS[name]
            ]
            cv2.fillPoly(image, [np.array(corners, np.int32)], ink, cv2.LINE_AA)
        x += 1.5 * scale


def meter(text: str, unit: str, notes: tuple[str, ...] = ("AUTO",)) -> Picture:
    """The face of the invented meter showing `text` and `unit`; BGR, 900 x 1300."""
    face = np.full((1300, 900, 3), (52, 60, 66), np.uint8)
    cv2.rectangle(face, (40, 40), (860, 1260), (38, 44, 48), -1)
    cv2.rectangle(face, (40, 40), (860, 1260), (128, 122, 58), 14)
    glass = np.full((330, 700), 176, np.uint8)
    digits(glass, text, (10 + 142 * max(0, 4 - len(text.replace(".", ""))), 95), 190, 42)
    for index, note in enumerate(notes):
        _print(glass, note, (30 + 150 * index, 22), 34)
    _print(glass, unit, (580, 150), 62)
    tinted = cv2.merge([np.clip(glass * k, 0, 255).astype(np.uint8) for k in (0.86, 1.0, 0.93)])
    face[130:460, 100:800] = tinted
    cv2.rectangle(face, (92, 122), (808, 468), (20, 22, 24), 10)
    cv2.circle(face, (450, 820), 200, (28, 32, 35), -1, cv2.LINE_AA)
    cv2.circle(face, (450, 820), 150, (60, 68, 74), -1, cv2.LINE_AA)
    cv2.line(face, (450, 820), (370, 690), (230, 230, 230), 12, cv2.LINE_AA)
    for label, where in (
        ("V", (210, 720)),
        ("Ohm", (300, 600)),
        ("A", (660, 720)),
        ("Hz", (650, 960)),
        ("OFF", (180, 960)),
    ):
        cv2.putText(
            face, label, where, cv2.FONT_HERSHEY_SIMPLEX, 1.3, (210, 210, 210), 3, cv2.LINE_AA
        )
    for x, colour in ((250, (30, 30, 30)), (450, (30, 30, 30)), (650, (40, 40, 170))):
        cv2.circle(face, (x, 1150), 46, colour, -1, cv2.LINE_AA)
        cv2.circle(face, (x, 1150), 22, (8, 8, 8), -1, cv2.LINE_AA)
    return face


def _print(glass: Picture, text: str, origin: tuple[int, int], size: int) -> None:
    """Print text as a display's symbols are: bold, without serifs, in the ink of the digits."""
    image = Image.fromarray(glass)
    ImageDraw.Draw(image).text(origin, text, 46, ImageFont.truetype(FONT, size))
    glass[:] = np.asarray(image)


def photograph(face: Picture, seed: int) -> Picture:
    """Put it on a bench, tilted, unevenly lit, blurred and noisy; BGR, 1600 x 1200."""
    random = np.random.default_rng(seed)
    height, width = 1600, 1200
    grain = cv2.GaussianBlur(random.normal(0, 26, (height, width)).astype(np.float32), (0, 0), 9)
    scene = np.repeat((112 + grain * 4)[:, :, None], 3, 2) * np.array([0.62, 0.8, 0.95])
    h, w = face.shape[:2]
    margin = 150
    jitter = random.uniform(-45, 45, (4, 2))
    left, right, top, bottom = margin, width - margin, margin, height - margin
    target = np.array([[left, top], [right, top], [right, bottom], [left, bottom]]) + jitter
    warp = cv2.getPerspectiveTransform(
        np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32), target.astype(np.float32)
    )
    laid = cv2.warpPerspective(face, warp, (width, height), flags=cv2.INTER_AREA)
    mask = cv2.warpPerspective(np.full((h, w), 255, np.uint8), warp, (width, height))
    alpha = cv2.GaussianBlur(mask, (0, 0), 1.5)[:, :, None] / 255.0
    scene = scene * (1 - alpha) + laid * alpha
    across = np.linspace(*random.uniform(0.72, 1.12, 2), width)[None, :, None]
    down = np.linspace(*random.uniform(0.8, 1.1, 2), height)[:, None, None]
    scene = cv2.GaussianBlur(scene * across * down, (0, 0), float(random.uniform(0.8, 1.4)))
    scene += random.normal(0, 4.5, scene.shape)
    return np.clip(scene, 0, 255).astype(np.uint8)
