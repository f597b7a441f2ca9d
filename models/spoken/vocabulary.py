"""What the model must know, taken from the language part: one vocabulary for parser and
recogniser."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fieldnote.language import Grammar, units, vocabulary

from .lexicon import read_words

COMMON_UNITS = (
    *("ohms", "ohm", "kilo ohms", "kilohms", "meg ohms", "megohms", "milli ohms", "volts", "volt"),
    *("milli volts", "amps", "amp", "milli amps", "watts", "kilo watts", "hertz", "micro farads"),
    *("degrees", "degrees celsius", "degrees fahrenheit", "p s i", "bar", "kilo pascals"),
    *("inch pounds", "foot pounds", "newton meters", "inches", "millimeters", "thou"),
    *("percent", "r p m", "seconds", "minutes", "hours"),
)
"""Said far more often than the rest; they make half of all units that the voices say."""


@dataclass(frozen=True)
class Vocabulary:
    """Words, and those of them that belong together.

    Attributes:
        words: every word, in alphabetical order.
        units: spoken forms of units.
        sayings: commands, results, states, colours with their tracers.
    """

    words: tuple[str, ...]
    units: tuple[str, ...]
    sayings: tuple[str, ...]


def spoken_vocabulary(word_list: Path | None = None) -> Vocabulary:
    """The vocabulary of the language part; `word_list` (one word a line) replaces its words."""
    unit_forms = list(dict.fromkeys(form for unit in units.UNITS.values() for form in unit.spoken))
    unit_forms += COMMON_UNITS * (len(unit_forms) // len(COMMON_UNITS))
    commands = [form for forms in vocabulary.COMMANDS.values() for form in forms]
    results = [
        *vocabulary.OPEN,
        *vocabulary.SHORT,
        *vocabulary.STATES,
        *vocabulary.HEDGES,
        *vocabulary.POSITIONS,
    ]
    wires = [f"{first} {second}" for first in vocabulary.COLOURS for second in vocabulary.COLOURS]
    pins = [f"{pin} {place}" for pin in vocabulary.PIN_WORDS[:6] for place in vocabulary.PIN_PLACES]
    sayings = tuple(dict.fromkeys([*commands, *results * 2, *wires, *pins]))
    words = read_words(word_list) if word_list else _grammar_words()
    return Vocabulary(tuple(words), tuple(unit_forms), sayings)


def _grammar_words() -> list[str]:
    """Every word on any arc of the full run-time grammar."""
    return sorted(Grammar.build().words)
