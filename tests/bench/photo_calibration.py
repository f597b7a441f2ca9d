"""Fits a reader's score to the share of right answers, on the calibration half of real photos.

    python -m tests.bench.photo_calibration FOLDER [--reader nets] [--shots 3]

Prints the two parameters for `fieldnote/photo/calibration.py` and, for both halves (split by
source: the report half is never fitted), what would be accepted and wrong at several thresholds.
Each photo is taken as it is and again as `--shots` - 1 shaken copies, not independent of it.
"""

from __future__ import annotations

import argparse
from math import exp, log
from pathlib import Path

import cv2
import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table

from fieldnote.photo.looking import reader_named
from tests.bench.photo_sets import Labelled, halves, real, shaken

Shot = tuple[float, bool, bool, bool]
"""Score, whether right, whether there were doubts, whether a whole photo."""


def shots(items: list[Labelled], name: str, count: int, title: str) -> list[Shot]:
    reader = reader_named(name)
    out = []
    for n, item in enumerate(track(items, title, console=Console(stderr=True))):
        for k in range(count):
            pixels = shaken(item.pixels, 1000 * k + n) if k else item.pixels
            found = reader.read(pixels, None)
            if found:
                right = found[0].characters in item.right
                out.append((found[0].score, right, bool(found[0].doubts), item.whole))
            else:
                out.append((0.0, False, True, item.whole))
    return out


def fit(answers: list[Shot]) -> tuple[float, float]:
    """Slope and offset of the logistic fit (Platt 1999), pulled a little to slope 1."""
    kept = [a for a in answers if not a[2]]
    x = np.array([_logit(a[0]) for a in kept])
    # Platt's targets: never quite 0 or 1, by the counts of each.
    right, wrong = sum(a[1] for a in kept), sum(not a[1] for a in kept)
    y = np.array([(right + 1) / (right + 2) if a[1] else 1 / (wrong + 2) for a in kept])
    w = np.array([1.0, 0.0])
    design = np.stack([x, np.ones_like(x)], axis=1)
    for _ in range(60):
        p = 1 / (1 + np.exp(-design @ w))
        gradient = design.T @ (p - y) + [w[0] - 1.0, 0.0]
        hessian = (design * (p * (1 - p))[:, None]).T @ design + np.diag([1.0, 1e-6])
        w = w - np.linalg.solve(hessian, gradient)
    return float(w[0]), float(w[1])


def _logit(score: float) -> float:
    score = min(max(score, 1e-6), 1 - 1e-6)
    return log(score / (1 - score))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--reader", default="nets")
    parser.add_argument("--shots", type=int, default=3)
    given = parser.parse_args()
    cv2.setNumThreads(1)
    calibrating, reporting = halves(real(given.folder))
    for title, half in (("calibration", calibrating), ("report", reporting)):
        sources = sorted({i.source for i in half})
        print(f"{title} half: {len(half)} photos of {', '.join(sources)}")
    fitted = shots(calibrating, given.reader, given.shots, "calibration half")
    slope, offset = fit(fitted)
    print(f"slope {slope:.3f}, offset {offset:.3f}")
    held = shots(reporting, given.reader, given.shots, "report half")
    table = Table(title=f"{given.reader}: accepted, and wrong of those accepted")
    for heading in ("score from", "confidence from", "calibration crops", "calibration whole",
                    "report crops", "report whole"):  # fmt: skip
        table.add_column(heading, justify="right")
    for score in (0.5, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95):
        cells = []
        for answers in (fitted, held):
            for whole in (False, True):
                part = [a for a in answers if a[3] == whole]
                taken = [a for a in part if a[0] >= score and not a[2]]
                wrong = sum(not a[1] for a in taken)
                cells.append(f"{len(taken) / max(1, len(part)):.0%}, {wrong} of {len(taken)}")
        confidence = 1 / (1 + exp(-(offset + slope * _logit(score))))
        table.add_row(f"{score:.2f}", f"{confidence:.3f}", *cells)
    Console().print(table)


if __name__ == "__main__":
    main()
