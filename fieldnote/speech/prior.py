"""How likely a sentence is before any sound is heard: readings are what is said most."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import pairwise

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

COSTS: Mapping[str, float] = {"number": -0.3, "unit": -0.8, "letter": -2.0, "other": -5.0}
"""Log-probability of a word by what it is, in the search. Readings are what is said most; without a
price on the thousand other words, any mumble is a sentence of them."""


def word_cost(word: str) -> float:
    """Log-probability of a word at a place where it may stand."""
    return COSTS[kind_of_word(word)]


@cache
def kind_of_word(word: str) -> str:
    if word in NUMBER_WORDS:
        return "number"
    if word in UNIT_WORDS:
        return "unit"
    return "letter" if len(word) == 1 else "other"


def words_cost(words: Sequence[str]) -> float:
    return sum(word_cost(word) for word in words)


NUMBER_WORDS = frozenset(
    {*vocabulary.DIGITS, *vocabulary.TEENS, *vocabulary.TENS, *COUNTING, "oh", "zero"}
)
SOUND_LIKE_NUMBERS = frozenset({"to", "for"})
TENS = frozenset({*vocabulary.TEENS, *vocabulary.TENS})

SINGULAR = frozenset(
    {"ohm", "kilohm", "megohm", "volt", "millivolt", "amp", "milliamp", "watt", "degree", "pound"}
    | {"meter", "millimeter", "inch", "hour", "minute", "second", "liter", "gallon", "pascal"}
)

FORMS: Mapping[tuple[str, ...], str] = {
    tuple(form.split()): "usual" if code in USUAL_UNITS else "rare"
    for code, unit in UNITS.items()
    for form in unit.spoken
} | {("a", "c"): "usual", ("d", "c"): "usual"}
LONGEST = max(map(len, FORMS))

WEIGHTS: Mapping[str, float] = {
    "rare unit": -1.0,
    "letter": -2.0,
    "name": -1.4,
    "word": -1.6,
    "cut": -3.0,
    "pair": -1.5,
    "decimals": -1.1,
    "run": -0.9,
    "plural": -1.8,
    "range": -4.0,
    "tail": -3.0,
    "both zeros": -2.0,
}
"""Log-probability of what is odd in a sentence; found on the tuning set, the last two by judgement
on digits of people whom the nets had heard."""


def rarity(words: Sequence[str]) -> float:
    """Log-probability of a sentence by what is odd in it.

    Between whole sentences the usual words have no price: it would favour the reading cut short
    ("degrees" before "degrees celsius").
    """
    return sum(WEIGHTS[kind] * count for kind, count in oddities(words).items())


def oddities(words: Sequence[str]) -> Counter[str]:
    """How often each kind of WEIGHTS is met in a sentence.

    letter, word: one that is neither number nor part of a unit. name: one that names a thing.
    cut: "six volt" for "six volts", mostly the end unheard. pair: "four twenty seven", where it is
    heard often a name before the number ("port twenty seven"). decimals: "point forty eight".
    run: "eighty four oh eight". plural: "contacts ten" for "contact ten". range: "three to six" for
    "three two six". tail: "one five for" for "one five four". both zeros: "zero oh five", a long
    "zero five"; whoever says one of the words doesn't say the other.
    """
    found: Counter[str] = Counter()
    if words and words[-1] in SINGULAR and list(words[:-1]) != ["one"]:
        found["cut"] = 1
    if len(words) > 1 and words[0] in vocabulary.DIGITS and words[1] in vocabulary.TENS:
        found["pair"] = 1
    if words and words[0] in vocabulary.PLURAL_PINS and not {"to", "and"} & set(words):
        found["plural"] = 1
    found.update(kind for kind in segments(words) if kind in WEIGHTS)
    decimal = False
    for before, word in zip(("", *words), words, strict=False):
        decimal = (decimal or before == "point") and word in NUMBER_WORDS
        if decimal and word in TENS:
            found["decimals"] += 1
    for first, second, third in zip(words, words[1:], words[2:], strict=False):
        if second == "to" and {first, third} <= vocabulary.DIGITS.keys():
            found["range"] += 1
        if first in vocabulary.TENS and {second, third} <= vocabulary.DIGITS.keys():
            found["run"] += 1
    for pair in pairwise(words):
        if set(pair) == {"zero", "oh"}:
            found["both zeros"] += 1
    if len(words) > 1 and words[-2] in NUMBER_WORDS and words[-1] in SOUND_LIKE_NUMBERS:
        found["tail"] += 1
    return found


def segments(words: Sequence[str]) -> Iterator[str]:
    """What the words are, units taken whole: the letters of "p s i" are no odd ones."""
    place = 0
    while place < len(words):
        for size in range(min(LONGEST, len(words) - place), 0, -1):
            unit = FORMS.get(tuple(words[place : place + size]))
            if unit is not None:
                yield f"{unit} unit"
                place += size
                break
        else:
            yield kind_of_rest(words[place])
            place += 1


@cache
def kind_of_rest(word: str) -> str:
    """Of a word that is no part of a unit."""
    if word in NUMBER_WORDS:
        return "number"
    if len(word) == 1:
        return "letter"
    return "name" if word in NAMES else "word"


NAMES = frozenset(
    word
    for name in (
        *(*vocabulary.NUMBERED, *vocabulary.PIN_WORDS, *vocabulary.COLOURS),
        *(*vocabulary.TRACER_WORDS, *vocabulary.OPEN, *vocabulary.SHORT),
        *(*vocabulary.POSITIONS, *vocabulary.STATES, *vocabulary.SPOKEN_NAMES),
    )
    for word in name.split()
)
