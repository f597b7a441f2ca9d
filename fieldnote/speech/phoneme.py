"""The embedded default engine: a phoneme model and our own search of the vocabulary's grammar.

The acoustic model is the connectionist temporal classification net (Graves et al. 2006) in the
package ``hama``: 50 frames a second, log-probabilities of IPA symbols. Everything after it is
here: the grammar spelled out in phonemes (`ctc_graph`), the search (`ctc_search`), the
confidence and the rejection of sounds that are no words of the vocabulary.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fieldnote.errors import MissingPartError
from fieldnote.speech.ctc_graph import Graph, spell_out
from fieldnote.speech.ctc_search import Path, Spoken, paths, search
from fieldnote.speech.engine import SAMPLE_RATE, Hypothesis, Word
from fieldnote.speech.prior import word_cost, words_cost
from fieldnote.speech.pronunciations import pronunciation
from fieldnote.speech.sound import Samples
from fieldnote.speech.word_graph import WordGraph, sentences_graph, word_graph

if TYPE_CHECKING:
    from fieldnote.language import Grammar

Scores = NDArray[np.float32]

SYMBOLS: Mapping[str, tuple[str, ...]] = {
    **{"AA": ("ɑ",), "AE": ("æ",), "AH": ("ʌ", "ə", "ɐ"), "AO": ("ɔ",), "AW": ("aʊ",)},
    **{"AY": ("aɪ",), "B": ("b",), "CH": ("t͡ʃ",), "D": ("d", "ɾ"), "DH": ("ð",), "EH": ("ɛ",)},
    **{"ER": ("ɝ", "ɚ"), "EY": ("eɪ",), "F": ("f",), "G": ("ɡ", "g"), "HH": ("h",)},
    **{"IH": ("ɪ",), "IY": ("i",), "JH": ("d͡ʒ",), "K": ("k",), "L": ("l", "ɫ"), "M": ("m",)},
    **{"N": ("n",), "NG": ("ŋ",), "OW": ("oʊ",), "OY": ("ɔɪ",), "P": ("p",), "R": ("ɹ", "r")},
    **{"S": ("s",), "SH": ("ʃ",), "T": ("t", "ɾ"), "TH": ("θ",), "UH": ("ʊ",), "UW": ("u",)},
    **{"V": ("v",), "W": ("w",), "Y": ("j",), "Z": ("z",), "ZH": ("ʒ",)},
}
"""The model's symbols of each phoneme; the likeliest of them counts."""

HABITS: Mapping[str, tuple[str, ...]] = {
    **{"one": ("o n e", "w ɑ n e"), "two": ("t w oʊ", "t oʊ"), "zero": ("ð ɪ ɹ oʊ", "s i ɹ oʊ")},
    **{"point": ("p ə l", "b ɑ n"), "volts": ("v oʊ t", "b oʊ l t"), "volt": ("v oʊ t",)},
    **{"ohms": ("oʊ n z", "ɑ m z", "ɑ n z"), "kilohms": ("k ɑ ə n z", "k aɪ l ə m")},
    **{"megohms": ("m æ g ə m z", "m æ d oʊ m z", "m eɪ g oʊ n z"), "degrees": ("ð i g ɹ i z",)},
    **{"r": ("m ə", "ɛ ɹ"), "p": ("m ə", "p", "b i", "p ɪ ɹ"), "m": ("m ə m", "i m")},
    **{"s": ("s", "z"), "i": ("i", "ɛ"), "a": ("ʌ", "oʊ"), "d": ("t i", "ð i")},
}
"""Spellings that are the model's own habit rather than anybody's pronunciation, in its symbols;
found with the tuning voices."""

BLANK, BOUNDARY = "<blank>", "<wb>"

HOP_SECONDS = 0.02

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


