"""How likely a sentence is before any sound is heard: readings are what is said most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

from fieldnote.language import UNITS, vocabulary

COUNTING = frozenset({"hundred", "thousand", "and", "point", "minus", "negative"})

USUAL_UNITS = (
    *("Ohm", "mOhm", "kOhm", "MOhm", "V", "mV", "A", "mA", "uA", "W", "kW", "Hz", "kHz", "deg"),
    *("Cel", "[degF]", "[lbf_av].[in_i]", "[lbf_av].[ft_i]", "N.m", "[psi]", "bar", "kPa", "mm"),
    *("[in_i]", "cm", "m", "%", "{rev}/min", "h", "min", "s", "L", "L/min", "uF", "mbar", "MPa"),
)
UNIT_WORDS = frozenset(
    word for code in USUAL_UNITS for form in UNITS[code].spoken for word in form.split()
)

COSTS: Mapping[str, float] = {"number": -0.3, "unit": -0.8, "letter": -4.0, "other": -5.0}
"""Log-probability of a word by what it is. Readings are what is said most; without a price on the
thousand other words, any mumble is a sentence of them."""


def word_cost(word: str) -> float:
    """Log-probability of a word at a place where it may stand."""
    return COSTS[kind_of_word(word)]


@cache
def kind_of_word(word: str) -> str:
    if word in {*vocabulary.DIGITS, *vocabulary.TEENS, *vocabulary.TENS, *COUNTING}:
        return "number"
    if word in UNIT_WORDS:
        return "unit"
    return "letter" if len(word) == 1 else "other"


def words_cost(words: Sequence[str]) -> float:
    return sum(word_cost(word) for word in words)


SINGULAR = frozenset(
    {"ohm", "kilohm", "megohm", "volt", "millivolt", "amp", "milliamp", "watt", "degree", "pound"}
    | {"meter", "millimeter", "inch", "hour", "minute", "second", "liter", "gallon", "pascal"}
)
ODD_ENDING = -12.0
"""Log-probability of "six volt" against "six volts": it is mostly "volts" with its end unheard."""

ODD_PAIR = -6.0
"""Log-probability of "four twenty seven" against "four hundred twenty seven": where it is heard, it
is often a name before the number ("port twenty seven")."""


def rarity(words: Sequence[str]) -> float:
    """Log-probability of the words that are neither number nor usual unit.

    Between whole sentences only these count: a price on every word would favour the reading cut
    short ("degrees" before "degrees celsius").
    """
    odd = bool(words) and words[-1] in SINGULAR and words[:-1] != ["one"]
    rare = sum(word_cost(word) for word in words if kind_of_word(word) in {"letter", "other"})
    pair = len(words) > 1 and words[0] in vocabulary.DIGITS and words[1] in vocabulary.TENS
    return rare + (ODD_ENDING if odd else 0.0) + (ODD_PAIR if pair else 0.0)
