"""Several engines' opinions of one utterance, brought to one: which meaning, and how surely.

Every sentence that any engine proposed is weighed by every engine that can weigh. Sentences that
mean the same ("mega ohms", "megohms") count as one meaning. What a sentence means is the
caller's affair: here it is any value that can be compared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

import numpy as np

from fieldnote.speech.engine import Engine, Hypothesis, Weigher
from fieldnote.speech.prior import rarity
from fieldnote.speech.sound import Samples

SHARES: Mapping[str, float] = {"phoneme": 0.6, "whisper": 1.0, "vosk": 0.6}
"""How much an engine's log-probabilities count; found on the tuning set."""

PRIOR_SHARE = 0.4

LOWEST = -20.0
"""An engine's log-probability below its favourite counts no further than this: no engine alone
can rule out what the others hear clearly."""

MEANINGS, WORDINGS = 14, 2
"""Meanings weighed an utterance, and sentences a meaning: weighing is what takes the time."""

HARDLY = 1e-4
"""Probability given to a sentence by an engine that lists a few and left it out."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning with its likeliest sentence. odds: log, below the likeliest meaning (0 for it).

    fits: by engine, log-probability a word below what the engine would hear unguided.
    """

    meaning: Hashable
    sentence: str
    odds: float
    fits: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the engines make of an utterance together.

    candidates: likeliest first. favourites: each engine's own likeliest meaning.
    """

    candidates: tuple[Candidate, ...]
    favourites: Mapping[str, Hashable]
    hypotheses: tuple[Hypothesis, ...]

    @property
    def agreed(self) -> bool:
        """Whether each engine by itself prefers the meaning that all together prefer."""
        return all(value == self.candidates[0].meaning for value in self.favourites.values())

    @property
    def margin(self) -> float:
        """Log odds of the likeliest meaning against the next."""
        return -self.candidates[1].odds if len(self.candidates) > 1 else -LOWEST

    @property
    def fit(self) -> float:
        """The likeliest sentence's fit to the sound, the mean of the engines, a word."""
        fits = self.candidates[0].fits.values()
        return sum(fits) / len(fits) if fits else LOWEST


def hear_together(
    samples: Samples,
    engines: Sequence[Engine],
    meaning: Callable[[str], Hashable | None],
    wordings: Callable[[str], Sequence[str]] = lambda sentence: (sentence,),
) -> Opinion:
    """All engines' opinion of one utterance.

    meaning: what a sentence means; None for one that can't be a candidate.
    wordings: a sentence in words, where an engine writes digits and signs; the first is tried
    first, all are weighed.
    """
    hypotheses = tuple(engine.hear(samples) for engine in engines)
    meanings = proposals(hypotheses, meaning, wordings)
    sentences = list(meanings)
    if not sentences:
        return Opinion((), {}, hypotheses)
    fits: dict[str, np.ndarray] = {}
    totals: dict[str, np.ndarray] = {}
    for engine, hypothesis in zip(engines, hypotheses, strict=True):
        if isinstance(engine, Weigher):
            scores = np.array(engine.weigh(samples, sentences))
            lengths = np.array([len(sentence.split()) for sentence in sentences])
            fits[engine.name] = np.maximum(scores / lengths, LOWEST)
        else:
            scores = listed(hypothesis, sentences, wordings)
        if np.isfinite(scores).any():
            totals[engine.name] = np.maximum(scores - scores.max(), LOWEST)
    favourites = {
        name: meanings[sentences[int(scores.argmax())]] for name, scores in totals.items()
    }
    joint = PRIOR_SHARE * np.array([rarity(sentence.split()) for sentence in sentences])
    for name, scores in totals.items():
        joint += SHARES.get(name, 1.0) * scores
    candidates: dict[Hashable, Candidate] = {}
    for place in np.argsort(-joint, kind="stable"):
        sentence = sentences[int(place)]
        if meanings[sentence] not in candidates:
            candidates[meanings[sentence]] = Candidate(
                meanings[sentence],
                sentence,
                float(joint[place] - joint.max()),
                {name: float(values[place]) for name, values in fits.items()},
            )
    return Opinion(tuple(candidates.values()), favourites, hypotheses)


def proposals(
    hypotheses: Sequence[Hypothesis],
    meaning: Callable[[str], Hashable | None],
    wordings: Callable[[str], Sequence[str]],
) -> dict[str, Hashable]:
    """What each proposed sentence means: the engines' favourites first, not too many of them."""
    meanings: dict[str, Hashable] = {}
    counts: dict[Hashable, int] = {}
    lists = [(hypothesis, *hypothesis.alternatives) for hypothesis in hypotheses]
    for rank in zip_longest(*lists):
        for heard in filter(None, rank):
            for sentence in wordings(heard.text):
                means = meaning(sentence) if sentence and sentence not in meanings else None
                if means is None or counts.get(means, 0) >= WORDINGS:
                    continue
                if means not in counts and len(counts) >= MEANINGS:
                    continue
                counts[means] = counts.get(means, 0) + 1
                meanings[sentence] = means
    return meanings


def listed(
    hypothesis: Hypothesis, sentences: Sequence[str], wordings: Callable[[str], Sequence[str]]
) -> np.ndarray:
    """Log-probabilities by an engine that only lists what it heard."""
    known: dict[str, float] = {}
    for heard in (hypothesis, *hypothesis.alternatives):
        for sentence in wordings(heard.text):
            known.setdefault(sentence, math.log(max(heard.confidence, HARDLY)))
    return np.array([known.get(sentence, math.log(HARDLY)) for sentence in sentences])


def confidence(opinion: Opinion) -> float:
    """Probability that the likeliest meaning is what was said; see the benchmark's calibration."""
    if not opinion.candidates:
        return 0.0
    certain = 0.9 * opinion.margin + 0.9 * max(opinion.fit, -8.0) + 0.5
    return 1 / (1 + math.exp(-min(certain, 30.0)))
