"""Phrases that a technician says, drawn at random: what the speech benchmarks speak aloud.

Nothing here comes from an evaluation set. The expected entry of a phrase is what
``fieldnote.language.parse`` makes of the same words typed: the benchmarks measure the ear alone.
"""

from __future__ import annotations

import random

ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

UNITS = (
    *("ohms", "kilo ohms", "mega ohms", "milliohms", "volts", "millivolts", "volts a c"),
    *("volts d c", "amps", "milliamps", "degrees", "degrees celsius", "degrees fahrenheit"),
    *("inch pounds", "foot pounds", "newton meters", "p s i", "kilopascals", "bar", "inches"),
    *("millimeters", "percent", "r p m", "hertz", "hours", "kilohms", "megohms"),
)

FIXED = (
    *("open line", "open circuit", "over limit", "short circuit", "short to ground"),
    *("scratch that", "next step", "repeat", "undo", "save reading"),
    *("pin three black with brown tracer", "terminal four red", "wire black brown"),
    *("note seal damaged", "note connector corroded", "note wire chafed"),
)


def below_hundred(rng: random.Random) -> str:
    pick = rng.random()
    if pick < 0.3:
        return rng.choice(ONES[1:])
    if pick < 0.6:
        return rng.choice(TEENS)
    tens = rng.choice(TENS)
    return tens if rng.random() < 0.4 else f"{tens} {rng.choice(ONES[1:])}"


def whole(rng: random.Random) -> str:
    pick = rng.random()
    if pick < 0.5:
        return below_hundred(rng)
    if pick < 0.75:
        joint = rng.choice((" and ", " "))
        tail = joint + below_hundred(rng) if rng.random() < 0.7 else ""
        return f"{rng.choice(ONES[1:])} hundred{tail}"
    if pick < 0.85:
        tail = f" {rng.choice(ONES[1:])} hundred" if rng.random() < 0.6 else ""
        return f"{rng.choice(ONES[1:])} thousand{tail}"
    return " ".join([rng.choice(ONES[1:]), *(rng.choice(ONES) for _ in range(rng.choice((2, 3))))])


def number(rng: random.Random) -> str:
    sign = rng.choice(("minus ", "negative ")) if rng.random() < 0.08 else ""
    if rng.random() < 0.5:
        return sign + whole(rng)
    before = rng.choice(("zero", below_hundred(rng), below_hundred(rng), below_hundred(rng)))
    digits = [rng.choice(ONES) for _ in range(rng.choice((1, 1, 1, 2, 2, 3)))]
    if rng.random() < 0.3:
        digits = ["oh" if digit == "zero" else digit for digit in digits]
    return f"{sign}{before} point {' '.join(digits)}"


def phrases(count: int, seed: int) -> list[str]:
    """``count`` phrases, the same for the same seed."""
    rng = random.Random(seed)
    return [
        rng.choice(FIXED) if rng.random() < 0.12 else f"{number(rng)} {rng.choice(UNITS)}"
        for _ in range(count)
    ]
