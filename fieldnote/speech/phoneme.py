"""The phone net of the package ``hama``: IPA symbols, 50 frames a second. Always at hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldnote.errors import MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.phone_engine import PhoneEngine
from fieldnote.speech.phone_net import Heard, Scores, Symbols
from fieldnote.speech.sound import Samples

if TYPE_CHECKING:
    from fieldnote.language import Grammar

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


class HamaNet:
    """Loading takes some 0.5 s."""

    hop = 0.02
    habits = HABITS

    def __init__(self) -> None:
        self._model = load_model()
        tokens: Sequence[str] = self._model.decoder_tokens
        single = {symbol for ways in HABITS.values() for way in ways for symbol in way.split()}
        classes = {**SYMBOLS, **{symbol: (symbol,) for symbol in sorted(single)}}
        self.classes = {name: place for place, name in enumerate(classes)}
        blank, boundary = tokens.index(BLANK), tokens.index(BOUNDARY)
        columns = (
            tuple(tokens.index(symbol) for symbol in symbols if symbol in tokens)
            for symbols in classes.values()
        )
        self._symbols = Symbols(blank, (blank, boundary), tuple(columns))
        self._count = len(tokens)

    def listen(self, samples: Samples) -> Heard:
        return self._symbols.heard(self.log_probs(samples))

    def log_probs(self, samples: Samples) -> Scores:
        """The model's output for one utterance, shape (frames, symbols)."""
        wave = np.ascontiguousarray(samples, np.float32)
        if len(wave) < SAMPLE_RATE // 20:
            return np.zeros((0, self._count), np.float32)
        feeds = {"waveform": wave[None], "waveform_lengths": np.array([len(wave)], np.int64)}
        (log_probs, lengths) = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(log_probs[0][: int(lengths.ravel()[0])], np.float32)


class PhonemeEngine(PhoneEngine):
    """hama's acoustic model behind our search."""

    def __init__(self, grammar: Grammar) -> None:
        super().__init__("phoneme", HamaNet(), grammar)


def load_model() -> Any:
    try:
        from hama.asr import ASRModel
    except ImportError:
        raise MissingPartError(
            "The phoneme engine needs the package hama.", "Install it: pip install hama"
        ) from None
    return ASRModel()
