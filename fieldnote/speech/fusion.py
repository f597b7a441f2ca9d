"""Several engines' opinions of one utterance, brought to one: which meaning, and how surely.

Every sentence that any engine proposed is weighed by every engine that can weigh. Sentences that
mean the same ("mega ohms", "megohms") count as one meaning. What a sentence means is the
caller's affair: here it is any value that can be compared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
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

MODELS: Mapping[str, Mapping[str, float]] = {
    "phoneme": {"always": -1.44, "margin": 1.35, "quality": 0.33, "phoneme": 0.08},
    "vosk": {"always": -2.5, "margin": 0.8},
    "whisper": {"always": -1.0, "margin": 0.5, "whisper": 0.9},
    "phoneme+whisper": {
        **{"always": -0.86, "margin": 0.22, "quality": 0.88, "agreed": 0.52},
        **{"free": 0.88, "whisper": 0.41},
    },
}
"""Weights of the clues, by the engines that were asked."""

UNKNOWN: Mapping[str, float] = {"always": -2.5, "margin": 0.8}
"""For a set of engines that nobody has measured."""

MEANINGS, WORDINGS = 14, 2
"""Meanings weighed an utterance, and sentences a meaning: weighing is what takes the time."""

FREE = frozenset({"whisper"})
"""Engines that aren't bound to the grammar: what they hear may be talk."""

SLOW = frozenset({"whisper"})
FEW, OWN = 6, 3
"""A slow engine weighs the FEW likeliest sentences so far and OWN of its proposals."""

HARDLY = 1e-4
"""Probability given to a sentence by an engine that lists a few and left it out."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning with its likeliest sentence. odds: log, below the likeliest meaning (0 for it).

    fits: by engine, log-probability a word below what the engine would hear unguided.
    behind: log-probability below the favourite of the engine that likes it least.
    """

    meaning: Hashable
    sentence: str
    odds: float
    fits: Mapping[str, float]
    behind: float = 0.0


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the engines make of an utterance together.

    candidates: likeliest first. favourites: each engine's own likeliest meaning.
    quality: how far the speech stands above the noise, in dB (`speech_over_noise`).
    """

    candidates: tuple[Candidate, ...]
    favourites: Mapping[str, Hashable]
    hypotheses: tuple[Hypothesis, ...]
    quality: float = 0.0

    @property
    def agreed(self) -> bool:
        """Whether each engine by itself prefers the meaning that all together prefer."""
        return all(value == self.candidates[0].meaning for value in self.favourites.values())

    @property
    def margin(self) -> float:
        """Log odds of the likeliest meaning against the next."""
        return -self.candidates[1].odds if len(self.candidates) > 1 else -LOWEST


def hear_together(
    samples: Samples,
    engines: Sequence[Engine],
    meaning: Callable[[str, str], Hashable | None],
    wordings: Callable[[str], Sequence[str]] = lambda sentence: (sentence,),
    prior: Callable[[str], float] = lambda sentence: rarity(sentence.split()),
) -> Opinion:
    """All engines' opinion of one utterance.

    meaning: what a sentence of an engine means; None for one that can't be a candidate.
    wordings: a sentence in words, where an engine writes digits and signs; the first is tried
    first, all are weighed. prior: log-probability of a sentence before anything is heard.
    """
    hypotheses = tuple(engine.hear(samples) for engine in engines)
    meanings = proposals(hypotheses, meaning, wordings)
    sentences = list(meanings)
    quality = speech_over_noise(samples)
    if not sentences:
        return Opinion((), {}, hypotheses, quality)
    joint = PRIOR_SHARE * np.array([prior(sentence) for sentence in sentences])
    fits: dict[str, np.ndarray] = {}
    totals: dict[str, np.ndarray] = {}
    weighed = np.ones(len(sentences), bool)
    # Engines that only list, and quick weighers, go first: the slow ones weigh what is left.
    for place in sorted(range(len(engines)), key=lambda place: engines[place].name in SLOW):
        engine, hypothesis = engines[place], hypotheses[place]
        if isinstance(engine, Weigher):
            if engine.name in SLOW:
                own = {sentence for one in listing(hypothesis) for sentence in wordings(one.text)}
                weighed &= shortlist(joint, [sentence in own for sentence in sentences])
            chosen = np.flatnonzero(weighed)
            scores = np.full(len(sentences), -np.inf)
            scores[chosen] = engine.weigh(samples, [sentences[one] for one in chosen])
            lengths = np.array([len(sentence.split()) for sentence in sentences])
            fits[engine.name] = np.maximum(scores / lengths, LOWEST)
        else:
            scores = listed(hypothesis, sentences, wordings)
        if np.isfinite(scores).any():
            totals[engine.name] = np.maximum(scores - scores.max(), LOWEST)
            joint += SHARES.get(engine.name, 1.0) * totals[engine.name]
    favourites = {
        name: meanings[sentences[int(np.where(weighed, scores, -np.inf).argmax())]]
        for name, scores in totals.items()
    }
    candidates: dict[Hashable, Candidate] = {}
    for place in np.argsort(-joint, kind="stable"):
        sentence = sentences[int(place)]
        if weighed[place] and meanings[sentence] not in candidates:
            candidates[meanings[sentence]] = Candidate(
                meanings[sentence],
                sentence,
                float(joint[place] - joint[weighed].max()),
                {name: float(values[place]) for name, values in fits.items()},
                min((float(scores[place]) for scores in totals.values()), default=0.0),
            )
    return Opinion(tuple(candidates.values()), favourites, hypotheses, quality)


def proposals(
    hypotheses: Sequence[Hypothesis],
    meaning: Callable[[str, str], Hashable | None],
    wordings: Callable[[str], Sequence[str]],
    most: int = MEANINGS,
) -> dict[str, Hashable]:
    """What each proposed sentence means: the engines' favourites first, not too many of them."""
    meanings: dict[str, Hashable] = {}
    counts: dict[Hashable, int] = {}
    for rank in zip_longest(*(listing(hypothesis) for hypothesis in hypotheses)):
        for heard in filter(None, rank):
            for sentence in wordings(heard.text):
                new = bool(sentence) and sentence not in meanings
                means = meaning(sentence, heard.engine) if new else None
                if means is None or counts.get(means, 0) >= WORDINGS:
                    continue
                if means not in counts and len(counts) >= most:
                    continue
                counts[means] = counts.get(means, 0) + 1
                meanings[sentence] = means
    return meanings


