"""Words → items: the longest phrases of the vocabulary, each with the roles it can play."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum, auto
from functools import cache

from fieldnote.language import vocabulary as v
from fieldnote.language.numbers import STARTERS, Number, is_typed, read
from fieldnote.language.text import DASH, FULL_STOP, PAUSE, UNIT_MARK
from fieldnote.language.units import PREFIXED_NUMBER, UNITS


class Role(Enum):
    """What a phrase can be. Where it can be several things, the parser takes the one that fits."""

    NUMBER = auto()
    UNIT = auto()
    FACTOR = auto()
    CURRENT = auto()
    OPEN = auto()
    SHORT = auto()
    NOTHING = auto()
    COLOUR = auto()
    UNCODED = auto()
    TRACER = auto()
    WIRE = auto()
    PIN = auto()
    PLACE = auto()
    NUMBERED = auto()
    NOUN = auto()
    POSITION = auto()
    STATE = auto()
    HEDGE = auto()
    FILLER = auto()
    LINK = auto()
    BOUND = auto()
    CORRECTION = auto()
    PAUSE = auto()
    LETTER = auto()
    TALK = auto()
    UNKNOWN = auto()


@dataclass(frozen=True, slots=True)
class Item:
    """One phrase: its words, its roles, and its payload (a UCUM code, a colour code, a letter)."""

    words: tuple[str, ...]
    roles: frozenset[Role]
    payload: str = ""

    @property
    def text(self) -> str:
        return " ".join(self.words)


Phrases = dict[str, list[tuple[tuple[str, ...], frozenset[Role], str]]]

_NUMBER = frozenset({Role.NUMBER})
_UNKNOWN = frozenset({Role.UNKNOWN})
_TALK = frozenset({Role.TALK})
_LETTER = frozenset({Role.LETTER})
_PAUSE = Item((PAUSE,), frozenset({Role.PAUSE}))
_DASH = Item((DASH,), frozenset({Role.PAUSE}), DASH)
_FULL_STOP = Item((FULL_STOP,), frozenset({Role.PAUSE}), FULL_STOP)
_UNIT_ROLE = frozenset({Role.UNIT})


@cache
def phrases(labels: tuple[str, ...] = ()) -> Phrases:
    """All phrases by their first word, longest first; ``labels`` are the procedure's own."""
    roles: dict[tuple[str, ...], set[Role]] = {}
    payloads: dict[tuple[str, ...], str] = {}

    def add(forms: Iterable[str], role: Role, payload: str = "") -> None:
        for form in forms:
            words = tuple(form.lower().split()) if role is not Role.UNIT else tuple(form.split())
            if not words:
                continue
            roles.setdefault(words, set()).add(role)
            if payload:
                payloads.setdefault(words, payload)

    for unit in UNITS.values():
        add(unit.spoken, Role.UNIT, unit.ucum)
        add((form.lower() for form in unit.written if _is_phrase(form)), Role.UNIT, unit.ucum)
    add(PREFIXED_NUMBER, Role.FACTOR)
    add(("d c", "direct current"), Role.CURRENT, "DC")
    add(("a c", "alternating current"), Role.CURRENT, "AC")
    add(v.OPEN, Role.OPEN)
    add(v.SHORT, Role.SHORT)
    add(v.NOTHING_READ, Role.NOTHING)
    for colour, code in v.COLOURS.items():
        add((colour,), Role.COLOUR, code)
    add(v.UNCODED_COLOURS, Role.UNCODED)
    add((f"{shade} {c}" for shade in v.SHADES for c in v.COLOURS), Role.UNCODED)
    add(v.TRACER_WORDS, Role.TRACER)
    add(v.WIRE_WORDS, Role.WIRE)
    add(v.PIN_WORDS, Role.PIN)
    add(v.PIN_PLACES, Role.PLACE)
    add(v.NUMBERED, Role.NUMBERED)
    add(filter(_may_be_numbered, v.NOUNS), Role.NUMBERED)
    add((f"{word}s" for word in v.NUMBERED), Role.NOUN)
    add(v.NOUNS, Role.NOUN)
    add(v.NUMBERED, Role.NOUN)
    add(v.POSITIONS, Role.POSITION)
    add((f"{place} side" for place in v.POSITIONS), Role.POSITION)
    add(v.STATES, Role.STATE)
    add(v.HEDGES, Role.HEDGE)
    add(v.FILLERS, Role.FILLER)
    add(v.ARTICLES, Role.FILLER)
    add(v.LINKS, Role.LINK)
    add(v.BOUNDS, Role.BOUND)
    add(v.CORRECTIONS, Role.CORRECTION)
    for word in v.SPELLING_ALPHABET:
        add((word,), Role.LETTER, word[0].upper())
    for label in labels:
        add((label,), Role.NOUN)
    table: Phrases = {}
    for words, kinds in roles.items():
        table.setdefault(words[0], []).append((words, frozenset(kinds), payloads.get(words, "")))
    for same_start in table.values():
        same_start.sort(key=lambda entry: -len(entry[0]))
    return table


def _may_be_numbered(noun: str) -> bool:
    """ "Glow plug two" is the second of them, as "plug two" is."""
    last = noun.split()[-1]
    return " " in noun and last in v.NUMBERED and last not in v.UNINDEXED


