"""What a phone net (connectionist temporal classification, Graves et al. 2006) tells a search.

Nets differ in their symbols and habits. The search sees them all alike: for each stretch of sound,
how well each acoustic class fits, how well silence does, and how well the net's own favourite.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fieldnote.speech.sound import Samples

Scores = NDArray[np.float32]

PHONES = (
    *("AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH"),
    *("IH", "IY", "JH", "K", "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH"),
    *("UW", "V", "W", "Y", "Z", "ZH"),
)
"""The phonemes of the pronunciations, in ARPAbet (as the CMU Pronouncing Dictionary uses it)."""

SURE = 0.9
"""Where silence is at least so probable, frames are taken together …"""
TOGETHER = 4
"""… this many at the most; three of four frames of a net are such ones."""


@dataclass(frozen=True)
class Heard:
    """An utterance as a net hears it, in rows of one or a few frames.

    by_class: log-probabilities of the acoustic classes, blank last, shape (T, K + 1).
    gap: of silence between words, (T,). free: of the net's own favourite, (T,).
    phones: phonemes in the favourites' row. begins: first frame of each row, and the end, (T + 1,).
    """

    by_class: Scores
    gap: Scores
    free: Scores
    phones: int
    begins: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.gap)

    def condensed(self) -> Heard:
        """Rows of silence taken together, so that a search has a third of the rows to go through.

        What little a class has in one of them counts as if it were at its best there.
        """
        silent = self.gap > np.log(SURE)
        first = np.ones(len(self), np.bool_)
        run = 0
        for row in range(1, len(self)):
            run = run + 1 if silent[row] and silent[row - 1] and run < TOGETHER - 1 else 0
            first[row] = not run
        rows = np.flatnonzero(first)
        if len(rows) == len(self):
            return self
        by_class = np.maximum.reduceat(self.by_class, rows, axis=0)
        by_class[:, -1] = np.add.reduceat(self.by_class[:, -1], rows)
        gap, free = np.add.reduceat(self.gap, rows), np.add.reduceat(self.free, rows)
        begins = np.append(self.begins[rows], self.begins[-1])
        return Heard(by_class, gap, free, self.phones, begins)


class PhoneNet(Protocol):
    """classes: number of each acoustic class by name, from 0; among them are the PHONES.

    habits: spellings of a word, in names of classes, that are the net's own habit rather than
    anybody's pronunciation. hop: s a frame.
    """

    @property
    def classes(self) -> Mapping[str, int]: ...

    @property
    def habits(self) -> Mapping[str, Sequence[str]]: ...

    @property
    def hop(self) -> float: ...

    def listen(self, samples: Samples) -> Heard:
        """One utterance, shape (n,), 16 kHz mono; no rows for one that is too short."""
        ...


@dataclass(frozen=True)
class Symbols:
    """A net's output symbols, and the acoustic classes that they make.

    columns: the symbols of each class; the likeliest of them counts.
    gaps: the symbols that may stand between words; blank is one.
    """

    blank: int
    gaps: tuple[int, ...]
    columns: tuple[tuple[int, ...], ...] = field(repr=False)

    def heard(self, log_probs: Scores) -> Heard:
        """From a net's output, shape (frames, symbols)."""
        by_class = [log_probs[:, list(columns)].max(axis=1) for columns in self.columns]
        by_class.append(log_probs[:, self.blank])
        favourites = log_probs.argmax(axis=1)
        changes = np.append(True, favourites[1:] != favourites[:-1])[: len(favourites)]
        phones = int((changes & ~np.isin(favourites, self.gaps)).sum())
        frames = np.arange(len(log_probs) + 1)
        gap = log_probs[:, list(self.gaps)].max(axis=1)
        return Heard(np.stack(by_class, axis=1), gap, log_probs.max(axis=1), phones, frames)
