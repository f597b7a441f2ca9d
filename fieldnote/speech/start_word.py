"""A word of the user's choice with which an open microphone is spoken to; the rest is chatter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import Protocol, runtime_checkable

import numpy as np

from fieldnote.errors import BadInputError
from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.phone_net import Heard, Scores
from fieldnote.speech.sound import Samples

FEWEST = 5
"""Phonemes; shorter words lie hidden in other words."""

LIKELY = -1.8
"""Log-probability a phoneme below the net's own favourites from which the word counts as said;
`tests.bench.speech_start_word` prints what other values do, on the tuning voices."""

BEST = "readings"

MOST_WAYS = 24

MARGIN = 0.06
"""s kept from before the word's end: the next word may have begun."""

NEVER = np.float32(-1e9)


@runtime_checkable
class Speller(Protocol):
    """An engine that tells how well phonemes fit the sound (`PhoneEngine`)."""

    @property
    def hop(self) -> float: ...

    def listen(self, samples: Samples) -> Heard: ...

    def spell(self, word: str) -> list[tuple[int, ...]]: ...


@dataclass(frozen=True, slots=True)
class Spotted:
    """Where the word was found, in s, and its log-probability a phoneme (0 is a perfect fit)."""

    start: float
    end: float
    fit: float


class StartWord:
    """Finds one word, or a phrase, in utterances.

    Args:
        phrase: what is said. engines: those at hand; the best that can spell is asked.

    Raises:
        BadInputError: it can't be spelled, or is too short to be told from other talk.
    """

    def __init__(self, phrase: str, engines: Sequence[object]) -> None:
        self.phrase = " ".join(phrase.lower().split())
        spellers = [engine for engine in engines if isinstance(engine, Speller)]
        spellers.sort(key=lambda engine: getattr(engine, "name", "") != BEST)
        if not spellers:
            raise BadInputError(
                "A start word needs one of the engines phoneme and readings.",
                "Leave --engine out.",
            )
        self._speller = spellers[0]
        by_word = [self._speller.spell(word) for word in self.phrase.split()]
        if not by_word or not all(by_word):
            raise BadInputError(
                f"“{phrase}” can't be spelled in sounds.",
                "Choose an English word, or install espeak-ng, which spells any.",
            )
        ways = islice(product(*by_word), MOST_WAYS)
        self._ways = [tuple(phone for word in way for phone in word) for way in ways]
        shortest = min(map(len, self._ways))
        if shortest < FEWEST:
            raise BadInputError(
                f"“{phrase}” is too short for a start word: it has {shortest} sounds, and other "
                f"words hold them too.",
                f"Choose one of {FEWEST} sounds or more, for instance “workshop”.",
            )

    def find(self, samples: Samples) -> Spotted | None:
        """The word's likeliest place in an utterance, if it was said at all."""
        best = self.likeliest(samples)
        return best if best is not None and best.fit >= LIKELY else None

    def likeliest(self, samples: Samples) -> Spotted | None:
        """The word's likeliest place, said or not; None for a sound of no length."""
        heard = self._speller.listen(samples)
        if not len(heard):
            return None
        found = [spot(heard.by_class, heard.free, way) for way in self._ways]
        fit, first, last = max(found)
        begin, end = (float(heard.begins[row]) * self._speller.hop for row in (first, last))
        return Spotted(round(begin, 3), round(end, 3), fit)

    @staticmethod
    def behind(spotted: Spotted) -> int:
        """The sample from which on the utterance counts."""
        return max(0, round((spotted.end - MARGIN) * SAMPLE_RATE))


def spot(by_class: Scores, free: Scores, phones: Sequence[int]) -> tuple[float, int, int]:
    """The best place of a row of phonemes anywhere in an utterance.

    by_class: log-probabilities, blank last, shape (T, K + 1). free: of the net's favourite, (T,).

    Returns:
        log-probability a phoneme below the favourite; first row, and row behind the last.
    """
    blank = by_class.shape[1] - 1
    chain = [phones[0]]
    for phone in phones[1:]:
        chain += [blank, phone]
    columns = np.array(chain)
    # A blank may be left out between different phonemes.
    skip = np.zeros(len(chain), np.bool_)
    skip[2::2] = columns[2::2] != columns[:-2:2]
    relative = by_class - free[:, None]
    score = np.full(len(chain), NEVER, np.float32)
    began = np.zeros(len(chain), np.int32)
    best = (float(NEVER), 0, 0)
    for row, values in enumerate(relative):
        come = np.concatenate([np.zeros(1, np.float32), score[:-1]])
        come_began = np.concatenate([np.array([row], np.int32), began[:-1]])
        over = np.where(skip, np.concatenate([np.full(2, NEVER), score[:-2]])[: len(chain)], NEVER)
        over_began = np.concatenate([np.zeros(2, np.int32), began[:-2]])[: len(chain)]
        better = come > score
        score, began = np.where(better, come, score), np.where(better, come_began, began)
        better = over > score
        score, began = np.where(better, over, score), np.where(better, over_began, began)
        score = (score + values[columns]).astype(np.float32)
        fit = float(score[-1]) / len(phones)
        if fit > best[0]:
            best = (fit, int(began[-1]), row + 1)
    return best
