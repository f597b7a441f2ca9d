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


CHATTER = (
    "did you bring the big ladder or is it still in the van",
    "I told him twice that the hose would not hold",
    "we should be done before lunch if nothing else turns up",
    "can you hand me the other wrench please",
    "she said the delivery comes on Thursday at around nine",
    "he paid forty dollars for that and it broke in a week",
    "give me two minutes and I will be right with you",
    "the kids have a match on Saturday so I have to leave early",
    "that was the third time this month that it tripped",
    "turn the radio down a bit, I can't hear a thing",
    "it must have been running like this since March",
    "have you ever seen a pump look this bad",
    "the boss wants the paperwork on his desk by five",
    "watch your step, the floor is wet over there",
    "my brother had the same trouble with his old truck",
    "I think they used the wrong grease when they put it together",
    "let us take the cover off first and have a look inside",
    "there were maybe twenty people waiting outside",
    "it rained the whole day and then the wind picked up",
    "no, the other way round, you have it upside down",
    "do you want coffee or are you going home now",
    "I will call the office and ask them for the drawing",
    "we ordered ten of those and they sent us a hundred",
    "somebody left the gate open last night",
    "that noise was there before we even started",
    "pass me the rag and the small screwdriver",
    "he has been with the company for eleven years",
    "I would not trust that bolt if I were you",
    "you can see right through it, it is worn so thin",
    "what a mess, who painted over all of the labels",
)
"""Talk of a workshop, invented; some of it with numbers, none of it a reading."""
