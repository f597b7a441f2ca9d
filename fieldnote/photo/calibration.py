"""Turns a reader's own score into a confidence, and says from where on an answer is taken.

The figures are in calibration.json. `python -m tests.bench.photo_calibration FOLDER --write` fits
those of the nets on real photos that no net was trained on (half of those at hand, split by source)
and on drawn ones, and prints what they do on the other half. Those of "print" are a guess: there
were no labelled photos of printed displays.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import exp, log
from pathlib import Path

FILE = Path(__file__).with_name("calibration.json")


@dataclass(frozen=True, slots=True)
class Calibration:
    """confidence = 1 / (1 + exp(-(offset + slope * logit(score)))), at most `most`.

    threshold: confidence from which a reading is taken without asking; 1.0 always asks.
    """

    slope: float
    offset: float
    threshold: float
    most: float = 0.999

    def confidence(self, score: float) -> float:
        """The share of answers with this score that are right."""
        score = min(max(score, 1e-6), 1 - 1e-6)
        return min(self.most, 1 / (1 + exp(-(self.offset + self.slope * log(score / (1 - score))))))


CALIBRATIONS: dict[str, Calibration] = {
    name: Calibration(**figures) for name, figures in json.loads(FILE.read_text("utf-8")).items()
}
"""By `Reader.calibration`."""
