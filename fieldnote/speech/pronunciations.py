"""The pronunciations of the vocabulary, from ``pronunciations.toml``."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from fieldnote.errors import BadInputError


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
    """How a word sounds. Raises BadInputError for a word that nobody has transcribed."""
    try:
        return pronunciations()[word]
    except KeyError:
        raise BadInputError(
            f"“{word}”: the pronunciation of this word is not known.",
            "Use a known word for the label, or type the entry.",
        ) from None
