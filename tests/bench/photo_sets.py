"""Labelled pictures for the photo benchmarks: a folder of real ones, and rendered ones."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from fieldnote.photo.picture import Pixels, read_picture
from tests.photo.panels import BACKLIT, LCD, LED_GREEN_GHOST, LED_RED, Face, meter, photograph


@dataclass(frozen=True)
class Labelled:
    """A picture and the strings on it that are right, the main one first."""

    name: str
    pixels: Pixels
    right: tuple[str, ...]
    whole: bool
    source: str


def real(folder: Path) -> list[Labelled]:
    """Photos listed in `folder`/labels.csv.

    Its columns: file, reading, view (crop or whole), also_on_display (others that are right too,
    "|" between them), source.
    """
    with (folder / "labels.csv").open(encoding="utf-8", newline="") as file:
        return [
            Labelled(
                row["file"],
                read_picture(folder / row["file"]).pixels,
                (row["reading"], *(x for x in row["also_on_display"].split("|") if x)),
                row["view"] == "whole",
                row["source"],
            )
            for row in csv.DictReader(file)
        ]


def halves(items: list[Labelled]) -> tuple[list[Labelled], list[Labelled]]:
    """For calibrating and for reporting: whole sources on either side, about equally many."""
    sides: tuple[list[str], list[str]] = ([], [])
    counts = [0, 0]
    for source, count in sorted(Counter(i.source for i in items).items(), key=lambda p: -p[1]):
        side = 1 if counts[1] <= counts[0] else 0
        sides[side].append(source)
        counts[side] += count
    calibrating, reporting = sides
    return (
        [i for i in items if i.source in calibrating],
        [i for i in items if i.source in reporting],
    )


def shaken(pixels: Pixels, seed: int) -> Pixels:
    """Another shot of the same: other size, light, focus, noise and JPEG quality."""
    r = np.random.default_rng(seed)
    scale = r.uniform(0.6, 1.2) if pixels.shape[0] > 60 else r.uniform(0.85, 1.3)
    interpolation = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    factors = {"fx": scale, "fy": scale * r.uniform(0.9, 1.1)}
    resized = cv2.resize(pixels, None, **factors, interpolation=interpolation)
    lit = resized.astype(np.float32) * r.uniform(0.75, 1.2) + r.uniform(-15, 15)
    soft = cv2.GaussianBlur(lit, (0, 0), r.uniform(0.2, 0.3 + 0.02 * min(60, lit.shape[0])))
    noisy = np.clip(soft + r.normal(0, r.uniform(0, 5), lit.shape), 0, 255).astype(np.uint8)
    data = cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, int(r.integers(50, 95))])[1]
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR), np.uint8)


def rendered(count: int, seed: int = 5) -> list[Labelled]:
    """Photo-like pictures of drawn meters: signs, points, OL, ghosts, turns."""
    r = np.random.default_rng(seed)
    faces: list[Face] = [LCD, LED_RED, LED_GREEN_GHOST, BACKLIT]
    items = []
    for i in range(count):
        digits = int(r.integers(2, 6))
        text = "".join(str(d) for d in r.integers(0, 10, digits))
        if r.random() < 0.8:
            at = int(r.integers(1, digits))
            text = f"{text[:at]}.{text[at:]}"
        text = "OL" if r.random() < 0.05 else ("-" if r.random() < 0.2 else "") + text
        panel = meter(text, str(r.choice(["", "V", "mA", "°C"])), face=faces[i % 4])
        angle = float(r.choice([0, 0, 0, 180, 90])) + r.uniform(-10, 10)
        picture = photograph(panel, seed * 1000 + i, angle=angle, fill=r.uniform(0.3, 0.6))
        items.append(Labelled(f"drawn {i}", picture, (text,), True, "drawn"))
    return items


def hard(count: int, seed: int) -> list[Labelled]:
    """Drawn crops that are hard to read: tight, faint, blurred, glaring, with things beside.

    Everything that is labelled can still be seen, if barely.
    """
    r = np.random.default_rng(seed)
    items = []
    for i in range(count):
        text = _number(r)
        back = np.array([r.uniform(60, 235), r.uniform(60, 235), r.uniform(60, 235)])
        sign = -1 if back.mean() > 110 else 1
        lit = np.clip(back + sign * r.uniform(35, 170) + r.normal(0, 12, 3), 0, 255)
        face = Face(
            tuple(int(v) for v in lit), tuple(int(v) for v in back), float(r.choice([0, 0, 0.15])),
            float(r.uniform(0, 0.18)), float(r.uniform(0.09, 0.17)),
        )  # fmt: skip
        unit = str(r.choice(["", "", "V", "kWh", "°C", "mA"]))
        above = tuple(r.choice(["MAX", "kWh", "TOTAL", "HOLD"], int(r.integers(0, 3))))
        panel = meter(text, unit, above, 80, face)
        panel = _glaring(_tightly(panel, bool(above), r), r)
        items.append(Labelled(f"hard {seed}.{i}", _far_off(panel, r), (text,), False, "drawn"))
    return items


def _number(r: np.random.Generator) -> str:
    digits = int(r.integers(2, 8))
    text = "".join(str(d) for d in r.integers(0, 10, digits))
    if r.random() < 0.7:
        at = int(r.integers(1, digits))
        text = f"{text[:at]}.{text[at:]}"
    return ("-" if r.random() < 0.12 else "") + text


def _tightly(panel: Pixels, above: bool, r: np.random.Generator) -> Pixels:
    """Cut close to the digits, slightly turned and out of square."""
    height, width = panel.shape[:2]
    top = 44 if above else 4  # of the meter's drawing: half a digit's height of annunciators
    source = np.array([[10, top], [width - 4, top], [width - 4, height], [10, height]], np.float32)
    source += r.uniform(-1, 1, (4, 2)).astype(np.float32) * np.float32([9, 12])
    source[:, 0] += np.float32([-1, 1, 1, -1]) * r.choice([0, 0, 0, 60, 150])
    size = (round(float(source[1, 0] - source[0, 0])), height - top)
    matrix = cv2.getPerspectiveTransform(
        source, np.array([[0, 0], [size[0], 0], size, [0, size[1]]], np.float32)
    )
    return np.asarray(cv2.warpPerspective(panel, matrix, size, borderValue=(40, 40, 40)), np.uint8)


def _glaring(panel: Pixels, r: np.random.Generator) -> Pixels:
    height, width = panel.shape[:2]
    light = cv2.resize(r.normal(0, 1, (3, 4)), (width, height)) * r.uniform(0, 35)
    out = panel.astype(np.float32) + light[..., None]
    if r.random() < 0.35:
        x, y = r.uniform(0, width), r.uniform(0, height)
        ys, xs = np.mgrid[:height, :width]
        spot = np.exp(-(((xs - x) / (height * 0.6)) ** 2 + ((ys - y) / (height * 0.4)) ** 2))
        out += (255 - out) * (spot * r.uniform(0.2, 0.75))[..., None]
    return np.clip(out, 0, 255).astype(np.uint8)


def _far_off(panel: Pixels, r: np.random.Generator) -> Pixels:
    """As a camera sees it from some way off: few pixels, out of focus, moved, noisy, squeezed."""
    height = int(r.choice([26, 31, 40, 60, 100]))
    width = max(24, round(panel.shape[1] * height / panel.shape[0] * r.uniform(0.8, 1.25)))
    small = cv2.resize(panel, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32)
    small = cv2.GaussianBlur(small, (0, 0), r.uniform(0.3, 0.035 * height))
    moved = max(1, round(r.uniform(0, 0.07) * height))
    small = cv2.blur(small, (moved, 1) if r.random() < 0.5 else (1, moved))
    noisy = np.clip(small + r.normal(0, r.uniform(1, 7), small.shape), 0, 255).astype(np.uint8)
    data = cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, int(r.integers(40, 92))])[1]
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR), np.uint8)
