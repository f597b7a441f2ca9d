"""The embedded default engine: a phoneme model and our own search of the vocabulary's grammar.

The acoustic model is the connectionist temporal classification net (Graves et al. 2006) in the
package ``hama``: 50 frames a second, log-probabilities of IPA symbols. Everything after it is
here: the grammar spelled out in phonemes (`ctc_graph`), the search (`ctc_search`), the
confidence and the rejection of sounds that are no words of the vocabulary.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fieldnote.errors import MissingPartError
from fieldnote.speech.ctc_graph import Arc, Graph, build, trie
from fieldnote.speech.ctc_search import Path, Spoken, paths, search
from fieldnote.speech.engine import SAMPLE_RATE, Hypothesis, Word
from fieldnote.speech.pronunciations import pronunciation, pronunciations
from fieldnote.speech.sound import Samples

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

BLANK, BOUNDARY = "<blank>", "<wb>"

WORD_COST = -0.3
"""Added to the log-probability a word: without it the search favours many short words."""

BEAM = 30.0
MOST = 12
"""Alternatives kept: within BEAM of the best in log-probability, MOST of them."""

SHARPNESS = 0.35
"""Log-probabilities of frames are not independent; this takes them to calibrated odds."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How well a path fits the sound: log-probability below the best unconstrained, a phoneme."""

    per_phoneme: float
    phonemes: int


class PhonemeEngine:
    """hama's acoustic model behind our search. Made once; loading takes some 0.2 s."""

    name = "phoneme"

    def __init__(self, grammar: Grammar) -> None:
        self._model = load_model()
        tokens: Sequence[str] = self._model.decoder_tokens
        self._blank = tokens.index(BLANK)
        self._boundary = tokens.index(BOUNDARY)
        self._phonemes = {name: place for place, name in enumerate(SYMBOLS)}
        self._columns = [
            [tokens.index(symbol) for symbol in symbols if symbol in tokens]
            for symbols in SYMBOLS.values()
        ]
        self._graph = self._build(*automaton(grammar))

    def hear(self, samples: Samples) -> Hypothesis:
        log_probs = self.log_probs(samples)
        if not len(log_probs):
            return Hypothesis(self.name, (), 0.0)
        return self.decode(log_probs)

    def log_probs(self, samples: Samples) -> Scores:
        """The model's output for one utterance, shape (frames, symbols)."""
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
        seconds = HOP_SECONDS
        odds = [math.exp(SHARPNESS * (path.score - found[0].score)) for path in found]
        accepted = acceptance(self.fit(log_probs, found[0]))
        hypotheses = [
            Hypothesis(
                self.name,
                tuple(timed(word, log_probs, seconds) for word in path.words),
                accepted * odd / sum(odds),
            )
            for path, odd in zip(found, odds, strict=True)
        ]
        best = hypotheses[0]
        return Hypothesis(self.name, best.words, best.confidence, tuple(hypotheses[1:]))

    def candidates(self, log_probs: Scores) -> list[Path]:
        """The likeliest sentences of the grammar, best first."""
        lattice = search(self._graph, *self._emissions(log_probs), WORD_COST)
        return list(islice(paths(lattice, BEAM), MOST))

    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        log_probs = self.log_probs(samples)
        known = [sentence for sentence in sentences if self._can_spell(sentence)]
        if not known or not len(log_probs):
            return [-math.inf] * len(sentences)
        arcs, start, finals = trie([sentence.split() for sentence in known])
        lattice = search(self._build(arcs, start, finals), *self._emissions(log_probs), WORD_COST)
        free = float(log_probs.max(axis=1).sum())
        scores = {
            sentence: float(lattice.node[-1, final]) - WORD_COST * len(sentence.split()) - free
            for sentence, final in zip(known, finals, strict=True)
        }
        return [scores.get(sentence, -math.inf) for sentence in sentences]

    def _can_spell(self, sentence: str) -> bool:
        words = sentence.split()
        return bool(words) and all(word in pronunciations() for word in words)

    def fit(self, log_probs: Scores, path: Path) -> Fit:
        """The garbage score: what the grammar costs against the best free run of symbols."""
        free = log_probs.max(axis=1)
        symbols = log_probs.argmax(axis=1)
        speech = (symbols != self._blank) & (symbols != self._boundary)
        changes = np.append(True, symbols[1:] != symbols[:-1])
        phonemes = int((speech & changes).sum())
        below = path.score - WORD_COST * len(path.words) - float(free.sum())
        return Fit(below / max(1, phonemes), phonemes)

    def _emissions(self, log_probs: Scores) -> tuple[Scores, Scores]:
        """By class (phonemes, then blank), shape (T, K); and of the gaps, shape (T,)."""
        by_class = [log_probs[:, columns].max(axis=1) for columns in self._columns]
        blank = log_probs[:, self._blank]
        gap = np.maximum(blank, log_probs[:, self._boundary])
        return np.stack([*by_class, blank], axis=1), gap

    def _build(self, arcs: Sequence[Arc], start: int, finals: Sequence[int]) -> Graph:
        words = {arc.word for arc in arcs}
        spelled = {
            word: [tuple(self._phonemes[name] for name in one) for one in pronunciation(word)]
            for word in words
        }
        return build(arcs, start, finals, spelled, blank=len(SYMBOLS))


HOP_SECONDS = 0.02


def load_model() -> Any:
    try:
        from hama.asr import ASRModel
    except ImportError:
        raise MissingPartError(
            "The phoneme engine needs the package hama.", "Install it: pip install hama"
        ) from None
    return ASRModel()


def automaton(grammar: Grammar) -> tuple[list[Arc], int, list[int]]:
    """The arcs, the start and the finals of a grammar."""
    arcs = [
        Arc(node, word, target)
        for node, leaving in enumerate(grammar.arcs)
        for word, target in leaving.items()
    ]
    return arcs, grammar.start, sorted(grammar.finals)


def timed(word: Spoken, log_probs: Scores, seconds: float) -> Word:
    """A word with its times in s and its own fit to the sound as confidence."""
    end = max(word.end, word.start + 1)
    free = float(log_probs[word.start : end].max(axis=1).sum())
    confidence = math.exp(min(0.0, (word.score - WORD_COST - free) / 4))
    return Word(word.word, round(word.start * seconds, 2), round(end * seconds, 2), confidence)


def acceptance(fit: Fit) -> float:
    """Probability that the sound is speech of the vocabulary at all."""
    if fit.phonemes < 2:
        return 0.0
    return 1 / (1 + math.exp(-3.0 * (fit.per_phoneme + 2.2)))
