"""Several engines' opinions of one utterance, brought to one: which meaning, and how surely.

Every sentence that any engine proposed is weighed by every engine that can weigh. Sentences that
mean the same ("mega ohms", "megohms") count as one meaning. What a sentence means is the
caller's affair: here it is any value that can be compared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from fieldnote.speech.engine import Engine, Hypothesis, Weigher
from fieldnote.speech.prior import rarity
from fieldnote.speech.sound import Samples

Floats = NDArray[np.float64]

SHARES: Mapping[str, Mapping[str, float]] = {
    "phoneme": {"phoneme": 0.83, "prior": 1.35},
    "readings": {"readings": 0.75, "prior": 1.0},
    "witness": {"witness": 0.77, "prior": 1.02},
    "vosk": {"vosk": 1.02, "prior": 0.24},
    "whisper": {"whisper": 0.2, "prior": 1.0},
    "phoneme+readings": {"phoneme": 0.21, "readings": 0.57, "prior": 0.92},
    "phoneme+vosk": {"phoneme": 0.33, "vosk": 1.45, "prior": 0.93},
    "readings+vosk": {"readings": 0.65, "vosk": 0.48, "prior": 0.92},
    "readings+witness": {"readings": 0.45, "witness": 0.34, "prior": 0.98},
    "phoneme+readings+vosk": {"phoneme": 0.19, "readings": 0.47, "vosk": 0.2, "prior": 0.85},
    "readings+vosk+witness": {"readings": 0.43, "vosk": 0.42, "witness": 0.24, "prior": 0.93},
    "phoneme+readings+whisper": {"phoneme": 0.3, "readings": 0.55, "whisper": 0.06, "prior": 0.9},
    "phoneme+whisper": {"phoneme": 0.32, "whisper": 0.27, "prior": 1.0},
    "readings+whisper": {"readings": 0.6, "whisper": 0.1, "prior": 1.0},
}
"""How much each engine's log-probabilities count, by the engines that are asked."""

SHARE, PRIOR_SHARE = 0.6, 1.0
"""Where nobody has measured them."""

FAR_ODDER = 4.0
"""In the prior's log-probability: of two sentences that sound the same ("three two six", "three to
six") only the prior can choose, and then the sound is no reason for doubt."""

SAME_SOUND = 0.05
"""Log-probabilities that differ by less are those of one sound: "one five four", "one five for"."""

LOWEST = -20.0
"""An engine's log-probability below its favourite counts no further than this: no engine alone
can rule out what the others hear clearly."""

MODELS: Mapping[str, Mapping[str, float]] = {
    "phoneme": {
        **{"always": -0.27, "margin": 0.92, "prior": 0.23, "quality": 0.14, "agreed": 0.39},
        **{"phoneme": 0.61},
    },
    "readings": {
        **{"always": 0.31, "margin": 0.53, "quality": 0.03, "readings": 0.5},
        **{"readings lead": 0.24},
    },
    "witness": {
        **{"always": 0.22, "agreed": 0.15, "margin": 0.54, "quality": 0.15},
        **{"witness": 0.45, "witness lead": 0.23},
    },
    "vosk": {
        **{"always": -1.42, "agreed": 0.35, "margin": 0.68, "quality": 0.32, "vosk": 0.53},
        **{"vosk lead": 0.16},
    },
    "whisper": {"always": -1.0, "margin": 0.5, "whisper": 0.9},
    "phoneme+readings": {
        **{"always": 0.62, "agreed": 0.26, "margin": 0.63, "phoneme": 0.17, "phoneme lead": 0.22},
        **{"readings": 0.21, "readings lead": 0.38},
    },
    "phoneme+vosk": {
        **{"always": -0.15, "margin": 0.58, "quality": 0.11, "agreed": 0.27, "vosk": 0.81},
        **{"phoneme lead": 0.24, "vosk lead": 0.37},
    },
    "readings+vosk": {
        **{"always": 0.96, "agreed": 0.17, "margin": 0.36, "readings": 0.4},
        **{"readings lead": 0.24, "vosk": 0.29, "vosk lead": 0.17},
    },
    "readings+witness": {
        **{"always": 0.35, "agreed": 0.11, "margin": 0.47, "quality": 0.02},
        **{"readings": 0.25, "readings lead": 0.18, "witness": 0.29},
        **{"witness lead": 0.22},
    },
    "phoneme+readings+vosk": {
        **{"always": 1.99, "agreed": 0.14, "margin": 0.3, "phoneme": 0.27, "phoneme lead": 0.33},
        **{"readings": 0.34, "readings lead": 0.52, "vosk": 0.85},
    },
    "readings+vosk+witness": {
        **{"always": 0.73, "agreed": 0.19, "margin": 0.35, "readings": 0.45, "witness": 0.05},
        **{"readings lead": 0.23, "witness lead": 0.2, "vosk": 0.26, "vosk lead": 0.15},
    },
    "phoneme+readings+whisper": {
        **{"always": -0.32, "margin": 0.92, "quality": 0.06, "phoneme": 0.44, "readings": 0.1},
        **{"whisper": 0.26, "free": 1.15, "readings lead": 0.6, "whisper lead": 0.33},
    },
    "phoneme+whisper": {
        **{"always": -0.86, "margin": 0.4, "quality": 0.88, "agreed": 0.52, "free": 0.88},
        **{"whisper": 0.41},
    },
}
"""Weights of the clues, by the engines that were asked."""

