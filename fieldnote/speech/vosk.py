"""The vosk engine: used whenever a vosk model directory is at hand, with the run-time grammar."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE, Hypothesis, Word
from fieldnote.speech.sound import Samples

if TYPE_CHECKING:
    from fieldnote.language import Grammar

VARIABLE = "FIELDNOTE_VOSK_MODEL"

MODELS = Path(__file__).parents[2] / "models"
"""The folder beside the package that models are unpacked into."""

UNKNOWN = "[unk]"
"""The word by which a model stands for anything that isn't in the grammar, if it knows it."""

MOST = 10
"""Alternatives asked for."""

SHARPNESS = 0.5
"""Takes vosk's scores to odds; see the benchmark's calibration."""


class VoskEngine:
    """Made once; loading takes 0.4 s with a small model, several with a large one."""

    name = "vosk"

    def __init__(self, grammar: Grammar, model: Path | None = None) -> None:
        folder = model or find_model()
        if folder is None:
            raise MissingPartError(
                "The vosk engine needs a model.",
                f"Unpack a vosk model of English into {MODELS} or name its folder in {VARIABLE}.",
            )
        if not is_model(folder):
            raise BadInputError(
                f"{folder}: this is no vosk model (no am/final.mdl or final.mdl in it).",
                f"Name the unpacked folder of a model, by option or in {VARIABLE}.",
            )
        self._vosk = load_vosk()
        self._model = self._vosk.Model(str(folder))
        self._phrases = json.dumps(list(self._known(grammar)), ensure_ascii=False)

    def _known(self, grammar: Grammar) -> Iterator[str]:
        """The phrases whose words the model has: vosk drops single words and keeps the rest."""
        for phrase in grammar.phrases():
            if all(self._model.vosk_model_find_word(word) >= 0 for word in phrase.split()):
                yield phrase
        if self._model.vosk_model_find_word(UNKNOWN) >= 0:
            yield UNKNOWN

    def hear(self, samples: Samples) -> Hypothesis:
        scored = self._run(samples, alternatives=MOST)
        found = [one for one in scored.get("alternatives", []) if one.get("result")]
        if not found:
            return Hypothesis(self.name, (), 0.0)
        best = max(one["confidence"] for one in found)
        odds = [math.exp(SHARPNESS * (one["confidence"] - best)) for one in found]
        # Confidences of single words come only without alternatives, so the sound runs twice;
        # the model takes a fortieth of the sound's own time.
        by_word = self._run(samples, alternatives=0).get("result", [])
        certainty = {
            (word["word"], round(word["start"], 1)): float(word["conf"]) for word in by_word
        }
        hypotheses = [
            Hypothesis(self.name, words(one["result"], certainty), odd / sum(odds))
            for one, odd in zip(found, odds, strict=True)
        ]
        first = hypotheses[0]
        if not first.words:
            return Hypothesis(self.name, (), 0.0, tuple(hypotheses[1:]))
        heard = min((word.confidence for word in first.words), default=0.0)
        return Hypothesis(self.name, first.words, first.confidence * heard, tuple(hypotheses[1:]))

    def _run(self, samples: Samples, alternatives: int) -> dict[str, Any]:
        recogniser = self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE, self._phrases)
        recogniser.SetWords(True)
        if alternatives:
            recogniser.SetMaxAlternatives(alternatives)
        pcm = (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()
        recogniser.AcceptWaveform(pcm)
        result: dict[str, Any] = json.loads(recogniser.FinalResult())
        return result


def words(
    found: list[dict[str, Any]], certainty: dict[tuple[str, float], float]
) -> tuple[Word, ...]:
    return tuple(
        Word(
            one["word"],
            float(one["start"]),
            float(one["end"]),
            certainty.get((one["word"], round(one["start"], 1)), 0.5),
        )
        for one in found
        if one["word"] != UNKNOWN
    )


def load_vosk() -> Any:
    try:
        vosk: Any = import_module("vosk")
    except ImportError:
        raise MissingPartError(
            "The vosk engine needs the package vosk.", "Install it: pip install vosk"
        ) from None
    vosk.SetLogLevel(-1)
    return vosk


def find_model() -> Path | None:
    """The model named in the environment, else the largest in models/ (the better one)."""
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    folders = [*MODELS.glob("*"), *MODELS.glob("*/*")]
    at_hand = [folder for folder in sorted(folders) if is_model(folder)]
    return max(at_hand, key=size, default=None)


def is_model(folder: Path) -> bool:
    return (folder / "am" / "final.mdl").is_file() or (folder / "final.mdl").is_file()


def size(folder: Path) -> int:
    return sum(file.stat().st_size for file in folder.rglob("*") if file.is_file())
