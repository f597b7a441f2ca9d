"""A phone net behind our search: the grammar spelled out in phonemes, and searched at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

from fieldnote.speech.ctc_graph import Graph, spell_out
from fieldnote.speech.ctc_search import Path, Spoken, paths, search
from fieldnote.speech.engine import Hypothesis, Word
from fieldnote.speech.phone_net import Heard, PhoneNet
from fieldnote.speech.prior import word_cost, words_cost
from fieldnote.speech.pronunciations import pronunciation
from fieldnote.speech.sound import Samples
from fieldnote.speech.word_graph import WordGraph, sentences_graph, word_graph

if TYPE_CHECKING:
    from fieldnote.language import Grammar

NARROW = 25.0
"""Beam of the forward search in log-probability; at 18 some alternatives begin to be lost."""

BEAM = 30.0
MOST = 40
"""Alternatives kept: within BEAM of the best in log-probability, MOST of them."""

SHARPNESS = 0.35
"""Log-probabilities of frames are not independent; this takes them to calibrated odds."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How well a path fits the sound: log-probability below the best unconstrained, a phoneme."""

    per_phoneme: float
    phonemes: int


class PhoneEngine:
    """Made once; the net loads, the grammar is spelled out."""

    def __init__(self, name: str, net: PhoneNet, grammar: Grammar) -> None:
        self.name = name
        self._net = net
        self._last: tuple[Samples, Heard] | None = None
        self._graph = self._spelled(word_graph(grammar))
        self._words = frozenset(self._graph.words)

    @property
    def hop(self) -> float:
        """s a frame of `listen`."""
        return self._net.hop

    def hear(self, samples: Samples) -> Hypothesis:
        heard = self.listen(samples)
        return self.decode(heard) if len(heard) else Hypothesis(self.name, (), 0.0)

    def listen(self, samples: Samples) -> Heard:
        """One utterance as the net hears it, once for `hear` and `weigh`."""
        if self._last is None or self._last[0] is not samples:
            self._last = (samples, self._net.listen(samples).condensed())
        return self._last[1]

    def decode(self, heard: Heard) -> Hypothesis:
        """What the grammar makes of it."""
        found = self.candidates(heard)
        if not found:
            return Hypothesis(self.name, (), 0.0)
        odds = [math.exp(SHARPNESS * (path.score - found[0].score)) for path in found]
        accepted = acceptance(fit(heard, found[0]))
        hypotheses = [
            Hypothesis(
                self.name,
                tuple(self._timed(word, heard) for word in path.words),
                accepted * odd / sum(odds),
            )
            for path, odd in zip(found, odds, strict=True)
        ]
        best = hypotheses[0]
        return Hypothesis(self.name, best.words, best.confidence, tuple(hypotheses[1:]))

    def candidates(self, heard: Heard) -> list[Path]:
        """The likeliest sentences of the grammar, best first."""
        lattice = search(self._graph, heard.by_class, heard.gap, NARROW)
        return list(islice(paths(lattice, BEAM), MOST))

    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        """As `Weigher` has it."""
        heard = self.listen(samples)
        known = [sentence for sentence in sentences if self._can_spell(sentence)]
        if not known or not len(heard):
            return [-math.inf] * len(sentences)
        graph, ends = sentences_graph([tuple(sentence.split()) for sentence in known])
        lattice = search(self._spelled(graph), heard.by_class, heard.gap)
        free = float(heard.free.sum())
        by_place = dict(zip(lattice.graph.ended.tolist(), lattice.place.tolist(), strict=True))
        scores = {
            sentence: by_place[end] - words_cost(sentence.split()) - free
            for sentence, end in zip(known, ends, strict=True)
        }
        return [scores.get(sentence, -math.inf) for sentence in sentences]

    def _can_spell(self, sentence: str) -> bool:
        words = sentence.split()
        return bool(words) and self._words.issuperset(words)

    def _spelled(self, graph: WordGraph) -> Graph:
        spelled = {word: self.spell(word) for word in {arc.word for arc in graph.arcs}}
        said = [arc for arc in graph.arcs if spelled[arc.word]]
        graph = replace(graph, arcs=tuple(said))
        return spell_out(graph, spelled, blank=len(self._net.classes), cost=word_cost)

    def spell(self, word: str) -> list[tuple[int, ...]]:
        """A word's pronunciations, and the net's own habits, as acoustic classes."""
        habits = (way.split() for way in self._net.habits.get(word, ()))
        return [
            tuple(self._net.classes[name] for name in names)
            for names in (*pronunciation(word), *habits)
        ]

    def _timed(self, word: Spoken, heard: Heard) -> Word:
        """A word with its times in s and its own fit to the sound as confidence."""
        end = max(word.end, word.start + 1)
        free = float(heard.free[word.start : end].sum())
        confidence = math.exp(min(0.0, (word.score - word_cost(word.word) - free) / 4))
        start_time, end_time = (
            round(float(heard.begins[row]) * self._net.hop, 2) for row in (word.start, end)
        )
        return Word(word.word, start_time, end_time, confidence)


def fit(heard: Heard, path: Path) -> Fit:
    """The garbage score: what the grammar costs against the best free run of symbols."""
    below = path.score - words_cost(path.text.split()) - float(heard.free.sum())
    return Fit(below / max(1, heard.phones), heard.phones)


def acceptance(fit: Fit) -> float:
    """Probability that the sound is speech of the vocabulary at all."""
    if fit.phonemes < 2:
        return 0.0
    return 1 / (1 + math.exp(-3.0 * (fit.per_phoneme + 2.2)))