NO_FIT, DOUBT = -6.0, 0.5
"""Log-probability a word below which a sentence is not what a phone net heard ("correct" for
"cracked"). Where that is so for all of them, no more than DOUBT is left of the confidence, whatever
the margin: of 2,256 utterances none fitted so badly."""

UNKNOWN: Mapping[str, float] = {"always": -2.5, "margin": 0.8}
"""For a set of engines that nobody has measured."""

MEANINGS, WORDINGS = 14, 2
"""Meanings weighed an utterance, and sentences a meaning: weighing is what takes the time."""

FREE = frozenset({"whisper"})
"""Engines that aren't bound to the grammar: what they hear may be talk."""

SLOW = frozenset({"whisper"})
FEW, OWN = 6, 3
"""A slow engine weighs the FEW likeliest sentences so far and OWN of its proposals."""

HARDLY = 1e-2
"""Probability given to a sentence by an engine that lists a few and left it out."""


HEARING = ThreadPoolExecutor(thread_name_prefix="hearing")
"""The engines hear side by side: their nets run outside Python's lock."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One meaning with its likeliest sentence. odds: log, below the likeliest meaning (0 for it).

    fits: by engine, log-probability a word below what the engine would hear unguided.
    prior: log-probability before anything is heard.
    """

    meaning: Hashable
    sentence: str
    odds: float
    fits: Mapping[str, float]
    prior: float = 0.0


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the engines make of an utterance together.

    candidates: likeliest first. favourites: each engine's own likeliest meaning, none where it has
    none. leads: by engine, its log-probability of the likeliest candidate above the best other.
    quality: how far the speech stands above the noise, in dB (`speech_over_noise`).
    """

    candidates: tuple[Candidate, ...]
    favourites: Mapping[str, Hashable | None]
    hypotheses: tuple[Hypothesis, ...]
    quality: float = 0.0
    leads: Mapping[str, float] = field(default_factory=dict)

    @property
    def supporters(self) -> int:
        """How many engines by themselves prefer the meaning that all together prefer."""
        return sum(value == self.candidates[0].meaning for value in self.favourites.values())

    @property
    def margin(self) -> float:
        """Log odds of the likeliest meaning against the next."""
        return -self.candidates[1].odds if len(self.candidates) > 1 else -LOWEST


@dataclass(frozen=True)
class Ballot:
    """What each engine gives to each sentence proposed.

    weights: by engine, log-probability below what it would hear unguided, (sentences,); −inf for
    one that it did not weigh. totals: the same below its favourite, no lower than LOWEST.
    prior: log-probability before anything is heard. weighed: by all engines.
    """

    sentences: tuple[str, ...]
    meanings: tuple[Hashable, ...]
    weights: Mapping[str, Floats]
    totals: Mapping[str, Floats]
    prior: Floats
    weighed: NDArray[np.bool_]

    def joint(self, shares: Mapping[str, float]) -> Floats:
        """The engines' totals by their shares, (sentences,)."""
        summed = shares.get("prior", PRIOR_SHARE) * self.prior
        for name, total in self.totals.items():
            summed = summed + shares.get(name, SHARE) * total
        return summed

    def favourite(self, engine: str) -> Hashable | None:
        """What it prefers by itself; of sentences that it can't tell apart, the least odd."""
        total = self.totals.get(engine)
        if total is None:
            return None
        heard = np.where(self.weighed, total, -np.inf)
        alike = heard >= heard.max() - SAME_SOUND
        return self.meanings[int(np.where(alike, self.prior, -np.inf).argmax())]

    def lead(self, engine: str, meaning: Hashable) -> float:
        """Its log-probability of a meaning above the best other one's that is not far odder."""
        total = self.totals.get(engine)
        if total is None:
            return 0.0
        of_it = np.array([one == meaning for one in self.meanings])
        own = total[of_it & self.weighed].max(initial=LOWEST)
        usual = self.prior > self.prior[of_it & self.weighed].max(initial=LOWEST) - FAR_ODDER
        return float(own - total[~of_it & self.weighed & usual].max(initial=LOWEST))


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
    hypotheses = tuple(HEARING.map(lambda engine: engine.hear(samples), engines))
    quality = speech_over_noise(samples)
    shares = shares_of(engines)
    ballot = vote(samples, engines, hypotheses, meaning, wordings, prior, shares)
    if not ballot.sentences:
        return Opinion((), {}, hypotheses, quality)
    joint = ballot.joint(shares)
    best = joint[ballot.weighed].max()
    candidates: dict[Hashable, Candidate] = {}
    for place in np.argsort(-joint, kind="stable"):
        sentence, means = ballot.sentences[place], ballot.meanings[place]
        if ballot.weighed[place] and means not in candidates:
            fits = {
                name: float(max(weights[place] / len(sentence.split()), LOWEST))
                for name, weights in ballot.weights.items()
            }
            odds, before = float(joint[place] - best), float(ballot.prior[place])
            candidates[means] = Candidate(means, sentence, odds, fits, before)
    first = next(iter(candidates))
    names = [engine.name for engine in engines]
    return Opinion(
        tuple(candidates.values()),
        {name: ballot.favourite(name) for name in names},
        hypotheses,
        quality,
        {name: ballot.lead(name, first) for name in names},
    )