def listing(hypothesis: Hypothesis) -> tuple[Hypothesis, ...]:
    """The hypothesis and its alternatives, likeliest first."""
    return (hypothesis, *hypothesis.alternatives)


def shortlist(joint: np.ndarray, own: Sequence[bool]) -> np.ndarray:
    """Which sentences a slow engine weighs: the likeliest so far, and its own proposals."""
    chosen = np.zeros(len(joint), bool)
    order = np.argsort(-joint, kind="stable")
    chosen[order[:FEW]] = True
    chosen[[place for place in order if own[place]][:OWN]] = True
    return chosen


def listed(
    hypothesis: Hypothesis, sentences: Sequence[str], wordings: Callable[[str], Sequence[str]]
) -> np.ndarray:
    """Log-probabilities by an engine that only lists what it heard."""
    known: dict[str, float] = {}
    for heard in listing(hypothesis):
        for sentence in wordings(heard.text):
            known.setdefault(sentence, math.log(max(heard.confidence, HARDLY)))
    return np.array([known.get(sentence, math.log(HARDLY)) for sentence in sentences])


FRAME = 320


def speech_over_noise(samples: Samples) -> float:
    """Level of the loud frames (20 ms, 90th percentile) over the quiet ones (10th), in dB.

    An utterance has its pauses before and after, so the quiet frames are the noise alone.
    """
    frames = samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME)
    if not len(frames):
        return 0.0
    power = 10 * np.log10((frames**2).mean(axis=1) + 1e-10)
    loud, quiet = np.percentile(power, [90, 10])
    return float(loud - quiet)


def clues(opinion: Opinion) -> dict[str, float]:
    """What the confidence is made of; all are bounded, so that none can carry it alone."""
    best = opinion.candidates[0]
    found = {"margin": min(opinion.margin, 15.0), "agreed": float(opinion.agreed)}
    found["behind"] = max(best.behind, -10.0)
    found["quality"] = min(opinion.quality, 40.0) / 10
    for name, fit in best.fits.items():
        found[name] = max(fit, -6.0)
    for hypothesis in opinion.hypotheses:
        if hypothesis.engine in FREE:
            found["free"] = max(math.log(max(hypothesis.confidence, 1e-3)), -3.0)
    return found


def combination(names: Iterable[str]) -> str:
    """The name of a set of engines in MODELS."""
    return "+".join(sorted(set(names)))


def confidence(opinion: Opinion) -> float:
    """Probability that the likeliest meaning is what was said.

    A logistic model of the clues, fitted on the tuning voices by
    ``python -m tests.bench.speech_curve``.
    """
    if not opinion.candidates:
        return 0.0
    weights = MODELS.get(combination(opinion.favourites), UNKNOWN)
    found = clues(opinion)
    logit = weights["always"] + sum(
        weight * found.get(clue, 0.0) for clue, weight in weights.items() if clue != "always"
    )
    return 1 / (1 + math.exp(-max(-30.0, min(logit, 30.0))))
