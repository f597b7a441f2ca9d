"""Words of one number → exact digits, or the reason why they are not one number.

Nothing is rounded and nothing is guessed: where two numbers could have been meant ("ten six"),
the answer is `Trouble` with the candidates.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from fieldnote.language.vocabulary import (
    DENOMINATORS,
    DIGITS,
    INEXACT,
    POINT,
    REPEATS,
    SCALES,
    SIGNS,
    TEENS,
    TENS,
)

Style = Literal["plain", "pair", "digits", "fraction", "counter"]

_TYPED = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_TYPED_FRACTION = re.compile(r"([0-9]+)/([0-9]+)")
_HYPHENED_PARTS = {"thirtysecond": 32, "thirtyseconds": 32, "sixtyfourth": 64, "sixtyfourths": 64}
_PARTS = {**DENOMINATORS, **_HYPHENED_PARTS}
_ZEROS = ("zero", "oh", "nought")

TWO_NUMBERS = "these could be two numbers or one"
LEADING_ZERO = "a leading zero without a point"
BROKEN_DECIMAL = "a decimal point too many or in the wrong place"
NO_EXACT_DECIMAL = "this fraction has no exact decimal; say it as a decimal"
NOT_A_NUMBER = "these number words do not make one number"

STARTERS = frozenset(
    {
        *DIGITS,
        *TEENS,
        *TENS,
        *SCALES,
        *REPEATS,
        *POINT,
        *SIGNS,
        *DENOMINATORS,
        *INEXACT,
        *_HYPHENED_PARTS,
    }
)
"""Words that can only belong to a number (``and``, ``a``, ``of`` depend on their neighbours)."""


@dataclass(frozen=True, slots=True)
class Number:
    """digits: exact decimal ("-0.47"). style: how it was said; ``plain`` is the least doubtful."""

    digits: str
    style: Style


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why the words are not one number, and what could have been meant, likeliest first."""

    reason: str
    candidates: tuple[str, ...] = ()


def is_typed(word: str) -> bool:
    """True for a number written with digits: ``3000``, ``.47``, ``3/4``."""
    return word[0] in "0123456789." and bool(
        _TYPED.fullmatch(word) or _TYPED_FRACTION.fullmatch(word)
    )


def read(words: Sequence[str]) -> Number | Trouble:
    """The number that all of ``words`` say.

    >>> read("six point two zero".split()).digits
    '6.20'
    """
    words = list(words)
    sign = ""
    if words and words[0] in SIGNS:
        sign = SIGNS[words[0]]
        words = words[1:]
    if not words:
        return Trouble(NOT_A_NUMBER)
    answer = _unsigned(words)
    if not sign:
        return answer
    if isinstance(answer, Trouble):
        return Trouble(answer.reason, tuple(sign + digits for digits in answer.candidates))
    return Number(sign + answer.digits, answer.style)


def _unsigned(words: list[str]) -> Number | Trouble:
    if any(word in SIGNS for word in words):
        return Trouble("a sign in the middle of a number")
    if any(word in INEXACT for word in words):
        return Trouble(NO_EXACT_DECIMAL)
    if any(word in _PARTS or "/" in word for word in words):
        return _with_fraction(words)
    points = [place for place, word in enumerate(words) if word in POINT]
    if points:
        return _decimal(words, points)
    return _scaled(words)


# -- decimals ----------------------------------------------------------------------------------
def _decimal(words: list[str], points: list[int]) -> Number | Trouble:
    if len(points) > 1:
        return Trouble(BROKEN_DECIMAL)
    place = points[0]
    whole_words, part_words = words[:place], words[place + 1 :]
    scale = 1
    while part_words and part_words[-1] in ("thousand", "million"):
        scale *= SCALES[part_words.pop()]
    if not part_words:
        return Trouble(BROKEN_DECIMAL)
    if any("." in word for word in words):
        return Trouble(BROKEN_DECIMAL)
    whole: Number | Trouble = Number("0", "plain")
    if whole_words:
        whole = _integer(whole_words, before_point=True)
    if isinstance(whole, Trouble):
        return whole
    part = _places(part_words)
    if part is None:
        return Trouble("after the point only single digits, or one number up to ninety-nine")
    digits = f"{whole.digits}.{part}"
    return Number(_times(digits, scale), whole.style)


