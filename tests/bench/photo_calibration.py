"""Fits a reader's score to the share of right answers, and its threshold to 0.5 % wrong.

    python -m tests.bench.photo_calibration FOLDER [--write] [--leave-out FILE,...] [--drawn 200]

Fitted on the calibration half of the real photos (split by source) and on drawn crops that are hard
to read; then shown for both halves and other drawn crops, none of which were fitted. `--write` puts
the figures into fieldnote/photo/calibration.json. Each photo is taken as it is and again as
`--shots` - 1 shaken copies, not independent of it. Run it again whenever weights or views change.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from pathlib import Path

import cv2
import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table
from scipy.stats import beta

from fieldnote.photo.calibration import FILE
from fieldnote.photo.looking import reader_named
from tests.bench.photo_sets import Labelled, halves, hard, real, shaken

MOST_WRONG = 0.005
LEAST_SCORE = 0.65
"""No threshold lies below this score, whatever so few photos say. Of 350 crops that the training's
generator drew to be hardly readable, with seeds that no net was trained on, 57 % were taken and
3.0 % of those wrong at 0.6; 57 % and 2.5 % at 0.65; 55 % and 2.6 % at 0.7; 51 % and 2.2 % at 0.8;
41 % and 2.1 % at 0.9."""
LEVELS = (0.8, 0.85, 0.87, 0.9, 0.92, 0.94, 0.96, 0.98, 0.99)


@dataclass(frozen=True, slots=True)
class Shot:
    """One answer. doubtful: it is asked about whatever its score."""

    name: str
    answer: str
    score: float
    right: bool
    doubtful: bool
    whole: bool
    drawn: bool


def shots(items: list[Labelled], name: str, count: int, title: str) -> list[Shot]:
    reader = reader_named(name)
    out = []
    for n, item in enumerate(track(items, title, console=Console(stderr=True))):
        drawn = item.source == "drawn"
        for k in range(1 if drawn else count):
            pixels = shaken(item.pixels, 1000 * k + n) if k else item.pixels
            found = reader.read(pixels, None)
            text = found[0].characters if found else ""
            score = found[0].score if found else 0.0
            doubtful = not found or bool(found[0].doubts)
            right = text in item.right
            out.append(
                Shot(f"{item.name}/{k}", text, score, right, doubtful, item.whole, drawn)
            )  # fmt: skip
    return out


def fit(answers: list[Shot]) -> tuple[float, float]:
    """Slope and offset of the logistic fit (Platt 1999), pulled a little to slope 1.

    Real and drawn pictures weigh the same, however many there are of each.
    """
    kept = [a for a in answers if not a.doubtful]
    x = np.array([_logit(a.score) for a in kept])
    # Platt's targets: never quite 0 or 1, by the counts of each.
    right, wrong = sum(a.right for a in kept), sum(not a.right for a in kept)
    y = np.array([(right + 1) / (right + 2) if a.right else 1 / (wrong + 2) for a in kept])
    drawn = np.array([a.drawn for a in kept])
    share = np.where(drawn, drawn.sum(), (~drawn).sum())
    weight = len(kept) / share / len(set(drawn.tolist()))
    w = np.array([1.0, 0.0])
    design = np.stack([x, np.ones_like(x)], axis=1)
    for _ in range(60):
        p = 1 / (1 + np.exp(-design @ w))
        gradient = design.T @ (weight * (p - y)) + [w[0] - 1.0, 0.0]
        hessian = (design * (weight * p * (1 - p))[:, None]).T @ design + np.diag([1.0, 1e-6])
        w = w - np.linalg.solve(hessian, gradient)
    return float(w[0]), float(w[1])


def threshold(answers: list[Shot], confidence: Sequence[float]) -> float:
    """The lowest confidence from which at most `MOST_WRONG` of real and of drawn ones are wrong."""
    lowest = 0.0
    for drawn in (False, True):
        ranked = sorted(
            ((c, a.right) for a, c in zip(answers, confidence, strict=True)
             if a.drawn == drawn and not a.doubtful), reverse=True,
        )  # fmt: skip
        wrong, allowed = 0, 1.0
        for count, (c, right) in enumerate(ranked, start=1):
            wrong += not right
            if wrong <= MOST_WRONG * count:
                allowed = c
        # Halfway to the first that must be asked about.
        below = max((c for c, _ in ranked if c < allowed), default=0.0)
        lowest = max(lowest, (allowed + below) / 2)
    return lowest


def upper_bound(wrong: int, count: int) -> float:
    """95 % upper bound of the share that is wrong (Clopper and Pearson 1934, one-sided)."""
    return 1.0 if wrong >= count else float(beta.ppf(0.95, wrong + 1, count - wrong))


def _logit(score: float) -> float:
    score = min(max(score, 1e-6), 1 - 1e-6)
    return log(score / (1 - score))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--reader", default="nets")
    parser.add_argument("--shots", type=int, default=3)
    parser.add_argument("--drawn", type=int, default=200)
    parser.add_argument("--leave-out", default="", help="files whose labels are known to be wrong")
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    cv2.setNumThreads(1)
    left_out = set(given.leave_out.split(","))
    calibrating, reporting = (
        [i for i in half if i.name not in left_out] for half in halves(real(given.folder))
    )
    for title, half in (("calibration", calibrating), ("report", reporting)):
        sources = sorted({i.source for i in half})
        print(f"{title} half: {len(half)} photos of {', '.join(sources)}")
    name = reader_named(given.reader).calibration
    calibrating += hard(given.drawn, 1)
    reporting += hard(given.drawn, 2)
    fitted = shots(calibrating, given.reader, given.shots, "calibration half")
    slope, offset = fit(fitted)

    def sure(answer: Shot) -> float:
        return 1 / (1 + exp(-(offset + slope * _logit(answer.score))))

    least = 1 / (1 + exp(-(offset + slope * _logit(LEAST_SCORE))))
    level = round(max(least, threshold(fitted, [sure(a) for a in fitted])), 3)
    figures = {"slope": round(slope, 3), "offset": round(offset, 3), "threshold": level}
    print(f"{name}: {figures}")
    held = shots(reporting, given.reader, given.shots, "report half")
    table = Table(title=f"{name}: taken, wrong of those taken (95 % upper bound)")
    for heading in ("confidence", "calibration crops", "whole", "drawn", "report crops", "whole",
                    "drawn"):  # fmt: skip
        table.add_column(heading, justify="right")
    for least in sorted({*LEVELS, level}):
        cells = []
        for answers in (fitted, held):
            for kind in ((False, False), (True, False), (False, True)):
                part = [a for a in answers if (a.whole, a.drawn) == kind]
                taken = [a for a in part if sure(a) >= least and not a.doubtful]
                wrong = sum(not a.right for a in taken)
                bound = upper_bound(wrong, len(taken))
                share = len(taken) / max(1, len(part))
                cells.append(f"{share:.0%}, {wrong} of {len(taken)} ({bound:.1%})")
        table.add_row(f"{least:.3f}" + (" ←" if least == level else ""), *cells)
    Console(width=150).print(table)
    for answer in (*fitted, *held):
        if not answer.right and not answer.doubtful and sure(answer) >= level:
            print(f"wrong and taken: {answer.name} read {answer.answer}, {sure(answer):.3f}")
    if given.write:
        known = json.loads(FILE.read_text("utf-8"))
        FILE.write_text(json.dumps(known | {name: figures}, indent=2) + "\n", "utf-8")
        print(f"written to {FILE.name}")


if __name__ == "__main__":
    main()
