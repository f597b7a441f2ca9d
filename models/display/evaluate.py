"""Measure the weights on a folder of labelled photos: `python -m models.display.evaluate FOLDER`.

The folder holds labels.csv (file, reading, kind, view crop/whole, also_on_display, source) and the
pictures. Figures are printed by set and by half: photos are split by their source into a *look*
half, whose errors were looked at while the generator was mended, and a *report* half, that was only
counted.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from models.display.decode import Box, cut, find, network, read

REPORT_SOURCES = {"kazmiekr/GasPumpOCR"}


@dataclass(slots=True)
class Outcome:
    file: str
    view: str
    half: str
    wanted: str
    also: tuple[str, ...]
    got: str
    confidence: float
    ms: float

    @property
    def exact(self) -> bool:
        return self.got == self.wanted or self.got in self.also

    @property
    def digits(self) -> bool:
        return self.got.replace(".", "") in {
            text.replace(".", "") for text in (self.wanted, *self.also)
        }


def whole(
    finder: cv2.dnn.Net, reader: cv2.dnn.Net, picture: np.ndarray
) -> tuple[str, float, list[tuple[Box, str, float]]]:
    """The likeliest reading of a whole photo: boxes at two scales, each read, ranked by height and
    confidence."""
    k = min(1.0, 1600 / max(picture.shape[:2]))
    if k < 1:
        picture = cv2.resize(picture, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
    seen: list[tuple[Box, str, float]] = []
    for box in find(finder, picture)[:6] + find(finder, picture, 704)[:6]:
        found = read(reader, cut(picture, box.quad(0.3, 0.15)))
        if found.text:
            seen.append((box, found.text, found.confidence))
    if not seen:
        return "", 0.0, []
    seen.sort(key=lambda item: -(item[0].half[1] * item[0].score * (0.15 + item[2])))
    return seen[0][1], seen[0][2] * seen[0][0].score, seen


def measure(folder: Path, weights: Path, view: str | None = None) -> list[Outcome]:
    """Read every photo of a folder (of one view, if it is named)."""
    table = folder / "labels.csv"
    if not table.is_file():
        sys.exit(f"{table} is not there: give a folder of labelled photos with a labels.csv.")
    cv2.setNumThreads(1)
    reader, finder = network(weights / "reader.onnx"), network(weights / "finder.onnx")
    outcomes = []
    for row in csv.DictReader(table.open(newline="")):
        if view and row["view"] != view:
            continue
        stored = cv2.imread(str(folder / row["file"]))
        if stored is None:
            sys.exit(f"{folder / row['file']} can't be read as a picture: mend it or its row.")
        picture = cv2.cvtColor(stored, cv2.COLOR_BGR2RGB)
        start = time.process_time()
        if row["view"] == "crop":
            found = read(reader, picture)
            text, confidence = found.text, found.confidence
        else:
            text, confidence, _ = whole(finder, reader, picture)
        ms = (time.process_time() - start) * 1e3
        shown = row["also_on_display"].split("|") if row["view"] == "whole" else []
        also = tuple(filter(None, shown))
        outcomes.append(
            Outcome(row["file"], row["view"], half(row), row["reading"], also, text, confidence, ms)
        )
    return outcomes


def report(outcomes: list[Outcome]) -> None:
    """Print how many are right, by view and half."""
    for view in ("crop", "whole"):
        for part in ("look", "report"):
            some = [o for o in outcomes if o.view == view and o.half == part]
            if some:
                count = len(some)
                exact = sum(o.exact for o in some) / count
                digits = sum(o.digits for o in some) / count
                ms = np.median([o.ms for o in some])
                print(
                    f"{view:5} {part:6} n {count:3}  exact {exact:.3f}  "
                    f"without the point {digits:.3f}  median {ms:.0f} ms"
                )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folder", type=Path)
    parser.add_argument("--weights", type=Path, default=Path(__file__).parent)
    parser.add_argument("--look", action="store_true", help="print the errors of the look half")
    parser.add_argument("--view", choices=("crop", "whole"))
    options = parser.parse_args()
    outcomes = measure(options.folder, options.weights, options.view)
    report(outcomes)
    for o in outcomes:
        if options.look and o.half == "look" and not o.exact:
            print(f"  {o.view} {o.file} wanted {o.wanted} got {o.got} at {o.confidence:.3f}")


def half(row: dict[str, str]) -> str:
    """Which half a photo belongs to; whole sources, so that no instrument is in both."""
    return "report" if row["source"] in REPORT_SOURCES else "look"


if __name__ == "__main__":
    main()