def _places(words: list[str]) -> str | None:
    """The digits after a decimal point: single digits, or one two-digit number alone."""
    if len(words) == 1 and words[0].isdigit():
        return words[0]
    groups = _groups(words)
    if groups is None:
        return None
    if all(single for _, single in groups):
        return "".join(digits for digits, _ in groups)
    if len(groups) == 1:
        return groups[0][0]
    return None


def _times(digits: str, scale: int) -> str:
    if scale == 1:
        return digits
    return format(Decimal(digits) * scale, "f") if "." not in digits else _shift(digits, scale)


def _shift(digits: str, scale: int) -> str:
    """Move the point right; "2.50" thousand is "2500" (no places are invented or lost)."""
    moved = Decimal(digits).scaleb(len(str(scale)) - 1)
    return format(moved, "f")


# -- fractions ---------------------------------------------------------------------------------
def _with_fraction(words: list[str]) -> Number | Trouble:
    scale = 1
    while words and words[-1] in ("hundred", "thousand", "million"):
        scale *= SCALES[words[-1]]
        words = words[:-1]
    if not words:
        return Trouble(NOT_A_NUMBER)
    if "and" in words:
        cut = len(words) - 1 - words[::-1].index("and")
        whole_words, part_words = words[:cut], words[cut + 1 :]
        if not whole_words:
            return Trouble(NOT_A_NUMBER)
        # "one hundred and three quarters" could be 100.75 or 103/4; nobody means the second
        whole = _scaled(whole_words)
    elif _TYPED_FRACTION.fullmatch(words[-1]) and len(words) > 1:
        whole, part_words = _scaled(words[:-1]), words[-1:]
    else:
        whole, part_words = Number("0", "plain"), words
    if isinstance(whole, Trouble):
        return whole
    if "." in whole.digits:
        return Trouble(NOT_A_NUMBER)
    part = _part(part_words)
    if isinstance(part, Trouble):
        return part
    top, bottom = part
    value = (int(whole.digits) * bottom + top) * scale
    exact = _exact(value, bottom)
    if exact is None:
        return Trouble(NO_EXACT_DECIMAL)
    return Number(exact, "fraction")


def _part(words: list[str]) -> tuple[int, int] | Trouble:
    if len(words) == 1 and (typed := _TYPED_FRACTION.fullmatch(words[0])):
        top, bottom = int(typed[1]), int(typed[2])
        if not bottom or not top:
            return Trouble(NOT_A_NUMBER)
        return top, bottom
    if not words or words[-1] not in _PARTS:
        return Trouble(NOT_A_NUMBER)
    bottom = _PARTS[words[-1]]
    over = words[:-1]
    if bottom == 4 and len(over) > 1 and over[-1] == "sixty":  # "three sixty fourths"
        bottom, over = 64, over[:-1]
    if over in ([], ["a"], ["an"]):
        if words[-1].endswith("s"):
            return Trouble("how many " + words[-1] + "?")
        return 1, bottom
    if over in (["half", "a"], ["half", "of", "a"]):
        return 1, bottom * 2
    number = _integer(over)
    if isinstance(number, Trouble) or number.style != "plain" or not int(number.digits):
        return Trouble(NOT_A_NUMBER)
    if int(number.digits) >= bottom and bottom < 10:
        return Trouble("a fraction of more than one")
    return int(number.digits), bottom


