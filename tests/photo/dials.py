"""Draws dial gauges whose needle stands at a known angle."""

from __future__ import annotations

from math import cos, radians, sin

import cv2
import numpy as np

from tests.photo.panels import PLAIN_FONT, write


def dial(
    angle: float, low: float = -135.0, high: float = 135.0, marks: int = 10, size: int = 500,
    dark: bool = False, first: float = 0.0, step: float = 1.0,
) -> np.ndarray:  # fmt: skip
    """(size, size, 3): a round gauge; angles in degrees clockwise from straight up."""
    paper, ink = ((38, 36, 34), (230, 232, 235)) if dark else ((228, 232, 233), (30, 28, 26))
    picture = np.full((size, size, 3), (120, 128, 118), np.uint8)
    middle, radius = size / 2, size * 0.42

    def at(share: float, turn: float) -> tuple[int, int]:
        x = middle + sin(radians(turn)) * radius * share
        y = middle - cos(radians(turn)) * radius * share
        return round(x * 16), round(y * 16)

    centre = (round(middle * 16), round(middle * 16))
    cv2.circle(picture, centre, round(radius * 1.08 * 16), (60, 60, 62), -1, cv2.LINE_AA, 4)
    cv2.circle(picture, centre, round(radius * 16), paper, -1, cv2.LINE_AA, 4)
    for i in range(marks * 5 + 1):
        turn = low + (high - low) * i / (marks * 5)
        long = i % 5 == 0
        cv2.line(picture, at(0.95, turn), at(0.82 if long else 0.88, turn), ink,
                 max(1, size // (120 if long else 250)), cv2.LINE_AA, 4)  # fmt: skip
        if long:
            x, y = (v / 16 for v in at(0.67, turn))
            text = f"{first + step * (i // 5):g}"
            write(picture, text, x - size * 0.012 * len(text), y - size * 0.028,
                  round(size * 0.045), ink, PLAIN_FONT)  # fmt: skip
    needle = (40, 40, 210) if dark else (20, 20, 24)
    tip, tail = at(0.8, angle), at(-0.2, angle)
    side = np.array([cos(radians(angle)), sin(radians(angle))]) * size * 0.009 * 16
    points = np.array([tip, np.array(tail) + side, np.array(tail) - side], np.int32)
    cv2.fillPoly(picture, [points], needle, cv2.LINE_AA, 4)
    cv2.circle(picture, centre, round(radius * 0.09 * 16), needle, -1, cv2.LINE_AA, 4)
    return picture


def photographed(picture: np.ndarray, seed: int) -> np.ndarray:
    """Light from one side, blur and noise."""
    r = np.random.default_rng(seed)
    light = cv2.resize(r.normal(1, 0.12, (3, 3)), picture.shape[1::-1])[..., None]
    soft = cv2.GaussianBlur(picture.astype(np.float32) * light, (0, 0), 1.1)
    return np.clip(soft + r.normal(0, 4, picture.shape), 0, 255).astype(np.uint8)


def tilted(picture: np.ndarray, degrees: float, axis: float, distance: float = 3.0) -> np.ndarray:
    """As a camera sees it that stands `distance` widths away and `degrees` off the square.

    axis: of the tilt, degrees clockwise from the picture's right. By Rodrigues' rotation formula
    and a pinhole camera.
    """
    height, width = picture.shape[:2]
    turn = radians(degrees)
    x, y = cos(radians(axis)), sin(radians(axis))
    cross = np.array([[0, 0, y], [0, 0, -x], [-y, x, 0]])
    rotation = np.eye(3) + sin(turn) * cross + (1 - cos(turn)) * cross @ cross
    target = []
    for corner in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)):
        px, py, depth = rotation @ np.array([*corner, 0.0])
        nearer = distance / (distance + depth)
        target.append([(px * nearer + 0.5) * width, (py * nearer + 0.5) * height])
    source = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    matrix = cv2.getPerspectiveTransform(source, np.array(target, np.float32))
    return cv2.warpPerspective(picture, matrix, (width, height), borderMode=cv2.BORDER_REPLICATE)
