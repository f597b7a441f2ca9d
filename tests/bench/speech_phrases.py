"""Phrases that a technician says, drawn at random: what the speech benchmarks speak aloud.

Units, colours, labels and commands are drawn from the language's own vocabulary, the usual ones
more often. Nothing here comes from an evaluation set. The expected entry of a phrase is what
``fieldnote.language.parse`` makes of the same words typed: the benchmarks measure the ear alone.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable

from fieldnote.language import UNITS, parse, vocabulary
from fieldnote.language.commands import COMMANDS

ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

USUAL = (
    *("ohms", "kilo ohms", "mega ohms", "milliohms", "volts", "millivolts", "volts a c"),
    *("volts d c", "amps", "milliamps", "degrees", "degrees celsius", "degrees fahrenheit"),
    *("inch pounds", "foot pounds", "newton meters", "p s i", "kilopascals", "bar", "inches"),
    *("millimeters", "percent", "r p m", "hertz", "hours", "kilohms", "megohms"),
)
EVERY = tuple(form for unit in UNITS.values() for form in unit.spoken[:1])

EVERYDAY = (
    *("scratch that", "next step", "next", "repeat", "repeat that", "undo", "go back", "pause"),
    *("skip this one", "stop", "resume", "yes", "no", "take a picture", "start timer"),
    *("stop the timer", "what's the limit", "last value", "where am i", "help", "hold on"),
)
RESULTS = (
    *("open line", "open circuit", "over limit", "short circuit", "open", "shorted"),
    *("no continuity", "dead short", "over load", "o l"),
)
NAMED = (
    *("port", "starboard", "upper", "lower", "forward", "aft", "coolant inlet", "oil pressure"),
    *("battery", "fuel tank", "engine", "motor", "pump two", "cylinder three", "phase one"),
    *("tank one", "sensor four", "fuse six", "supply", "signal", "insulation resistance"),
    *("port engine", "compression cylinder two", "rudder angle", "suction pressure"),
)
STATES = ("at idle", "with load", "no load", "key on", "engine off", "hot", "cold", "as found")


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
    if pick < 0.45:
        return below_hundred(rng)
    if pick < 0.68:
        joint = rng.choice((" and ", " "))
        tail = joint + below_hundred(rng) if rng.random() < 0.7 else ""
        return f"{rng.choice(ONES[1:])} hundred{tail}"
    if pick < 0.78:
        tail = f" {rng.choice(ONES[1:])} hundred" if rng.random() < 0.6 else ""
        return f"{rng.choice(ONES[1:])} thousand{tail}"
    if pick < 0.86:  # "three twenty", "two fifty five", "sixteen oh four"
        tail = f"{rng.choice(TENS)} {rng.choice(ONES[1:])}" if rng.random() < 0.5 else ""
        return f"{rng.choice(ONES[1:])} {tail or rng.choice(TENS)}"
    return " ".join([rng.choice(ONES[1:]), *(rng.choice(ONES) for _ in range(rng.choice((2, 3))))])


def number(rng: random.Random) -> str:
    sign = rng.choice(("minus ", "negative ")) if rng.random() < 0.08 else ""
    if rng.random() < 0.5:
        return sign + whole(rng)
    before = rng.choice(("zero", *(below_hundred(rng) for _ in range(3)), whole(rng)))
    digits = [rng.choice(ONES) for _ in range(rng.choice((1, 1, 1, 2, 2, 3)))]
    if rng.random() < 0.3:
        digits = ["oh" if digit == "zero" else digit for digit in digits]
    return f"{sign}{before} point {' '.join(digits)}"


def usual_reading(rng: random.Random) -> str:
    return f"{number(rng)} {rng.choice(USUAL)}"


def any_reading(rng: random.Random) -> str:
    return f"{number(rng)} {rng.choice(EVERY)}"


def labelled_reading(rng: random.Random) -> str:
    if rng.random() < 0.25:
        return f"{usual_reading(rng)} {rng.choice(STATES)}"
    return f"{rng.choice(NAMED)} {usual_reading(rng)}"


def wire(rng: random.Random) -> str:
    colours = rng.sample(sorted(vocabulary.COLOURS), 2)
    tracer = rng.choice(
        ("{0}", "{0} {1}", "{0} with {1} tracer", "{0} with a {1} tracer", "{0} with {1} stripe")
    ).format(*colours)
    where = f"{rng.choice(('pin', 'terminal', 'cavity', 'contact'))} {below_hundred(rng)}"
    return f"{where} {tracer}"


def command(rng: random.Random) -> str:
    if rng.random() < 0.6:
        return rng.choice(EVERYDAY)
    said = COMMANDS[rng.choice(sorted(COMMANDS))]
    return rng.choice(said[: max(3, len(said) // 4)])


def result(rng: random.Random) -> str:
    return rng.choice(RESULTS)


def remark(rng: random.Random) -> str:
    noun, adjective = rng.choice(vocabulary.REMARK_NOUNS), rng.choice(vocabulary.REMARK_ADJECTIVES)
    return f"note {noun} {adjective}"


def bare(rng: random.Random) -> str:
    return number(rng)


KINDS: tuple[tuple[float, Callable[[random.Random], str]], ...] = (
    (0.50, usual_reading),
    (0.12, any_reading),
    (0.11, labelled_reading),
    (0.07, wire),
    (0.08, command),
    (0.05, result),
    (0.03, remark),
    (0.04, bare),
)


def phrases(count: int, seed: int) -> list[str]:
    """``count`` phrases that the language understands, the same for the same seed."""
    rng = random.Random(seed)
    weights = [weight for weight, _ in KINDS]
    found: list[str] = []
    while len(found) < count:
        ((_, draw),) = rng.choices(KINDS, weights)
        said = draw(rng)
        if parse(said).kind not in {"none", "unclear"}:
            found.append(said)
    return found


def written(said: str) -> str:
    """Words as a synthesiser must have them to spell the letters: "P S I", "A.C."."""
    capitals = re.sub(r"\b([b-z])\b", lambda letter: letter[1].upper(), said)
    return re.sub(
        r"\ba ([A-Z])\b", r"A.\1.", re.sub(r"'([A-Z])\b", lambda t: t[0].lower(), capitals)
    )


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

SLOTS = {
    "who": ("he", "she", "the boss", "my brother", "the new fellow", "somebody", "the driver"),
    "did": ("said", "told me", "thinks", "swore", "heard", "figured", "wrote down"),
    "that": (
        *("it would be ready by {n}", "we need {n} of them", "it costs about {n} dollars"),
        *("the meeting is at {n}", "they close at {n}", "there are {n} left on the shelf"),
        *("it is not worth the trouble", "nobody checked the oil", "the pump ran all night"),
        *("we start again on Monday", "the truck is coming back", "you can't get parts for it"),
    ),
    "lead": ("well", "you know", "listen", "anyway", "I mean", "look", "honestly", "so"),
    "n": ("two", "three", "five", "ten", "eleven", "fifteen", "twenty", "forty five", "ninety"),
}
PATTERNS = (
    *("{who} {did} {that}", "{lead} {who} {did} that {that}", "{who} and {who} were here at {n}"),
    *("{lead} I {did} {that} and then {that}", "did you hear that {that}", "{that} I guess"),
    *("give {who} a call after {n}", "it took {n} men and {n} hours last time", "no {that}"),
)


def talk(count: int, seed: int) -> list[str]:
    """Workshop talk by chance, with numbers in it; none of it is a reading."""
    rng = random.Random(seed)

    def filled(text: str) -> str:
        while "{" in text:
            text = re.sub(r"\{(\w+)\}", lambda slot: rng.choice(SLOTS[slot[1]]), text)
        return text

    return [
        rng.choice(CHATTER) if rng.random() < 0.25 else filled(rng.choice(PATTERNS))
        for _ in range(count)
    ]
