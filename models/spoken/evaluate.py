"""Scores a Vosk model beside pocketsphinx: the same sounds, the same grammar, the same run.

Figures are shares of utterances whose *value* is exact, with Wilson's 95 % interval (Wilson 1927).
"""

from __future__ import annotations

import json
import math
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fieldnote.language import Entry, parse

from .corpus import RATE, Samples, Utterance
from .lexicon import Pronunciation
from .phones import GARBAGE

Decoder = Callable[[Samples], str]
CONDITIONS: tuple[float | None, ...] = (None, 20.0, 10.0)
"""Signal to noise ratios in dB; None is clean."""


@dataclass(frozen=True)
class Share:
    """`right` of `all`, and the seconds that the decoder computed for `sound` seconds of sound."""

    right: int
    all: int
    spent: float
    sound: float

    def interval(self) -> tuple[float, float]:
        """Wilson's interval at 95 %."""
        if not self.all:
            return 0.0, 1.0
        z, n, p = 1.959964, self.all, self.right / self.all
        middle = (p + z * z / (2 * n)) / (1 + z * z / n)
        reach = z / (1 + z * z / n) * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
        return max(0.0, middle - reach), min(1.0, middle + reach)

    def __str__(self) -> str:
        low, high = self.interval()
        share = 100 * self.right / max(self.all, 1)
        speed = self.spent / max(self.sound, 1e-9)
        return (
            f"{share:5.1f} % ({100 * low:.0f} to {100 * high:.0f}), {self.right} of {self.all}, "
            f"{speed:.3f} CPU-s/s"
        )


def pink(rng: np.random.Generator, length: int) -> Samples:
    """Pink noise of unit power."""
    spectrum = np.fft.rfft(rng.standard_normal(length))
    sound = np.fft.irfft(spectrum * np.arange(1, len(spectrum) + 1) ** -0.5, length)
    return np.asarray(sound / sound.std(), np.float32)


def as_heard(samples: Samples, ratio: float | None, rng: np.random.Generator) -> Samples:
    """An utterance with pauses around it, over pink noise at `ratio` dB below the speech."""
    padded = np.concatenate([np.zeros(RATE * 2 // 5), samples, np.zeros(RATE * 3 // 5)])
    padded = 0.3 * padded / max(np.abs(padded).max(), 1e-6)
    speech = math.sqrt(np.mean(np.square(padded[np.abs(padded) > 0.003])))
    level = speech * 10 ** (-(60.0 if ratio is None else ratio) / 20)
    return np.clip(padded + level * pink(rng, len(padded)), -1, 1).astype(np.float32)


def as_bytes(samples: Samples) -> bytes:
    """16-bit PCM."""
    return (samples * 32767).astype("<i2").tobytes()


def vosk_decoder(model: Path, phrases: Sequence[str]) -> Decoder:
    """Vosk with a run-time grammar of those phrases whose words the model has."""
    import vosk

    vosk.SetLogLevel(-2)
    loaded = vosk.Model(str(model))
    known = [p for p in phrases if all(loaded.vosk_model_find_word(w) >= 0 for w in p.split())]
    grammar = json.dumps([*known, GARBAGE])

    def decode(samples: Samples) -> str:
        recogniser = vosk.KaldiRecognizer(loaded, RATE, grammar)
        recogniser.AcceptWaveform(as_bytes(samples))
        words = json.loads(recogniser.FinalResult())["text"].split()
        return " ".join(w for w in words if w != GARBAGE)

    return decode


def pocketsphinx_decoder(jsgf: str, lexicon: Mapping[str, Sequence[Pronunciation]]) -> Decoder:
    """pocketsphinx's own US English model with a JSGF grammar and this recipe's pronunciations."""
    from pocketsphinx import Decoder as Sphinx

    with tempfile.TemporaryDirectory() as scratch:
        grammar, words = Path(scratch, "g.jsgf"), Path(scratch, "words.dict")
        grammar.write_text(jsgf)
        lines = [
            f"{word}{f'({place + 1})' if place else ''} {' '.join(phones)}"
            for word, variants in lexicon.items()
            if word != GARBAGE
            for place, phones in enumerate(variants)
        ]
        words.write_text("\n".join(lines) + "\n")
        sphinx = Sphinx(jsgf=str(grammar), dict=str(words), loglevel="FATAL", samprate=RATE)

    def decode(samples: Samples) -> str:
        sphinx.start_utt()
        sphinx.process_raw(as_bytes(samples), full_utt=True)
        sphinx.end_utt()
        found = sphinx.hyp()
        return found.hypstr if found else ""

    return decode


def meaning(text: str) -> tuple[object, ...]:
    """What must be the same for a value to be exact."""
    entry: Entry = parse(text)
    return entry.kind, entry.value, entry.unit, entry.command, entry.colour, entry.pins


def has_value(utterance: Utterance) -> bool:
    """Whether what is said is something to score: neither talk nor something to be asked again."""
    return parse(" ".join(utterance.words)).kind not in ("none", "unclear", "remark")


def score(
    decode: Decoder, clips: Iterable[tuple[Samples, Utterance]], ratio: float | None
) -> Share:
    """Share of `clips` whose value is exact in one condition; the noise is the same for all."""
    rng = np.random.default_rng(20)
    right = count = 0
    spent = sound = 0.0
    for samples, utterance in clips:
        heard = as_heard(samples, ratio, rng)
        began = time.process_time()
        text = decode(heard)
        spent += time.process_time() - began
        sound += len(heard) / RATE
        right += meaning(text) == meaning(" ".join(utterance.words))
        count += 1
    return Share(right, count, spent, sound)


def false_words(decode: Decoder, talk: Iterable[Samples]) -> tuple[int, float]:
    """Words heard in talk that holds none of the vocabulary's readings, and its minutes."""
    words, minutes = 0, 0.0
    for samples in talk:
        words += len(decode(samples).split())
        minutes += len(samples) / RATE / 60
    return words, minutes


def loop_jsgf(words: Iterable[str]) -> str:
    """JSGF of any words in any order: what vosk makes of a list of words.

    The full automaton as JSGF takes pocketsphinx ten gigabytes, so both get the words only.
    """
    return f"#JSGF V1.0;\ngrammar loop;\npublic <said> = ({' | '.join(sorted(words))})+;\n"


def decoders(
    model: Path, lexicon: Mapping[str, Sequence[Pronunciation]], words: Iterable[str]
) -> dict[str, Decoder]:
    """Both recognisers with the same words in free order, those that the lexicon has."""
    chosen = sorted(word for word in words if word in lexicon)
    return {
        "vosk, own model": vosk_decoder(model, chosen),
        "pocketsphinx": pocketsphinx_decoder(loop_jsgf(chosen), lexicon),
    }
