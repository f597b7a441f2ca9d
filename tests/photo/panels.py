"""Draws meter displays whose reading is known: the tests' own, apart from the training generator.

Seven-segment digits are drawn segment by segment after the letters a to g of the common
seven-segment naming (a on top, then clockwise, g in the middle).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

SEGMENTS = {
    "0": "abcdef", "1": "bc", "2": "abdeg", "3": "abcdg", "4": "bcfg", "5": "acdfg",
    "6": "acdefg", "7": "abc", "8": "abcdefg", "9": "abcdfg", "-": "g", " ": "", "L": "def",
    "O": "abcdef",
}  # fmt: skip
PLAIN_FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"
BOLD_FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf"
MONO_FONT = "/usr/share/fonts/truetype/dejavu/DejaVuSansMono-Bold.ttf"


@dataclass(frozen=True)
class Face:
    """How a panel looks; colours are blue-green-red."""

    lit: tuple[int, int, int] = (40, 44, 42)
    back: tuple[int, int, int] = (150, 172, 160)
    ghost: float = 0.0
    slant: float = 0.08
    stroke: float = 0.13


LCD = Face()
LED_RED = Face(lit=(40, 40, 250), back=(12, 10, 22), stroke=0.12, slant=0.1)
LED_GREEN_GHOST = Face(lit=(80, 250, 90), back=(14, 24, 14), ghost=0.12)
BACKLIT = Face(lit=(25, 30, 40), back=(40, 150, 240), ghost=0.06)


def _digit(mask: np.ndarray, x: float, y: float, h: float, face: Face, segments: str) -> None:
    w, t, gap = h * 0.52, h * face.stroke, h * 0.012

    def fill(points: list[tuple[float, float]]) -> None:
        moved = [(x + px + face.slant * (h - py), y + py) for px, py in points]
        cv2.fillPoly(mask, [np.round(np.array(moved) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)

    def across(middle: float) -> None:
        e = t / 2
        fill([(e + gap, middle), (t + gap, middle - e), (w - t - gap, middle - e),
              (w - e - gap, middle), (w - t - gap, middle + e), (t + gap, middle + e)])  # fmt: skip

    def upright(middle: float, top: float, bottom: float) -> None:
        e = t / 2
        fill([(middle, top + gap), (middle + e, top + e + gap), (middle + e, bottom - e - gap),
              (middle, bottom - gap), (middle - e, bottom - e - gap),
              (middle - e, top + e + gap)])  # fmt: skip

    half = h / 2
    for segment in segments:
        match segment:
            case "a":
                across(t / 2)
            case "g":
                across(half)
            case "d":
                across(h - t / 2)
            case "f":
                upright(t / 2, t / 2, half)
            case "e":
                upright(t / 2, half, h - t / 2)
            case "b":
                upright(w - t / 2, t / 2, half)
            case "c":
                upright(w - t / 2, half, h - t / 2)


def seven_segment(text: str, height: int = 80, face: Face = LCD) -> np.ndarray:
    """Shape (1.6 height, width, 3): `text` of digits, one point, sign, L."""
    pitch, pad = height * 0.72, height * 0.3
    cells = sum(c != "." for c in text)
    shape = (int(height * 1.6), int(cells * pitch + 2 * pad + height * 0.1))
    lit, ghost = np.zeros(shape, np.uint8), np.zeros(shape, np.uint8)
    x = pad
    for character in text:
        if character == ".":
            size = height * 0.13
            left, top = x - height * 0.17, pad + height - size
            cv2.rectangle(lit, (int(left), int(top)), (int(left + size), int(top + size)), 255, -1)
            continue
        _digit(ghost, x, pad, height, face, "abcdefg")
        _digit(lit, x, pad, height, face, SEGMENTS[character])
        x += pitch
    back, front = np.float32(face.back), np.float32(face.lit)
    panel = np.empty((*shape, 3), np.float32)
    panel[:] = back
    panel += (front - back) * face.ghost * (ghost[..., None] / 255.0)
    panel += (front - panel) * (lit[..., None] / 255.0)
    return np.clip(panel, 0, 255).astype(np.uint8)


def write(
    panel: np.ndarray, text: str, x: float, y: float, size: int,
    colour: tuple[int, int, int], font: str = BOLD_FONT,
) -> None:  # fmt: skip
    """Puts `text` into `panel` in place, its top left at (x, y)."""
    image = Image.fromarray(panel[..., ::-1])
    ImageDraw.Draw(image).text((x, y), text, tuple(colour[::-1]), ImageFont.truetype(font, size))
    panel[:] = np.asarray(image)[..., ::-1]


def meter(
    text: str, unit: str = "", above: tuple[str, ...] = (), height: int = 80, face: Face = LCD
) -> np.ndarray:
    """A display with its unit to the right of the digits and annunciators in a row above them."""
    digits = seven_segment(text, height, face)
    right = int(height * (0.35 + 0.5 * len(unit))) if unit else 0
    top = int(height * 0.5) if above else 0
    panel = np.empty((digits.shape[0] + top, digits.shape[1] + right, 3), np.uint8)
    panel[:] = face.back
    panel[top:, : digits.shape[1]] = digits
    if unit:
        write(panel, unit, digits.shape[1] - height * 0.1, top + height * 0.75, int(height * 0.5),
              face.lit)  # fmt: skip
    x = height * 0.3
    for word in above:
        write(panel, word, x, height * 0.18, int(height * 0.28), face.lit)
        x += height * (0.28 * 0.72 * len(word) + 0.35)
    return panel


def photograph(
    panel: np.ndarray, seed: int, size: tuple[int, int] = (960, 720), angle: float = 0.0,
    fill: float = 0.45,
) -> np.ndarray:  # fmt: skip
    """A photo-like picture, `size` = (width, height), with `panel` on a box before a wall.

    angle: degrees clockwise. fill: share of the picture's width that the panel takes.
    """
    r = np.random.default_rng(seed)
    width, height = size
    picture = np.empty((height, width, 3), np.float32)
    picture[:] = r.uniform(70, 170, 3)
    picture += cv2.resize(r.normal(0, 25, (5, 6, 3)), (width, height))
    ph, pw = panel.shape[:2]
    border = int(ph * 0.35)
    housing = cv2.copyMakeBorder(panel, border, border * 2, border, border, cv2.BORDER_CONSTANT,
                                 value=[float(v) for v in r.uniform(20, 70, 3)])  # fmt: skip
    hh, hw = housing.shape[:2]
    scale = fill * width / pw
    turn = np.deg2rad(angle)
    corners = np.float32([[-hw, -hh], [hw, -hh], [hw, hh], [-hw, hh]]) * scale / 2
    rotation = np.float32([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    middle = np.float32([width, height]) / 2 + r.uniform(-0.04, 0.04, 2) * width
    target = corners @ rotation + middle + r.uniform(-0.012, 0.012, (4, 2)) * fill * width
    source = np.float32([[0, 0], [hw, 0], [hw, hh], [0, hh]])
    matrix = cv2.getPerspectiveTransform(source, target.astype(np.float32))
    laid = cv2.warpPerspective(housing, matrix, size, flags=cv2.INTER_AREA)
    where = cv2.warpPerspective(np.ones((hh, hw), np.float32), matrix, size)[..., None]
    picture = picture * (1 - where) + laid * where
    picture *= 1 + 0.15 * cv2.resize(r.normal(size=(3, 3)), size)[..., None]
    picture = cv2.GaussianBlur(picture, (0, 0), 0.9) + r.normal(0, 3.5, picture.shape)
    jpeg = cv2.imencode(".jpg", np.clip(picture, 0, 255).astype(np.uint8), [1, 88])[1]
    return cv2.imdecode(jpeg, cv2.IMREAD_COLOR)
