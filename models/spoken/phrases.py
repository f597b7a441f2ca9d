"""What the synthetic voices say: readings, numbers, measuring points, commands, words in free
order, and chatter.

The parser and the run-time grammar decide what a reading is; this sampler only has to show the net
every word in many neighbourhoods. Whatever the vocabulary holds beyond the lists below still turns
up in the free-order samples.
"""

from __future__ import annotations

import pydoc_data.topics
import random
import re
from collections.abc import Callable, Iterable

DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
SPOKEN_DIGITS = [*DIGITS, "oh"]
TEENS = [
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
NUMBER_WORDS = {
    *SPOKEN_DIGITS,
    *TEENS,
    *TENS,
    "hundred",
    "thousand",
    "point",
    "minus",
    "negative",
    "and",
}

Words = list[str]


def below_hundred(n: int) -> Words:
    """Words of a whole number from 0 to 99."""
    if n < 10:
        return [DIGITS[n]]
    if n < 20:
        return [TEENS[n - 10]]
    return [TENS[n // 10 - 2], *([DIGITS[n % 10]] if n % 10 else [])]


def number(rng: random.Random) -> Words:
    """A number as people say it: cardinal, digit by digit, or in groups; with or without decimals
    and sign."""
    style = rng.random()
    if style < 0.3:
        words = [rng.choice(SPOKEN_DIGITS) for _ in range(rng.randint(1, 5))]
    elif style < 0.6:
        words = below_hundred(rng.randint(0, 99))
    elif style < 0.88:
        words = [rng.choice(DIGITS[1:] + TEENS[1:]), "hundred"]
        if rng.random() < 0.8:
            words += (["and"] if rng.random() < 0.35 else []) + below_hundred(rng.randint(1, 99))
        if rng.random() < 0.3:
            head = [*below_hundred(rng.randint(1, 99)), "thousand"]
            words = head + (words if rng.random() < 0.7 else [])
    else:
        words = [rng.choice(TENS + TEENS), *below_hundred(rng.randint(1, 99))]
    if rng.random() < 0.45:
        words += ["point", *(rng.choice(SPOKEN_DIGITS) for _ in range(rng.randint(1, 3)))]
    elif rng.random() < 0.06:
        words = ["point", *(rng.choice(SPOKEN_DIGITS) for _ in range(rng.randint(1, 3)))]
    if rng.random() < 0.22:
        words = [rng.choice(["minus", "negative"]), *words]
    return words


def chatter_words(known: set[str]) -> list[str]:
    """English words outside the vocabulary, from the prose of the standard library's own help
    topics."""
    prose = " ".join(pydoc_data.topics.topics.values()).lower()
    counts: dict[str, int] = {}
    for word in re.findall(r"[a-z]{2,12}", prose):
        counts[word] = counts.get(word, 0) + 1
    return sorted(word for word, count in counts.items() if count >= 3 and word not in known)


class Sampler:
    """Draws what to say.

    Args:
        vocabulary: every word that the model must know.
        units: spoken forms of units ("newton metres").
        sayings: other words that belong together, such as commands ("next step") and states ("open
            circuit").
        speakable: tells whether a word outside the vocabulary can be said (has a pronunciation).
    """

    def __init__(
        self,
        vocabulary: Iterable[str],
        units: Iterable[str] = (),
        sayings: Iterable[str] = (),
        speakable: Callable[[str], bool] = lambda _: True,
    ) -> None:
        self.words = sorted(vocabulary)
        known = set(self.words)
        self.units = [u.split() for u in units if set(u.split()) <= known] or [
            [w] for w in self.words
        ]
        self.sayings = [p.split() for p in sayings if set(p.split()) <= known] or [
            [w] for w in self.words
        ]
        self.others = [w for w in self.words if w not in NUMBER_WORDS]
        self.chatter = [w for w in chatter_words(known) if speakable(w)]
        self._known = known

    def _keep_known(self, words: Words) -> Words:
        return [w for w in words if w in self._known] or [self.words[0]]

    def reading(self, rng: random.Random) -> Words:
        """A number with its unit, sometimes with a saying around it."""
        words = self._keep_known(number(rng))
        if rng.random() < 0.8:
            words += rng.choice(self.units)
        if rng.random() < 0.2:
            saying = rng.choice(self.sayings)[:3]
            words = saying + words if rng.random() < 0.5 else words + saying
        return words

    def label(self, rng: random.Random) -> Words:
        """Something with a number and something after it: a pin and its colours, a terminal and
        its state."""
        words = [rng.choice(self.others), *below_hundred(rng.randint(1, 99))]
        return words + [rng.choice(self.others) for _ in range(rng.choice([0, 0, 1, 1, 2]))]

    def free(self, rng: random.Random) -> Words:
        """Any words of the vocabulary in any order, rarer ones as often as common ones."""
        return [rng.choice(self.words) for _ in range(rng.choice([1, 1, 2, 3, 4, 5]))]

    def unknown(self, rng: random.Random) -> Words:
        """Only words that the model must not take for its own."""
        return [rng.choice(self.chatter) for _ in range(rng.randint(1, 6))]

    def mixed(self, rng: random.Random) -> Words:
        """A reading with something unknown before or after it."""
        strange = [rng.choice(self.chatter) for _ in range(rng.randint(1, 3))]
        reading = self.reading(rng)[:5]
        return strange + reading if rng.random() < 0.5 else reading + strange

    def draw(self, rng: random.Random) -> Words:
        """One utterance."""
        kinds: list[tuple[float, Callable[[random.Random], Words]]] = [
            (0.34, self.reading),
            (0.06, lambda r: self._keep_known(number(r))),
            (0.04, lambda r: [r.choice(SPOKEN_DIGITS)]),
            (0.10, self.label),
            (0.08, lambda r: list(r.choice(self.sayings))),
            (0.22, self.free),
            (0.11, self.unknown),
            (0.05, self.mixed),
        ]
        weights = [weight for weight, _ in kinds]
        return rng.choices([draw for _, draw in kinds], weights)[0](rng)

    def to_score(self, rng: random.Random) -> Words:
        """One utterance of the kind that is scored: readings, bare numbers and sayings, no free
        order."""
        return rng.choices(
            [
                self.reading,
                lambda r: self._keep_known(number(r)),
                lambda r: list(r.choice(self.sayings)),
            ],
            [0.7, 0.1, 0.2],
        )[0](rng)
