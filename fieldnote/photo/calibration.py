"""Turns a reader's own score into a confidence, and says from where on an answer is taken.

The figures were fitted on real photos that no net was trained on: half of those at hand, split by
source. `python -m tests.bench.photo_calibration FOLDER` fits them again and prints both halves.
Those of "print" are a guess: there were no labelled photos of printed displays.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log


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


CALIBRATIONS = {
    "nets": Calibration(slope=0.956, offset=0.882, threshold=0.87),
    # On real photos these two are sure of wrong readings too: what they give is always asked about.
    "segments": Calibration(slope=0.37, offset=-1.97, threshold=1.0),
    "print": Calibration(slope=0.5, offset=-1.0, threshold=1.0),
}
