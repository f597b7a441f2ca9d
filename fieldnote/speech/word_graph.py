"""The language's word patterns as a small graph with free steps, for the phoneme search.

A deterministic automaton of the whole language has hundreds of thousands of arcs, because names,
numbers and fillers may follow each other in loops. Left undetermined, with free steps into and
out of the loops, it has a few thousand, and the search doesn't mind that one sentence may have
several paths.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fieldnote.language.automaton import Alt, Opt, Pattern, Rule, Seq, Words


@dataclass(frozen=True, slots=True)
class Arc:
    """A word: entered from a group, leading to a place."""

    group: int
    word: str
    place: int


@dataclass(frozen=True)
class WordGraph:
    """Words between places; from a place one goes on with any word of the groups that it feeds.

    feeds: groups of each place, by place. begins: groups with which a sentence may begin.
    finals: places where it may end. Groups and places are numbered from 0.
    """

    arcs: tuple[Arc, ...]
    feeds: tuple[frozenset[int], ...]
    begins: frozenset[int]
    finals: frozenset[int]


def word_graph(pattern: Pattern) -> WordGraph:
    """The graph of a pattern, with places and groups that can't be told apart made one."""
    draft = Draft()
    start = draft.state()
    end = draft.add(pattern, start)
    return reduced(*draft.without_free_steps(start, end))


def sentences_graph(sentences: Iterable[tuple[str, ...]]) -> tuple[WordGraph, list[int]]:
    """The graph of a list of sentences as a tree, and the place where each of them ends."""
    arcs: list[Arc] = []
    places: dict[tuple[str, ...], int] = {}
    ends = []
    for sentence in sentences:
        for length in range(1, len(sentence) + 1):
            prefix = sentence[:length]
            if prefix not in places:
                places[prefix] = len(places)
                # Group 0 begins a sentence; the group behind a place has the next higher number.
                group = places[prefix[:-1]] + 1 if length > 1 else 0
                arcs.append(Arc(group, prefix[-1], places[prefix]))
        ends.append(places[sentence])
    feeds = tuple(frozenset({place + 1}) for place in range(len(places)))
    return WordGraph(tuple(arcs), feeds, frozenset({0}), frozenset(ends)), ends


class Draft:
    """States with steps by a word and free steps, laid pattern by pattern (Thompson's way)."""

    def __init__(self) -> None:
        self.by_word: list[list[tuple[str, int]]] = []
        self.free: list[list[int]] = []

    def state(self) -> int:
        self.by_word.append([])
        self.free.append([])
        return len(self.free) - 1

    def add(self, pattern: Pattern, start: int) -> int:
        """Lays the pattern from a state and gives the state where it ends."""
        if isinstance(pattern, Rule):
            return self.add(pattern.part, start)
        if isinstance(pattern, Words):
            return self.forms(pattern.forms, start)
        if isinstance(pattern, Seq):
            for part in pattern.parts:
                start = self.add(part, start)
            return start
        end = self.state()
        if isinstance(pattern, Alt):
            for part in pattern.parts:
                self.free[self.add(part, start)].append(end)
        elif isinstance(pattern, Opt):
            self.free[start].append(end)
            self.free[self.add(pattern.part, start)].append(end)
        else:  # any number of times: from the hub round to the hub
            self.free[start].append(end)
            begin = self.state()
            self.free[end].append(begin)
            self.free[self.add(pattern.part, begin)].append(end)
        return end

    def forms(self, forms: Iterable[tuple[str, ...]], start: int) -> int:
        """Word sequences as a tree with a common end."""
        end = self.state()
        tree: dict[tuple[str, ...], int] = {(): start}
        for form in forms:
            for length in range(1, len(form)):
                if form[:length] not in tree:
                    tree[form[:length]] = self.state()
                    self.by_word[tree[form[: length - 1]]].append(
                        (form[length - 1], tree[form[:length]])
                    )
            self.by_word[tree[form[:-1]]].append((form[-1], end))
        return end

    def without_free_steps(
        self, start: int, end: int
    ) -> tuple[list[Arc], dict[int, frozenset[int]], frozenset[int], frozenset[int]]:
        """Arcs, feeds, begins and finals; a group is a state that words go out of."""
        arcs = [
            Arc(state, word, target)
            for state, steps in enumerate(self.by_word)
            for word, target in steps
        ]
        reach = {state: self.closure(state) for state in {arc.place for arc in arcs} | {start}}
        leaving = {arc.group for arc in arcs}
        feeds = {state: reach[state] & leaving for state in {arc.place for arc in arcs}}
        finals = frozenset(state for state in feeds if end in reach[state])
        return arcs, feeds, reach[start] & leaving, finals

    def closure(self, state: int) -> frozenset[int]:
        seen = {state}
        stack = [state]
        while stack:
            for following in self.free[stack.pop()]:
                if following not in seen:
                    seen.add(following)
                    stack.append(following)
        return frozenset(seen)


def reduced(
    arcs: list[Arc],
    feeds: Mapping[int, frozenset[int]],
    begins: frozenset[int],
    finals: frozenset[int],
) -> WordGraph:
    """Places with the same future made one, then groups with the same past."""
    place_class, group_class = same_future(arcs, feeds, finals)
    fed = {
        place_class[place]: frozenset(group_class[group] for group in groups)
        for place, groups in feeds.items()
    }
    began = frozenset(group_class[group] for group in begins)
    merged = {Arc(group_class[arc.group], arc.word, place_class[arc.place]) for arc in arcs}
    past: dict[int, set[int]] = defaultdict(set)
    for place, groups in fed.items():
        for group in groups:
            past[group].add(place)
    for group in began:
        past[group].add(-1)
    names: dict[frozenset[int], int] = {}
    renamed = {
        group: names.setdefault(frozenset(places), len(names)) for group, places in past.items()
    }
    known = [arc for arc in merged if arc.group in renamed]
    return WordGraph(
        tuple(
            sorted(
                {Arc(renamed[arc.group], arc.word, arc.place) for arc in known},
                key=lambda arc: (arc.group, arc.word, arc.place),
            )
        ),
        tuple(frozenset(renamed[group] for group in fed[place]) for place in range(len(fed))),
        frozenset(renamed[group] for group in began),
        frozenset(place_class[place] for place in finals),
    )


def same_future(
    arcs: list[Arc], feeds: Mapping[int, frozenset[int]], finals: frozenset[int]
) -> tuple[dict[int, int], dict[int, int]]:
    """Classes of places and of groups, refined until nothing tells two of a class apart."""
    leaving: dict[int, list[Arc]] = defaultdict(list)
    for arc in arcs:
        leaving[arc.group].append(arc)
    place_class = {place: int(place in finals) for place in feeds}
    count = 0
    while True:
        group_names: dict[frozenset[tuple[str, int]], int] = {}
        group_class = {
            group: group_names.setdefault(
                frozenset((arc.word, place_class[arc.place]) for arc in going), len(group_names)
            )
            for group, going in leaving.items()
        }
        place_names: dict[tuple[bool, frozenset[int]], int] = {}
        place_class = {
            place: place_names.setdefault(
                (place in finals, frozenset(group_class[group] for group in groups)),
                len(place_names),
            )
            for place, groups in feeds.items()
        }
        if len(place_names) == count:
            return place_class, group_class
        count = len(place_names)
