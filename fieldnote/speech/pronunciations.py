"""The pronunciations of the vocabulary, from ``pronunciations.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from fieldnote.speech.transcribe import transcribed


@cache
def pronunciations() -> Mapping[str, tuple[tuple[str, ...], ...]]:
    """Each word's pronunciations, each a tuple of ARPAbet phonemes."""
    data = tomllib.loads((files(__package__) / "pronunciations.toml").read_text(encoding="utf-8"))
    return {
        word: tuple(tuple(spelling.split()) for spelling in spellings)
        for words in data.values()
        for word, spellings in words.items()
    }


def pronunciation(word: str) -> tuple[tuple[str, ...], ...]:
    """How a word sounds; empty for one that is neither transcribed nor can be guessed."""
    known = pronunciations().get(word)
    if known is not None:
        return known
    guess = transcribed(word)
    return (guess,) if guess else ()