class PhonemeEngine:
    """hama's acoustic model behind our search. Made once; loading takes some 0.5 s."""

    name = "phoneme"

    def __init__(self, grammar: Grammar) -> None:
        self._model = load_model()
        tokens: Sequence[str] = self._model.decoder_tokens
        self._blank = tokens.index(BLANK)
        self._boundary = tokens.index(BOUNDARY)
        single = {symbol for ways in HABITS.values() for way in ways for symbol in way.split()}
        classes = {**SYMBOLS, **{symbol: (symbol,) for symbol in sorted(single)}}
        self._classes = {name: place for place, name in enumerate(classes)}
        self._columns = [
            [tokens.index(symbol) for symbol in symbols if symbol in tokens]
            for symbols in classes.values()
        ]
        self._last: tuple[Samples, Scores] | None = None
        self._graph = self._spelled(word_graph(grammar))
        self._words = frozenset(self._graph.words)

    def hear(self, samples: Samples) -> Hypothesis:
        log_probs = self.log_probs(samples)
        if not len(log_probs):
            return Hypothesis(self.name, (), 0.0)
        return self.decode(log_probs)

    def log_probs(self, samples: Samples) -> Scores:
        """The model's output for one utterance, shape (frames, symbols)."""
        if self._last is None or self._last[0] is not samples:
            self._last = (samples, self._run(samples))
        return self._last[1]

    def _run(self, samples: Samples) -> Scores:
        wave = np.ascontiguousarray(samples, np.float32)
        if len(wave) < SAMPLE_RATE // 20:
            return np.zeros((0, len(self._model.decoder_tokens)), np.float32)
        feeds = {"waveform": wave[None], "waveform_lengths": np.array([len(wave)], np.int64)}
        (log_probs, lengths) = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(log_probs[0][: int(lengths.ravel()[0])], np.float32)

    def decode(self, log_probs: Scores) -> Hypothesis:
        """What the grammar makes of the model's output."""
        found = self.candidates(log_probs)
        if not found:
            return Hypothesis(self.name, (), 0.0)
        odds = [math.exp(SHARPNESS * (path.score - found[0].score)) for path in found]
        accepted = acceptance(self.fit(log_probs, found[0]))
        hypotheses = [
            Hypothesis(
                self.name,
                tuple(timed(word, log_probs) for word in path.words),
                accepted * odd / sum(odds),
            )
            for path, odd in zip(found, odds, strict=True)
        ]
        best = hypotheses[0]
        return Hypothesis(self.name, best.words, best.confidence, tuple(hypotheses[1:]))

    def candidates(self, log_probs: Scores) -> list[Path]:
        """The likeliest sentences of the grammar, best first."""
        lattice = search(self._graph, *self._emissions(log_probs))
        return list(islice(paths(lattice, BEAM), MOST))

    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        """As `Weigher` has it."""
        log_probs = self.log_probs(samples)
        known = [sentence for sentence in sentences if self._can_spell(sentence)]
        if not known or not len(log_probs):
            return [-math.inf] * len(sentences)
        graph, ends = sentences_graph([tuple(sentence.split()) for sentence in known])
        lattice = search(self._spelled(graph), *self._emissions(log_probs))
        free = float(log_probs.max(axis=1).sum())
        by_place = dict(zip(lattice.graph.ended.tolist(), lattice.place.tolist(), strict=True))
        scores = {
            sentence: by_place[end] - words_cost(sentence.split()) - free
            for sentence, end in zip(known, ends, strict=True)
        }
        return [scores.get(sentence, -math.inf) for sentence in sentences]

    def _can_spell(self, sentence: str) -> bool:
        words = sentence.split()
        return bool(words) and self._words.issuperset(words)

    def fit(self, log_probs: Scores, path: Path) -> Fit:
        """The garbage score: what the grammar costs against the best free run of symbols."""
        free = log_probs.max(axis=1)
        symbols = log_probs.argmax(axis=1)
        speech = (symbols != self._blank) & (symbols != self._boundary)
        changes = np.append(True, symbols[1:] != symbols[:-1])
        phonemes = int((speech & changes).sum())
        below = path.score - words_cost(path.text.split()) - float(free.sum())
        return Fit(below / max(1, phonemes), phonemes)

    def _emissions(self, log_probs: Scores) -> tuple[Scores, Scores]:
        """By class (phonemes, then blank), shape (T, K); and of the gaps, shape (T,)."""
        by_class = [log_probs[:, columns].max(axis=1) for columns in self._columns]
        blank = log_probs[:, self._blank]
        gap = np.maximum(blank, log_probs[:, self._boundary])
        return np.stack([*by_class, blank], axis=1), gap

    def _spelled(self, graph: WordGraph) -> Graph:
        spelled = {word: self._ways(word) for word in {arc.word for arc in graph.arcs}}
        said = [arc for arc in graph.arcs if spelled[arc.word]]
        graph = replace(graph, arcs=tuple(said))
        return spell_out(graph, spelled, blank=len(self._classes), cost=word_cost)

    def _ways(self, word: str) -> list[tuple[int, ...]]:
        """A word's pronunciations, and the model's own habits, as acoustic classes."""
        habits = (way.split() for way in HABITS.get(word, ()))
        return [
            tuple(self._classes[name] for name in names)
            for names in (*pronunciation(word), *habits)
        ]


def load_model() -> Any:
    try:
        from hama.asr import ASRModel
    except ImportError:
        raise MissingPartError(
            "The phoneme engine needs the package hama.", "Install it: pip install hama"
        ) from None
    return ASRModel()


def timed(word: Spoken, log_probs: Scores) -> Word:
    """A word with its times in s and its own fit to the sound as confidence."""
    end = max(word.end, word.start + 1)
    free = float(log_probs[word.start : end].max(axis=1).sum())
    confidence = math.exp(min(0.0, (word.score - word_cost(word.word) - free) / 4))
    start_time, end_time = round(word.start * HOP_SECONDS, 2), round(end * HOP_SECONDS, 2)
    return Word(word.word, start_time, end_time, confidence)


def acceptance(fit: Fit) -> float:
    """Probability that the sound is speech of the vocabulary at all."""
    if fit.phonemes < 2:
        return 0.0
    return 1 / (1 + math.exp(-3.0 * (fit.per_phoneme + 2.2)))
