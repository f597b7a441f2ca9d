"""Draws words as they stand beside a display's digits, and things that are none of them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from fieldnote.photo.symbols import OTHER, SPELLINGS

TRAINED = (
    "dejavu/DejaVuSans*.ttf",
    "liberation/LiberationSans*.ttf",
    "liberation/LiberationMono-B*",
    "noto/NotoSansMono*.ttf",
    "../opentype/urw-base35/URWGothic-*.otf",
)
KEPT_APART = ("../opentype/urw-base35/NimbusSans-*.otf", "noto/NotoMono*.ttf",
              "../opentype/urw-base35/NimbusSansNarrow-Bold.otf")  # fmt: skip
"""Fonts that are only measured with."""

_FOLDER = Path("/usr/share/fonts/truetype")
_LETTERS = "ABCDEFGHIKLMNOPRSTUVXYZabcdefghiklmnoprstuvxyz0123456789-/.:="


def fonts(patterns: tuple[str, ...]) -> list[Path]:
    """Debian's fonts-dejavu, fonts-liberation, fonts-noto-mono and fonts-urw-base35."""
    found = [p for pattern in patterns for p in sorted(_FOLDER.glob(pattern))]
    return [p for p in found if "Math" not in p.name]


@cache
def _font(path: Path, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, size)


def word_mask(text: str, path: Path, spacing: float = 0.0) -> np.ndarray:
    """(height, width) float32 in [0, 1], cut tight round the word."""
    font = _font(path, 56)
    image = Image.new("L", (int(font.getlength(text) * (1.2 + spacing)) + 60, 130), 0)
    draw, x = ImageDraw.Draw(image), 20.0
    for character in text:
        draw.text((x, 24), character, 255, font)
        x += font.getlength(character) * (1 + spacing)
    mask = np.asarray(image, np.float32) / 255
    ys, xs = np.nonzero(mask > 0.3)
    return mask[ys.min() : ys.max() + 1, xs.min() : xs.max() + 1]


def _battery(rng: np.random.Generator) -> np.ndarray:
    """The usual sign: an outlined box with a pole or two, often with + and - in it."""
    h, w = 44, int(rng.integers(60, 90))
    mask = np.zeros((h + 10, w + 14), np.float32)
    thick = int(rng.integers(3, 8))
    cv2.rectangle(mask, (2, 8), (w, h + 6), 1.0, thick)
    if rng.random() < 0.5:
        for x in (int(w * 0.22), int(w * 0.78)):
            cv2.rectangle(mask, (x - 6, 1), (x + 6, 8), 1.0, -1)
    else:
        cv2.rectangle(mask, (w, 20), (w + 8, h - 6), 1.0, -1)
    if rng.random() < 0.7:
        for x in (int(w * 0.28), int(w * 0.72)):
            cv2.line(mask, (x - 9, 30), (x + 9, 30), 1.0, thick)
        cv2.line(mask, (int(w * 0.28), 21), (int(w * 0.28), 39), 1.0, thick)
    return mask


def _nothing(rng: np.random.Generator, paths: list[Path]) -> np.ndarray:
    """Other words, digits, strokes, edges: what lies round displays and means nothing here."""
    if rng.random() < 0.7:
        known = {s.lower() for spellings in SPELLINGS.values() for s in spellings}
        while True:
            count = int(rng.choice([1, 1, 2, 2, 3, 4, 5, 6]))
            text = "".join(rng.choice(list(_LETTERS), count))
            # A lone letter may be half of a unit: it must not be taken for one either.
            if text.lower() not in known and text not in {"O", "o", "0", "Q"}:
                break
        return word_mask(text, paths[int(rng.integers(len(paths)))])
    mask = np.zeros((60, int(rng.integers(20, 150))), np.float32)
    for _ in range(int(rng.integers(1, 4))):
        points = (rng.random((int(rng.integers(2, 5)), 2)) * mask.shape[::-1]).astype(np.int32)
        if rng.random() < 0.5:
            cv2.polylines(mask, [points], bool(rng.random() < 0.5), 1.0, int(rng.integers(4, 18)))
        else:
            cv2.fillPoly(mask, [points], 1.0)
    return mask


def sample(rng: np.random.Generator, paths: list[Path]) -> tuple[np.ndarray, int]:
    """A word cut out of a photo, (height, width) uint8 grey, and its class."""
    names = list(SPELLINGS)
    if rng.random() < 0.3:
        mask, label = _nothing(rng, paths), names.index(OTHER)
    else:
        name = str(rng.choice([n for n in names if n != OTHER]))
        label = names.index(name)
        spelling = str(rng.choice(SPELLINGS[name]))
        if name == "low battery" and rng.random() < 0.6:
            mask = _battery(rng)
        else:
            spacing = float(rng.choice([0.0, 0.0, rng.uniform(-0.03, 0.15)]))
            mask = word_mask(spelling, paths[int(rng.integers(len(paths)))], spacing)
    return _photographed(rng, mask), label


def _photographed(rng: np.random.Generator, mask: np.ndarray) -> np.ndarray:
    if rng.random() < 0.3:
        kernel = np.ones((2, 2) if rng.random() < 0.5 else (4, 4))
        mask = cv2.erode(mask, kernel) if rng.random() < 0.4 else cv2.dilate(mask, kernel)
    h, w = mask.shape
    tall = float(rng.uniform(9, 34))
    wide = max(2.0, tall * w / h * rng.uniform(0.75, 1.25))
    pads = rng.uniform(-0.04, 0.22, 4) * tall
    angle, shear = np.deg2rad(rng.normal(0, 3)), rng.normal(0, 0.07)
    turn = np.array([[np.cos(angle), shear - np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    size = np.array([wide, tall])
    matrix = turn @ np.diag(size / [w, h])
    middle = size / 2 + [pads[0], pads[2]]
    shift = middle - matrix @ (np.array([w, h]) / 2)
    out = (max(4, int(wide + pads[0] + pads[1])), max(6, int(tall + pads[2] + pads[3])))
    soft = cv2.GaussianBlur(mask, (0, 0), max(0.3, 0.35 * h / tall))
    laid = cv2.warpAffine(soft, np.hstack([matrix, shift[:, None]]), out, flags=cv2.INTER_AREA)
    back = rng.uniform(20, 235)
    lit = np.clip(back + rng.choice([-1, 1]) * rng.uniform(25, 200), 0, 255)
    view = back + (lit - back) * laid
    if rng.random() < 0.25:  # a neighbouring stroke at the edge
        side = int(rng.integers(4))
        strip = max(1, int(0.08 * tall))
        target = [view[:strip], view[-strip:], view[:, :strip], view[:, -strip:]][side]
        target[:] = lit
    view = cv2.GaussianBlur(view.astype(np.float32), (0, 0), rng.uniform(0.2, 0.07 * tall + 0.3))
    view = view + rng.normal(0, rng.uniform(0, 0.12) * abs(lit - back) + 1, view.shape)
    return np.clip(view, 0, 255).astype(np.uint8)
