"""Sentences that sound nearly alike and mean different things.

An engine that hears one of them may well have been told the other: "port twenty seven" and
"four twenty seven", "fifteen" and "fifty", "correct" and "cracked".
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import count

from fieldnote.language import Context, Entry, Grammar, parse
from fieldnote.language.entry import NO_CONTEXT
from fieldnote.language.grammar import spoken_words
from fieldnote.speech.pronunciations import pronunciation

AT_MOST = 1.0
"""Distance up to which two sentences count as nearly alike: one phoneme wholly another, or two or
three that differ in voicing or place only."""

_PLACE = {
    "P": 0, "B": 0, "M": 0, "F": 0, "V": 0, "W": 0, "TH": 1, "DH": 1, "T": 2, "D": 2, "N": 2,
    "S": 2, "Z": 2, "L": 2, "R": 3, "SH": 3, "ZH": 3, "CH": 3, "JH": 3, "Y": 4, "K": 5, "G": 5,
    "NG": 5, "HH": 6,
}  # fmt: skip
_MANNER = {
    **dict.fromkeys(("P", "B", "T", "D", "K", "G"), "stop"),
    **dict.fromkeys(("F", "V", "TH", "DH", "S", "Z", "SH", "ZH", "HH"), "fricative"),
    **dict.fromkeys(("CH", "JH"), "affricate"),
    **dict.fromkeys(("M", "N", "NG"), "nasal"),
    **dict.fromkeys(("L", "R", "W", "Y"), "approximant"),
}
_VOICED = frozenset(["B", "D", "G", "V", "DH", "Z", "ZH", "JH", "M", "N", "NG", "L", "R", "W", "Y"])
_HEIGHT_AND_BACK = {
    "IY": (0, 0), "IH": (1, 0), "EY": (1.5, 0), "EH": (2, 0), "AE": (3, 0), "ER": (1.5, 1),
    "AH": (2, 1), "AA": (3, 2), "AO": (2.5, 2), "OW": (1.5, 2), "UH": (1, 2), "UW": (0, 2),
    "AY": (2.5, 0.5), "AW": (3, 1.5), "OY": (2, 1.5),
}  # fmt: skip
"""Where a vowel lies in the mouth, in steps: the vowel chart of the IPA (from memory); a
diphthong between its ends."""
_WEAK = {
    "HH": 0.4,
    "AH": 0.4,
    "T": 0.5,
    "D": 0.5,
    "R": 0.5,
    "IH": 0.5,
    "Y": 0.5,
    "N": 0.6,
    "L": 0.6,
}
"""What it costs to lose or add a phoneme that is often swallowed; any other costs 1."""


@dataclass(frozen=True, slots=True)
class Rival:
    """Another sentence of the grammar and how far its sound lies from the one said.

    distance: 0 is the same sound; 1 one phoneme lost, added or wholly another.
    """

    sentence: str
    distance: float


@cache
def likeness(one: str, other: str) -> float:
    """How far two ARPAbet phonemes are apart: 0 the same, 1 nothing in common.

    By voicing, place and manner, as phonetics textbooks class them; the weights are ours.
    """
    if one == other:
        return 0.0
    if one in _HEIGHT_AND_BACK and other in _HEIGHT_AND_BACK:
        (height, back), (height_2, back_2) = _HEIGHT_AND_BACK[one], _HEIGHT_AND_BACK[other]
        return min(1.0, 0.2 + 0.2 * (abs(height - height_2) + abs(back - back_2)))
    if one not in _PLACE or other not in _PLACE:
        return 0.4 if {one, other} == {"ER", "R"} else 1.0
    cost = 0.3 * ((one in _VOICED) != (other in _VOICED))
    cost += 0.0 if _PLACE[one] == _PLACE[other] else 0.4
    cost += 0.0 if _MANNER[one] == _MANNER[other] else 0.4
    return min(1.0, cost)


def swallowed(phoneme: str) -> float:
    """What it costs to lose or add this phoneme."""
    return _WEAK.get(phoneme, 1.0)


def distance(one: tuple[str, ...], other: tuple[str, ...]) -> float:
    """Cheapest way from one pronunciation to the other, phoneme by phoneme (Levenshtein 1966)."""
    row = [0.0]
    for phoneme in other:
        row.append(row[-1] + swallowed(phoneme))
    for phoneme in one:
        following = [row[0] + swallowed(phoneme)]
        for place, against in enumerate(other):
            following.append(
                min(
                    row[place] + likeness(phoneme, against),
                    row[place + 1] + swallowed(phoneme),
                    following[-1] + swallowed(against),
                )
            )
        row = following
    return row[-1]


def rivals(
    sentence: str,
    grammar: Grammar,
    context: Context = NO_CONTEXT,
    *,
    at_most: float = AT_MOST,
    limit: int = 8,
) -> tuple[Rival, ...]:
    """The grammar's other sentences of another meaning that sound nearly like ``sentence``.

    Args:
        sentence: words of the grammar, as they would usually be pronounced.
        context: what the parser needs to tell meanings apart.
        at_most: the distance up to which a sentence counts.
        limit: how many at the most.

    Returns:
        The nearest first, each meaning once; only what would be taken for an entry, so no talk and
        nothing that would be asked about anyway.
    """
    said = tuple(spoken_words(sentence))
    ways = [pronunciation(word) for word in said]
    if not all(ways):
        return ()
    sound = tuple(phoneme for way in ways for phoneme in way[0])
    seen = {_meaning(parse(" ".join(said), context))}
    found: list[Rival] = []
    for words, cost in nearest(sound, grammar, at_most):
        other = " ".join(words)
        entry = parse(other, context)
        meaning = _meaning(entry)
        if entry.kind not in ("none", "unclear") and meaning not in seen:
            seen.add(meaning)
            found.append(Rival(other, round(cost, 2)))
            if len(found) == limit:
                break
    return tuple(found)


def _meaning(entry: Entry) -> Hashable:
    text = entry.text if entry.kind == "remark" else ""
    return replace(entry, text=text, hedge=None, reason=None, alternatives=(), corrected=None)


@dataclass(slots=True)
class _Branch:
    """Words that share the phonemes so far."""

    after: dict[str, _Branch]
    words: set[str]


@lru_cache(maxsize=16)
def _tree(words: frozenset[str]) -> _Branch:
    root = _Branch({}, set())
    for word in sorted(words):
        for way in pronunciation(word):
            branch = root
            for phoneme in way:
                branch = branch.after.setdefault(phoneme, _Branch({}, set()))
            branch.words.add(word)
    return root


_PATIENCE = 20_000
"""Partial sentences looked at before the search gives up: a bound on its time (0.1 s or so)."""


def nearest(
    sound: tuple[str, ...], grammar: Grammar, at_most: float
) -> Iterator[tuple[tuple[str, ...], float]]:
    """Sentences of the grammar by their distance from ``sound``, the nearest first (best-first
    search over what has been said so far)."""
    tree = _tree(grammar.words)
    spelled: dict[int, dict[str, list[tuple[int, float]]]] = {}
    order = count()
    heap: list[tuple[float, int, int, int, tuple[str, ...]]] = [
        (0.0, next(order), 0, grammar.start, ())
    ]
    given: set[tuple[str, ...]] = set()
    tried: set[tuple[int, tuple[str, ...]]] = set()
    for _ in range(_PATIENCE):
        if not heap:
            return
        cost, _number, place, state, words = heapq.heappop(heap)
        if (place, words) in tried:
            continue
        tried.add((place, words))
        if place == len(sound) and state in grammar.finals and words and words not in given:
            given.add(words)
            yield words, cost
        if place not in spelled:
            spelled[place] = _words_at(place, sound, tree, at_most)
        near = spelled[place]
        here = grammar.moves.get(state, {})
        for word in near if len(near) < len(here) else here:
            if word in near and word in here:
                for end, more in near[word]:
                    if cost + more <= at_most:
                        heapq.heappush(
                            heap, (cost + more, next(order), end, here[word], (*words, word))
                        )


def _words_at(
    place: int, sound: tuple[str, ...], tree: _Branch, at_most: float
) -> dict[str, list[tuple[int, float]]]:
    """Words that may be said from ``place`` on: where each may end, and at what cost."""
    found: dict[str, dict[int, float]] = defaultdict(dict)
    first: dict[int, float] = {}
    cost = 0.0
    for end in range(place, len(sound) + 1):
        if cost > at_most:
            break
        first[end] = cost
        if end < len(sound):
            cost += swallowed(sound[end])
    stack = [(tree, first)]
    while stack:
        branch, row = stack.pop()
        for word in branch.words:
            ends = found[word]
            for end, cost in row.items():
                ends[end] = min(cost, ends.get(end, cost))
        for phoneme, after in branch.after.items():
            lost = swallowed(phoneme)
            longer: dict[int, float] = {}
            for end in sorted({*row, *(end + 1 for end in row)}):
                if end > len(sound):
                    break
                best = row[end] + lost if end in row else at_most + 1
                if end - 1 in row:
                    best = min(best, row[end - 1] + likeness(phoneme, sound[end - 1]))
                if end - 1 in longer:
                    best = min(best, longer[end - 1] + swallowed(sound[end - 1]))
                if best <= at_most:
                    longer[end] = best
            while longer and (last := max(longer)) < len(sound):
                more = longer[last] + swallowed(sound[last])
                if more > at_most:
                    break
                longer[last + 1] = more
            if longer:
                stack.append((after, longer))
    return {word: sorted(ends.items()) for word, ends in found.items()}
