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
