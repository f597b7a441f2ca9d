"""The pronunciations of the vocabulary, from ``pronunciations.toml``.

The engines and the recipes in ``models/`` take theirs from here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from itertools import product

from fieldnote.language.vocabulary import SPELLINGS
from fieldnote.speech.transcribe import transcribed

Pronunciation = tuple[str, ...]

PREFIXES = ("kilo", "milli", "mega", "micro", "nano", "pico", "hecto", "giga", "centi")
"""Of units: written in one word with the unit, where the vocabulary has two."""


@cache
def pronunciations() -> Mapping[str, tuple[Pronunciation, ...]]:
    """Each word's pronunciations, the commonest first, each a tuple of ARPAbet phonemes."""
    data = tomllib.loads((files(__package__) / "pronunciations.toml").read_text(encoding="utf-8"))
    return {
        word: tuple(tuple(spelling.split()) for spelling in spellings)
        for words in data.values()
        for word, spellings in words.items()
    }


def known(word: str) -> tuple[Pronunciation, ...]:
    """How a word sounds by the list: itself, in the vocabulary's spelling ("litre"), or as a
    prefix and its unit ("kilowatts"); empty for any other."""
    listed = pronunciations()
    here = listed.get(word) or listed.get(SPELLINGS.get(word, ""))
    if here:
        return here
    for prefix in PREFIXES:
        unit = word.removeprefix(prefix)
        unit = unit if unit in listed else SPELLINGS.get(unit, unit)
        if unit != word and unit in listed:
            return tuple(first + last for first, last in product(listed[prefix], listed[unit]))
    return ()


def pronunciation(word: str) -> tuple[Pronunciation, ...]:
    """How a word sounds, guessed where the list has none; empty where it can't be guessed."""
    listed = known(word)
    if listed:
        return listed
    guess = transcribed(word)
    return (guess,) if guess else ()
