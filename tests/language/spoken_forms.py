"""Ways to say a number, for round trips: our own, and num2words as the outside one.

Each takes exact digits ("-10.60") and gives the words, or None where nobody says it that way.
"""

from __future__ import annotations

import random

from num2words import num2words

_DIGIT = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
_TEEN = [
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
_TENS = ["_", "_", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]


def _parts(digits: str) -> tuple[str, str, str]:
    sign = "minus " if digits.startswith("-") else ""
    whole, _, places = digits.lstrip("-").partition(".")
    return sign, whole, places


def _places(places: str, rng: random.Random) -> str:
    if not places:
        return ""
    zero = rng.choice(["zero", "oh"])
    return " point " + " ".join(zero if d == "0" else _DIGIT[int(d)] for d in places)


def below_hundred(number: int) -> str:
    if number < 10:
        return _DIGIT[number]
    if number < 20:
        return _TEEN[number - 10]
    tens, one = divmod(number, 10)
    return _TENS[tens] + (f" {_DIGIT[one]}" if one else "")


def outside(digits: str, rng: random.Random) -> str | None:
    """num2words' cardinal, with its hyphens and commas, British "and"."""
    sign, whole, places = _parts(digits)
    return sign + num2words(int(whole)) + _places(places, rng)


def american(digits: str, rng: random.Random) -> str | None:
    """The same without "and", commas and hyphens."""
    said = outside(digits, rng)
    assert said is not None
    return said.replace(" and ", " ").replace(",", "").replace("-", " ")


def digit_by_digit(digits: str, rng: random.Random) -> str | None:
    """ "one oh five": not for one or two digits, nor with a zero in front."""
    sign, whole, places = _parts(digits)
    if not 3 <= len(whole) <= 6:
        return None
    zero = rng.choice(["zero", "oh", "nought"])
    said = " ".join(zero if d == "0" else _DIGIT[int(d)] for d in whole)
    return sign + said + _places(places, rng)


def with_doubles(digits: str, rng: random.Random) -> str | None:
    """ "four double oh": two equal digits at the end of three or four."""
    sign, whole, places = _parts(digits)
    if not 3 <= len(whole) <= 4 or whole[-1] != whole[-2]:
        return None
    head = " ".join(_DIGIT[int(d)] for d in whole[:-2])
    last = "oh" if whole[-1] == "0" else _DIGIT[int(whole[-1])]
    return f"{sign}{head} double {last}" + _places(places, rng)


def pair(digits: str, rng: random.Random) -> str | None:
    """ "three twenty", "eighteen fifty", "sixteen oh four"; "fifty fifty" may be said twice."""
    sign, whole, places = _parts(digits)
    if len(whole) == 3:
        first, second = int(whole[0]), int(whole[1:])
    elif len(whole) == 4 and whole[0] != "0":
        first, second = int(whole[:2]), int(whole[2:])
    else:
        return None
    if second in (0, first, first + 1) or (first % 10 == 0 and second == first + 10):
        return None
    if second < 10:
        if first < 10:
            return None
        return f"{sign}{below_hundred(first)} oh {_DIGIT[second]}" + _places(places, rng)
    return f"{sign}{below_hundred(first)} {below_hundred(second)}" + _places(places, rng)


def hundreds(digits: str, rng: random.Random) -> str | None:
    """ "twelve hundred and fifty"."""
    sign, whole, places = _parts(digits)
    number = int(whole)
    if not 1100 <= number <= 9999 or number // 100 % 10 == 0:
        return None
    head, rest = divmod(number, 100)
    joint = rng.choice([" and ", " "])
    tail = f"{joint}{below_hundred(rest)}" if rest else ""
    return f"{sign}{below_hundred(head)} hundred{tail}" + _places(places, rng)


def leading_point(digits: str, rng: random.Random) -> str | None:
    """ "point four seven"."""
    sign, whole, places = _parts(digits)
    if whole != "0" or not places:
        return None
    return sign + _places(places, rng).strip()


def two_places(digits: str, rng: random.Random) -> str | None:
    """ "three point twenty five": two places as one number from ten on."""
    sign, whole, places = _parts(digits)
    if len(places) != 2 or places[0] == "0":
        return None
    return f"{sign}{num2words(int(whole))} point {below_hundred(int(places))}"


def typed(digits: str, rng: random.Random) -> str | None:
    """ "3,000" or "3000"."""
    sign, whole, places = _parts(digits)
    shown = f"{int(whole):,}" if rng.random() < 0.5 else whole
    return ("-" if sign else "") + shown + (f".{places}" if places else "")


FORMS = (
    outside, american, digit_by_digit, with_doubles, pair, hundreds, leading_point, two_places,
    typed,
)  # fmt: skip


def random_digits(rng: random.Random) -> str:
    """A reading as meters show it: up to seven digits, up to four places, now and then negative."""
    size = rng.choice([1, 1, 2, 2, 2, 3, 3, 3, 4, 4, 5, 6])
    whole = str(rng.randrange(10 ** (size - 1) if size > 1 else 0, 10**size))
    places = rng.choice(["", "", "", "d", "d", "dd", "dd", "ddd", "dddd"])
    tail = "".join(rng.choice("0123456789") for _ in places)
    sign = "-" if rng.random() < 0.15 else ""
    return sign + whole + (f".{tail}" if tail else "")
