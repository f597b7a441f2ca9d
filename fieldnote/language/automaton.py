"""Word patterns → the smallest deterministic automaton that accepts the same sentences.

Patterns are built from words with `seq`, `alt` and `opt`, and laid into a `Net`; `minimal` does
the textbook subset construction and partition refinement (Hopcroft, Motwani and Ullman,
*Introduction to Automata Theory*, ch. 2 and 4).
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Collection, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Words:
    """One of several word sequences."""

    forms: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Seq:
    parts: tuple[Pattern, ...]


@dataclass(frozen=True)
class Alt:
    parts: tuple[Pattern, ...]


@dataclass(frozen=True)
class Opt:
    part: Pattern


Pattern = Words | Seq | Alt | Opt


def words(forms: Iterable[str]) -> Words:
    return Words(tuple(dict.fromkeys(tuple(form.split()) for form in forms)))


def seq(*parts: Pattern | str) -> Pattern:
    return Seq(tuple(_pattern(part) for part in parts))


def alt(*parts: Pattern | str) -> Pattern:
    return Alt(tuple(_pattern(part) for part in parts))


def opt(*parts: Pattern | str) -> Pattern:
    return Opt(seq(*parts) if len(parts) > 1 else _pattern(parts[0]))


def _pattern(part: Pattern | str) -> Pattern:
    return words([part]) if isinstance(part, str) else part


@dataclass(frozen=True)
class Automaton:
    """Deterministic and minimal. State 0 is the start.

    arcs: (state, word, state), in order of state and word. finals: states where a sentence may end.
    """

    arcs: tuple[tuple[int, str, int], ...]
    finals: frozenset[int]


class Net:
    """States with arcs by word and by nothing, to be made deterministic by `minimal`."""

    def __init__(self) -> None:
        self._laid: dict[tuple[tuple[str, ...], int], int] = {}
        self.by_word: list[dict[str, list[int]]] = []
        self.free: list[list[int]] = []

    def state(self) -> int:
        self.by_word.append({})
        self.free.append([])
        return len(self.by_word) - 1

    def arcs(self, source: int, forms: Iterable[str], target: int) -> None:
        """Each of ``forms``, word by word, from ``source`` to ``target``.

        What was laid before to the same target is shared.
        """
        key = (tuple(forms), target)
        if key not in self._laid:
            self._laid[key] = self._tree(key[0], target)
        self.free[source].append(self._laid[key])

    def _tree(self, forms: Iterable[str], target: int) -> int:
        root = self.state()
        inner: dict[tuple[str, ...], int] = {(): root}
        for form in forms:
            words = tuple(form.split())
            for size in range(1, len(words)):
                if words[:size] not in inner:
                    inner[words[:size]] = self.state()
                    self.by_word[inner[words[: size - 1]]].setdefault(words[size - 1], []).append(
                        inner[words[:size]]
                    )
            self.by_word[inner[words[:-1]]].setdefault(words[-1], []).append(target)
        return root

    def jump(self, source: int, target: int) -> None:
        """Whatever may be said at ``target`` may be said at ``source`` too."""
        self.free[source].append(target)

    def add(self, pattern: Pattern, start: int) -> int:
        """Lay ``pattern`` from ``start``; gives the state where it ends."""
        if isinstance(pattern, Words):
            end = self.state()
            for form in pattern.forms:
                here = start
                for word in form[:-1]:
                    following = self.state()
                    self.by_word[here].setdefault(word, []).append(following)
                    here = following
                self.by_word[here].setdefault(form[-1], []).append(end)
            return end
        if isinstance(pattern, Seq):
            for part in pattern.parts:
                start = self.add(part, start)
            return start
        end = self.state()
        if isinstance(pattern, Alt):
            for part in pattern.parts:
                begin = self.state()
                self.free[start].append(begin)
                self.free[self.add(part, begin)].append(end)
            return end
        begin = self.state()
        self.free[start].append(end)
        self.free[start].append(end)
        self.free[self.add(pattern.part, start)].append(end)
        return end


def minimal(nfa: Net, start: int, ends: Collection[int]) -> Automaton:
    """The minimal deterministic automaton of the sentences from ``start`` to one of ``ends``."""
    final = frozenset(ends)
    closures: dict[int, frozenset[int]] = {}

    def closure(state: int) -> frozenset[int]:
        if state not in closures:
            seen = {state}
            stack = [state]
            while stack:
                for following in nfa.free[stack.pop()]:
                    if following not in seen:
                        seen.add(following)
                        stack.append(following)
            closures[state] = frozenset(seen)
        return closures[state]

    unions: dict[frozenset[int], frozenset[int]] = {}
    first = closure(start)
    numbers = {first: 0}
    todo = deque([first])
    moves: list[dict[str, int]] = []
    finals: list[bool] = []
    while todo:
        subset = todo.popleft()
        reached: dict[str, set[int]] = defaultdict(set)
        for state in subset:
            for word, following_states in nfa.by_word[state].items():
                reached[word].update(following_states)
        row: dict[str, int] = {}
        for word, targets in reached.items():
            key = frozenset(targets)
            if key not in unions:
                unions[key] = frozenset().union(*map(closure, key))
            following = unions[key]
            if following not in numbers:
                numbers[following] = len(numbers)
                todo.append(following)
            row[word] = numbers[following]
        moves.append(row)
        finals.append(not final.isdisjoint(subset))
    return _merged(moves, finals)


def _merged(moves: list[dict[str, int]], finals: list[bool]) -> Automaton:
    """Moore's refinement: states are one where no sentence tells them apart."""
    block = [int(final) for final in finals]
    count = 0
    while True:
        signatures: dict[object, int] = {}
        refined = []
        for state, row in enumerate(moves):
            key = (block[state], frozenset((word, block[target]) for word, target in row.items()))
            refined.append(signatures.setdefault(key, len(signatures)))
        block = refined
        if len(signatures) == count:
            break
        count = len(signatures)
    arcs: set[tuple[int, str, int]] = set()
    for state, row in enumerate(moves):
        for word, target in row.items():
            arcs.add((block[state], word, block[target]))
    ends = frozenset(block[state] for state, final in enumerate(finals) if final)
    return Automaton(tuple(sorted(arcs)), ends)