def _is_phrase(form: str) -> bool:
    """Written forms that survive as words: several of them, or one that is no bare symbol."""
    return form.replace(" ", "").isalpha() and (" " in form or len(form) > 2)


def items_of(words: list[str], labels: tuple[str, ...] = ()) -> list[Item]:
    """The items of an utterance, in order; every word is in exactly one of them."""
    table = phrases(labels)
    items: list[Item] = []
    place = 0
    while place < len(words):
        word = words[place]
        if word == PAUSE:
            items.append(_PAUSE)
            place += 1
            continue
        if word == FULL_STOP:
            items.append(_FULL_STOP)
            place += 1
            continue
        if word == DASH:
            items.append(_DASH)
            place += 1
            continue
        if word[0] == UNIT_MARK:
            items.append(Item((word,), _UNIT_ROLE, word[1:]))
            place += 1
            continue
        best: tuple[tuple[str, ...], frozenset[Role], str] | None = None
        for entry in table.get(word, ()):
            size = len(entry[0])
            if size == 1 or tuple(words[place : place + size]) == entry[0]:
                best = entry
                break
        if word[0].isdigit() and not is_typed(word) and not _TALK_DIGITS.fullmatch(word):
            items.append(Item((word,), _NUMBER))
            place += 1
            continue
        stop = number_end(words, place)
        if stop > place and words[stop - 1] in ("thousand", "million"):
            stop = _past_commas(words, place, stop)
        if stop > place and not (best and len(best[0]) > 1 and len(best[0]) >= stop - place):
            items.append(Item(tuple(words[place:stop]), _NUMBER))
            place = stop
        elif best:
            items.append(Item(*best))
            place += len(best[0])
        else:
            if (len(word) == 1 and word.isalpha()) or (
                len(word) < 5 and word[0].isalpha() and (word[1:].isdigit() or word[1:] == "+")
            ):
                items.append(Item((word,), _LETTER, word.upper()))
            else:
                items.append(Item((word,), _TALK if is_talk(word) else _UNKNOWN))
            place += 1
    return items


def _past_commas(words: list[str], place: int, stop: int) -> int:
    """ "one thousand, two hundred and six": the comma is written, the number is one."""
    while words[stop - 1] in ("thousand", "million") and words[stop : stop + 1] == [PAUSE]:
        if stop + 1 >= len(words):
            break
        further = number_end(words, stop + 1)
        joined = [*words[place:stop], *words[stop + 1 : further]]
        if further == stop + 1 or not isinstance(read(joined), Number):
            break
        del words[stop]
        stop = further - 1
    return stop


_TALK_DIGITS = re.compile(r"[0-9]+(?::[0-9]+|/[0-9]+/[0-9]+|st|nd|rd|th)")
"""Times of day, dates and ordinals."""


def is_talk(word: str) -> bool:
    """Everyday words, times of day, ordinals in digits: no reading contains them."""
    return word in v.TALK or word[0].isdigit()


def number_end(words: list[str], place: int) -> int:
    """Where the run of number words that begins at ``place`` ends (``place`` itself: none
    begins)."""
    start = place
    end = len(words)
    word = words[place]
    if word in ("a", "an"):
        following = words[place + 1] if place + 1 < end else ""
        if following not in v.SCALES and following not in v.DENOMINATORS:
            return start
        place += 1
    elif not (word in STARTERS or is_typed(word)):
        return start
    elif word in v.SIGNS or word in v.POINT or word in v.REPEATS:
        following = words[place + 1] if place + 1 < end else ""
        if not (following in STARTERS or is_typed(following) if following else False):
            return start
    while place < end:
        word = words[place]
        if word in STARTERS or is_typed(word):
            if word in v.SIGNS and place > start:
                break
            if word == "oh" and " ".join(words[place : place + 2]) in v.CORRECTIONS:
                break
            place += 1
            continue
        if word == "and" and _and_continues(words, start, place):
            place += 1
            if words[place] in ("a", "an"):
                place += 1
            continue
        if (
            word in ("second", "seconds")
            and words[place - 1] == "thirty"
            and place - start > 1
            and words[place + 1 : place + 2] == ["of"]
        ):
            words[place] = "thirtyseconds"
            del words[place - 1]
            end -= 1
            continue
        break
    return place


def _and_continues(words: list[str], start: int, place: int) -> bool:
    """Whether "and" at ``place`` stays inside the number: after hundred, or before a fraction."""
    rest = words[place + 1 : place + 5]
    if not rest:
        return False
    if "/" in rest[0] and is_typed(rest[0]):
        return True
    if rest[0] in ("a", "an"):
        return len(rest) > 1 and rest[1] in v.DENOMINATORS
    if rest[0] in v.DENOMINATORS:
        return True
    for word in rest[1:]:
        if word in v.DENOMINATORS or word == "thirtyseconds":
            return True
        if word not in v.DIGITS and word not in v.TEENS and word not in v.TENS:
            break
    before = words[place - 1]
    if before not in v.SCALES:
        return False
    if "point" in words[start:place]:
        return False
    return rest[0] in v.DIGITS or rest[0] in v.TEENS or rest[0] in v.TENS or rest[0].isdigit()
