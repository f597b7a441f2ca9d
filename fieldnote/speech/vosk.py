"""The vosk engine: used whenever a vosk model directory is at hand, with the run-time grammar."""

from __future__ import annotations

import json
import logging
import math
import os
import random
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.speech.engine import SAMPLE_RATE, Hypothesis, Word
from fieldnote.speech.sound import Samples
from fieldnote.weights import folders

if TYPE_CHECKING:
    from fieldnote.language import Grammar

VARIABLE = "FIELDNOTE_VOSK_MODEL"

UNKNOWN = "[unk]"
"""The word by which a model stands for speech that isn't in the grammar, if it knows it. It stays
in what was heard: a value beside words that nobody understood is not to be stored."""

MOST = 10
"""Alternatives asked for."""

SENTENCES = 8000
"""Drawn for the language model; drawing them takes 0.4 s."""

TALK = 30
"""Phrases of the vocabulary for each time that somebody says something else."""

OUT_OF_ORDER = 4.0
"""Log-odds against a sentence that the grammar doesn't have: vosk joins its words in any order.
Found on the tuning voices."""

NAMED = 8
"""Words told by name that a model lacks."""


class VoskEngine:
    """Made once; loading takes 0.4 s with a small model, several with a large one.

    model: the model's folder. lacking: words of the grammar that the model can't hear.
    """

    name = "vosk"

    def __init__(self, grammar: Grammar, model: Path | None = None) -> None:
        folder = model or find_model()
        if folder is None:
            raise MissingPartError(
                "The vosk engine needs a model.",
                f"Unpack one of English into {folders()[0]} or name its folder in {VARIABLE}.",
            )
        if not is_model(folder):
            raise BadInputError(
                f"{folder}: this is no vosk model (no am/final.mdl or final.mdl in it).",
                f"Name the unpacked folder of a model, by option or in {VARIABLE}.",
            )
        self.model = folder
        self._vosk = load_vosk()
        self._loaded = self._vosk.Model(str(folder))
        self._grammar = grammar
        self.lacking = tuple(sorted(word for word in grammar.words if not self._knows(word)))
        if self.lacking:
            tell_lacking(folder.name, self.lacking)
        self._phrases = json.dumps(self._known(phrases_of(grammar)), ensure_ascii=False)
        self._recogniser = self._new()
        self._recogniser.SetMaxAlternatives(MOST)
        self._heard = 0.0

    def _knows(self, word: str) -> bool:
        return bool(self._loaded.vosk_model_find_word(word) >= 0)

    def _known(self, phrases: Iterable[str]) -> list[str]:
        """The phrases whose words the model has: vosk drops single words and keeps the rest."""
        known = [phrase for phrase in phrases if all(map(self._knows, phrase.split()))]
        return [*known, *([UNKNOWN] * (len(known) // TALK + 1) if self._knows(UNKNOWN) else [])]

    def hear(self, samples: Samples) -> Hypothesis:
        self._recogniser.AcceptWaveform(pcm(samples))
        found = json.loads(self._recogniser.FinalResult()).get("alternatives", [])
        began, self._heard = self._heard, self._heard + len(samples) / SAMPLE_RATE
        for one in found:
            if not self._in_order(one["text"]):
                one["confidence"] -= OUT_OF_ORDER
        return opinion(self.name, found, began)

    def _in_order(self, text: str) -> bool:
        return not text or UNKNOWN in text.split() or self._grammar.accepts(text)

    def follow(self) -> Stream:
        """For one utterance while it is being spoken."""
        return Stream(self._new())

    def _new(self) -> Any:
        """A recogniser: counting the phrases takes vosk 0.07 s."""
        recogniser = self._vosk.KaldiRecognizer(self._loaded, SAMPLE_RATE, self._phrases)
        recogniser.SetWords(True)
        return recogniser


class Stream:
    """One utterance, block by block, and the words so far. `hear` has the last word on it."""

    def __init__(self, recogniser: Any) -> None:
        self._recogniser = recogniser

    def feed(self, block: Samples) -> str:
        """The words so far; they may still change."""
        self._recogniser.AcceptWaveform(pcm(block))
        partial: str = json.loads(self._recogniser.PartialResult())["partial"]
        return partial


def phrases_of(grammar: Grammar) -> list[str]:
    """What vosk is to count: it takes no grammar, only which word follows which, and how often.

    Every word and every fixed phrase once, and sentences as people say them.
    """
    rng = random.Random(1)
    return [*grammar.phrases(), *(grammar.sample(rng) for _ in range(SENTENCES))]


def pcm(samples: Samples) -> bytes:
    return (np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes()


def opinion(name: str, found: Sequence[dict[str, Any]], began: float = 0.0) -> Hypothesis:
    """vosk's alternatives as hypotheses. That nothing was said may be one of them.

    began: s of sound before this utterance, as vosk counts them. A word's confidence is the share
    of all alternatives that have it at the same time.
    """
    if not found:
        return Hypothesis(name, (), 0.0)
    best = max(one["confidence"] for one in found)
    odds = [math.exp(one["confidence"] - best) for one in found]
    shares = [odd / sum(odds) for odd in odds]
    spoken = [talk_as_one(one.get("result", [])) for one in found]

    def certainty(word: dict[str, Any]) -> float:
        shared = (share for share, words in zip(shares, spoken, strict=True) if said(word, words))
        return min(1.0, sum(shared))

    hypotheses: dict[str, Hypothesis] = {}
    for share, words in zip(shares, spoken, strict=True):
        text = " ".join(word["word"] for word in words)
        timed = tuple(
            Word(
                *(word["word"], round(word["start"] - began, 2), round(word["end"] - began, 2)),
                certainty(word),
            )
            for word in words
        )
        same = hypotheses.get(text)
        if same:  # different talk
            hypotheses[text] = replace(same, confidence=same.confidence + share)
        else:
            hypotheses[text] = Hypothesis(name, timed, share)
    first, *others = sorted(hypotheses.values(), key=lambda one: -one.confidence)
    return Hypothesis(
        name,
        first.words,
        first.confidence if first.words else 0.0,
        tuple(one for one in others if one.words),
    )


def talk_as_one(words: Sequence[dict[str, Any]]) -> Sequence[dict[str, Any]]:
    """Words as they are, but one unknown word where most of the time is unknown: what else is
    heard in talk is part of it."""
    length = {True: 0.0, False: 0.0}
    for word in words:
        length[word["word"] == UNKNOWN] += word["end"] - word["start"]
    if length[True] <= length[False]:
        return words
    return [{"word": UNKNOWN, "start": words[0]["start"], "end": words[-1]["end"]}]


def said(word: dict[str, Any], words: Iterable[dict[str, Any]]) -> bool:
    """Whether the same word is among `words` at a time that overlaps."""
    return any(
        other["word"] == word["word"]
        and other["start"] < word["end"]
        and word["start"] < other["end"]
        for other in words
    )


@cache
def tell_lacking(model: str, words: tuple[str, ...]) -> None:
    """Once for each model and grammar, not with each utterance."""
    named = ", ".join(words[:NAMED]) + (", …" if len(words) > NAMED else "")
    logging.getLogger(__name__).warning(
        "The vosk model %s can't hear %d of the words that may be said: %s.",
        *(model, len(words), named),
    )


def load_vosk() -> Any:
    try:
        vosk: Any = import_module("vosk")
    except ImportError:
        raise MissingPartError(
            "The vosk engine needs the package vosk.", "Install it: pip install vosk"
        ) from None
    vosk.SetLogLevel(-2)  # errors only: it warns of every long talk, which nobody can mend
    return vosk


def find_model() -> Path | None:
    """The model named in the environment, else the largest at hand (the better one).

    One that takes a grammar goes before one that only hears freely.
    """
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named)
    inside = (path for models in folders() for path in [*models.glob("*"), *models.glob("*/*")])
    at_hand = [folder for folder in sorted(inside) if is_model(folder)]
    return max(at_hand, key=lambda folder: (takes_grammar(folder), size(folder)), default=None)


def is_model(folder: Path) -> bool:
    return (folder / "am" / "final.mdl").is_file() or (folder / "final.mdl").is_file()


def takes_grammar(folder: Path) -> bool:
    """Whether the model has a graph that is joined with a grammar at run time."""
    return any((folder / place / "HCLr.fst").is_file() for place in ("graph", "."))


def words_of(folder: Path) -> frozenset[str]:
    """The words that the model in `folder` can hear, without loading it."""
    for place in ("graph", "."):
        table = folder / place / "words.txt"
        if table.is_file():
            lines = table.read_text(encoding="utf-8").splitlines()
            symbols = (line.split()[0] for line in lines if line.strip())
            return frozenset(symbol for symbol in symbols if symbol[0] not in "<#[")
    return frozenset()


def size(folder: Path) -> int:
    return sum(file.stat().st_size for file in folder.rglob("*") if file.is_file())