def _exact(top: int, bottom: int) -> str | None:
    """top/bottom as a decimal without rounding, or None where there is none."""
    left = bottom
    for prime in (2, 5):
        while left % prime == 0:
            left //= prime
    if top % left:
        return None
    return format(Decimal(top) / Decimal(bottom), "f")


# -- whole numbers -----------------------------------------------------------------------------
def _scaled(words: list[str]) -> Number | Trouble:
    """A whole number, or a typed decimal with a scale ("2.5 thousand")."""
    head = words[0]
    if "." in head and not _TYPED.fullmatch(head):
        return _odd(head)
    if "." in head:
        scale = 1
        for word in words[1:]:
            if word not in ("thousand", "million"):
                return Trouble(TWO_NUMBERS) if is_typed(word) else Trouble(NOT_A_NUMBER)
            scale *= SCALES[word]
        return Number(_times("0" + head if head[0] == "." else head, scale), "plain")
    return _integer(words)


def _integer(words: list[str], before_point: bool = False) -> Number | Trouble:
    if len(words) == 1 and words[0].isdigit():
        if len(words[0]) > 1 and words[0][0] == "0":
            if len(words[0]) > 2 and not before_point:
                return Number(words[0], "counter")
            return Trouble(LEADING_ZERO, (words[0],))
        return Number(words[0], "plain")
    if any(word in SCALES for word in words):
        return _cardinal(words)
    return _compact(words, before_point)


def _cardinal(words: list[str]) -> Number | Trouble:
    """With hundred, thousand or million; "and" where English puts it."""
    total = 0
    rest = words
    last_scale = 0
    for scale_word in ("million", "thousand"):
        if scale_word not in rest:
            continue
        cut = rest.index(scale_word)
        above = rest[:cut]
        if total and above[:1] == ["and"]:
            return Trouble(NOT_A_NUMBER)
        count = 1 if above in ([], ["a"]) and not total else _below_thousand(above)
        if count is None or count == 0:
            return Trouble(NOT_A_NUMBER)
        total += count * SCALES[scale_word]
        last_scale = SCALES[scale_word]
        rest = rest[cut + 1 :]
    if rest:
        joined = rest[0] == "and"
        if joined and not last_scale:
            return Trouble(NOT_A_NUMBER)
        below = _below_thousand(rest[1:] if joined else rest, below=last_scale)
        if below is None or below == 0:
            return Trouble(NOT_A_NUMBER)
        if last_scale == 1000 and below >= 1000:
            return Trouble(TWO_NUMBERS)
        total += below
    return Number(str(total), "plain")


def _below_thousand(words: list[str], below: int = 0) -> int | None:
    """0 to 9,999 as said before or without "thousand": "four hundred and six", "twelve hundred"."""
    if "hundred" not in words:
        return _below_hundred(words)
    cut = words.index("hundred")
    above, rest = words[:cut], words[cut + 1 :]
    count = 1 if above in ([], ["a"]) else _below_hundred(above)
    if not count or (count > 9 and below):
        return None
    value = count * 100
    if not rest:
        return value
    more = _below_hundred(rest[1:] if rest[0] == "and" else rest)
    return value + more if more else None


def _below_hundred(words: list[str]) -> int | None:
    if len(words) == 1:
        word = words[0]
        if word.isdigit() and len(word) < 4:
            return int(word)
        if word in _ZEROS or word == "nil":
            return 0
        found = TEENS.get(word) or TENS.get(word) or int(DIGITS.get(word, 0))
        return found or None
    if len(words) == 2 and words[0] in TENS and words[1] in DIGITS and DIGITS[words[1]] != "0":
        return TENS[words[0]] + int(DIGITS[words[1]])
    return None


