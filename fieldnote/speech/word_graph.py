"""The language's net of words as a small graph with free steps, for the phoneme search.

A deterministic automaton of the whole language has hundreds of thousands of arcs, because names,
numbers and fillers may follow each other in loops. Left undetermined, with free steps into and
out of the loops, it has a few thousand, and the search doesn't mind that one sentence may have
several paths.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fieldnote.language.automaton import Net


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


def word_graph(net: Net, start: int, ends: Iterable[int]) -> WordGraph:
    """The graph of a net, with places and groups that can't be told apart made one.

    A group is a state of the net that words go out of, a place one that a word leads to.
    """
    arcs = [
        Arc(state, word, target)
        for state, steps in enumerate(net.by_word)
        for word, targets in steps.items()
        for target in targets
    ]
    leaving = {arc.group for arc in arcs}
    reach = {place: reachable(net, place) for place in {arc.place for arc in arcs}}
    feeds = {place: states & leaving for place, states in reach.items()}
    finals = frozenset(place for place, states in reach.items() if not states.isdisjoint(ends))
    return reduced(arcs, feeds, reachable(net, start) & leaving, finals)


def reachable(net: Net, state: int) -> frozenset[int]:
    """The states that free steps lead to, with the state itself."""
    seen = {state}
    stack = [state]
    while stack:
        for following in net.free[stack.pop()]:
            if following not in seen:
                seen.add(following)
                stack.append(following)
    return frozenset(seen)


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
