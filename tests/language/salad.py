"""Random words of the vocabulary in random order: nothing that anybody said."""

from __future__ import annotations

import random

from fieldnote.language import Entry, Grammar
from fieldnote.language.numbers import STARTERS


def words() -> list[str]:
    return sorted(Grammar.build(wide=True).words) + [","] * 20


def toss(bowl: list[str], rng: random.Random) -> str:
    return " ".join(rng.choice(bowl) for _ in range(rng.randint(1, 9)))


def why(text: str, entry: Entry) -> str:
    """The class of a salad line that was taken for a value: what in it reads as one."""
    pieces = text.replace(",", " ").split()
    if any(word in STARTERS for word in pieces) or entry.kind == "series":
        if entry.kind == "bare":
            return "a number among names and fillers, no unit"
        return "a number with its unit among names and fillers"
    return "other"