def vote(
    samples: Samples,
    engines: Sequence[Engine],
    hypotheses: Sequence[Hypothesis],
    meaning: Callable[[str, str], Hashable | None],
    wordings: Callable[[str], Sequence[str]],
    prior: Callable[[str], float],
    shares: Mapping[str, float],
) -> Ballot:
    """Every sentence proposed, and what each engine gives to it.

    Engines that only list, and quick weighers, go first: the slow ones weigh what is left.
    """
    meanings = proposals(hypotheses, meaning, wordings)
    sentences = tuple(meanings)
    before = np.array([prior(sentence) for sentence in sentences])
    weights: dict[str, Floats] = {}
    totals: dict[str, Floats] = {}
    weighed = np.ones(len(sentences), np.bool_)
    ballot = Ballot(sentences, tuple(meanings.values()), weights, totals, before, weighed)
    for place in sorted(range(len(engines)), key=lambda place: engines[place].name in SLOW):
        engine, hypothesis = engines[place], hypotheses[place]
        if not sentences:
            break
        if isinstance(engine, Weigher):
            if engine.name in SLOW:
                own = {sentence for one in listing(hypothesis) for sentence in wordings(one.text)}
                few = shortlist(ballot.joint(shares), [one in own for one in sentences])
                np.logical_and(weighed, few, out=weighed)
            chosen = np.flatnonzero(weighed)
            scores = np.full(len(sentences), -np.inf)
            scores[chosen] = engine.weigh(samples, [sentences[one] for one in chosen])
            weights[engine.name] = scores
        else:
            scores = listed(hypothesis, sentences, wordings)
        if np.isfinite(scores).any():
            totals[engine.name] = np.maximum(scores - scores.max(), LOWEST)
    return ballot


def shares_of(engines: Sequence[Engine]) -> Mapping[str, float]:
    return SHARES.get(combination(engine.name for engine in engines), {})


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


def shortlist(joint: Floats, own: Sequence[bool]) -> NDArray[np.bool_]:
    """Which sentences a slow engine weighs: the likeliest so far, and its own proposals."""
    chosen = np.zeros(len(joint), bool)
    order = np.argsort(-joint, kind="stable")
    chosen[order[:FEW]] = True
    chosen[[place for place in order if own[place]][:OWN]] = True
    return chosen


def listed(
    hypothesis: Hypothesis, sentences: Sequence[str], wordings: Callable[[str], Sequence[str]]
) -> Floats:
    """Log-probabilities by an engine that only lists what it heard; −inf if it heard nothing."""
    known: dict[str, float] = {}
    for heard in listing(hypothesis):
        for sentence in wordings(heard.text):
            known.setdefault(sentence, math.log(max(heard.confidence, HARDLY)))
    if not any(sentence in known for sentence in sentences):
        return np.full(len(sentences), -np.inf)
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
    agreed = opinion.supporters == len(opinion.favourites)
    found = {"margin": min(opinion.margin, 15.0), "agreed": float(agreed)}
    found["prior"] = max(best.prior, -10.0)
    found["quality"] = min(opinion.quality, 40.0) / 10
    for name, fit in best.fits.items():
        found[name] = max(fit, -6.0)
    for name, lead in opinion.leads.items():
        found[f"{name} lead"] = max(-5.0, min(lead, 10.0))
    for hypothesis in opinion.hypotheses:
        sure = math.log(max(hypothesis.confidence, 1e-3))
        if hypothesis.engine in FREE:
            found["free"] = max(sure, -3.0)
        elif hypothesis.engine not in best.fits:  # it only lists
            found[hypothesis.engine] = max(sure, -5.0)
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
    weights = MODELS.get(combination(one.engine for one in opinion.hypotheses), UNKNOWN)
    found = clues(opinion)
    logit = weights["always"] + sum(
        weight * found.get(clue, 0.0) for clue, weight in weights.items() if clue != "always"
    )
    sure = 1 / (1 + math.exp(-max(-30.0, min(logit, 30.0))))
    fits = [fit for name, fit in opinion.candidates[0].fits.items() if name not in FREE]
    return min(sure, DOUBT) if fits and max(fits) < NO_FIT else sure