def _groups(words: list[str]) -> list[tuple[str, bool]] | None:
    """The words as groups of digits, each with whether it was said digit by digit."""
    groups: list[tuple[str, bool]] = []
    place = 0
    while place < len(words):
        word = words[place]
        following = words[place + 1] if place + 1 < len(words) else ""
        if word in DIGITS:
            groups.append((DIGITS[word], True))
        elif word in TEENS:
            groups.append((str(TEENS[word]), False))
        elif word in TENS:
            unit = DIGITS.get(following, "0")
            if unit != "0":
                place += 1
            groups.append((str(TENS[word] + int(unit)), False))
        elif word in REPEATS:
            if following not in DIGITS:
                return None
            groups.append((DIGITS[following] * REPEATS[word], True))
            place += 1
        else:
            return None
        place += 1
    return groups


def _compact(words: list[str], before_point: bool) -> Number | Trouble:
    """Without a scale word: one group, digit by digit, or a pair ("three twenty")."""
    groups = _groups(words)
    if groups is None and len(words) == 1 and words[0][0].isdigit():
        return _odd(words[0])
    if groups is None:
        typed = tuple(word for word in words if is_typed(word))
        return Trouble(TWO_NUMBERS if typed else NOT_A_NUMBER, typed)
    digits = "".join(text for text, _ in groups)
    if len(groups) == 1:
        if groups[0][1] and len(digits) > 1:
            return _digit_string(digits, groups, before_point)
        return Number(digits, "plain")
    if all(single for _, single in groups):
        return _digit_string(digits, groups, before_point)
    return _pair(groups)


def _odd(word: str) -> Trouble:
    """Digits in a form that means different things to different people: "1,5", "4k7", "1.2.3"."""
    if word.count(".") > 1:
        return Trouble(BROKEN_DECIMAL)
    one_mark = re.fullmatch(r"([0-9]+)[,kmr]([0-9]+)", word)
    candidates = (f"{one_mark[1]}.{one_mark[2]}",) if one_mark else ()
    return Trouble(f'"{word}" can be read in more than one way', candidates)


def _digit_string(
    digits: str, groups: list[tuple[str, bool]], before_point: bool
) -> Number | Trouble:
    if digits[0] == "0":
        # "zero five" may be 0.5 with the point lost; three digits and more are a counter's
        if len(digits) > 2 and not before_point:
            return Number(digits, "counter")
        return Trouble(LEADING_ZERO, (f"{digits[0]}.{digits[1:]}",))
    if len(digits) > 7:
        return Trouble("more digits than a reading has")
    if (
        len(groups) == 2
        and len(digits) == 2
        and not before_point
        and int(digits[1]) == int(digits[0]) + 1
    ):
        return Trouble("one number, or from one to the other", (digits, f"{digits[0]}.{digits[1]}"))
    return Number(digits, "digits")


def _pair(groups: list[tuple[str, bool]]) -> Number | Trouble:
    texts = [text for text, _ in groups]
    singles = [single for _, single in groups]
    first = texts[0]
    joined = "".join(texts)
    if first[0] == "0":
        return Trouble(LEADING_ZERO, (f"0.{joined[1:]}",))
    if singles == [True, False] and len(first) == 1:  # three twenty
        if int(texts[1]) == int(first) + 1:
            return Trouble("one number, or from one to the other", (joined, first))
        return Number(joined, "pair")
    if len(groups) == 2 and groups[0] == groups[1] and singles == [False, False]:
        return Trouble("said twice, or one number?", (first, joined))  # fifty fifty
    if singles == [False, False]:  # eighteen fifty
        low, high = int(first), int(texts[1])
        if (low % 10 == 0 and high == low + 10) or high == low + 1:
            return Trouble("one number, or from one to the other", (joined, first))
        return Number(joined, "pair")
    if singles[0] is False and all(singles[1:]):
        tail = "".join(texts[1:])
        if len(tail) == 2 and tail[0] == "0":  # sixteen oh four, eighteen double oh
            return Number(joined, "pair")
        if len(tail) == 1:
            return Trouble(TWO_NUMBERS, (f"{first}.{tail}", joined, first))
    return Trouble(TWO_NUMBERS)
