"""The protocol behind which every recogniser stands: sound in, timed words out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

SAMPLE_RATE = 16_000
"""Hz; every engine takes mono float32 samples in [-1, 1] at this rate."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word with its place in the utterance (s from its start) and a confidence in [0, 1]."""

    text: str
    start: float
    end: float
    confidence: float


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What one engine heard in one utterance.

    confidence: in [0, 1], comparable only within one engine; the thresholds are per engine.
    alternatives: other word sequences, likeliest first, each with its own confidence.
    words is empty where the engine heard nothing of the vocabulary (noise, chatter).
    """

    engine: str
    words: tuple[Word, ...]
    confidence: float
    alternatives: tuple[Hypothesis, ...] = field(default=())

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


class Engine(Protocol):
    """A recogniser. Made once (slow: loads its model), then asked per utterance."""

    name: str

    def hear(self, samples: NDArray[np.float32]) -> Hypothesis:
        """One utterance, shape (n,), 16 kHz mono float32 in [-1, 1]."""
        ...


@runtime_checkable
class Weigher(Protocol):
    """An engine that can also tell how well given sentences fit the sound."""

    name: str

    def weigh(self, samples: NDArray[np.float32], sentences: Sequence[str]) -> list[float]:
        """Log-probability of each sentence below what the engine would hear unguided.

        Comparable between utterances and between sentences; −inf for one that it can't spell.
        """
        ...
