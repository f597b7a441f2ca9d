"""The language's word automaton in the form that the phoneme search runs on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldnote.language import Grammar


@dataclass(frozen=True, slots=True)
class Arc:
    """A word: entered from a group, leading to a place."""

    group: int
    word: str
    place: int


@dataclass(frozen=True)
class WordGraph:
    """Words between places; from a place one goes on with any word of the groups that it feeds.

    A place is a state of the automaton; a group stands for all states from which a word leads to
    the same place, so that the word is searched once and not from each of them.

    feeds: groups of each place, by place. begins: groups with which a sentence may begin.
    finals: places where it may end. Groups and places are numbered from 0.
    """

    arcs: tuple[Arc, ...]
    feeds: tuple[frozenset[int], ...]
    begins: frozenset[int]
    finals: frozenset[int]


def word_graph(grammar: Grammar) -> WordGraph:
    """The graph of a grammar: the same sentences, a tenth of the arcs."""
    groups: dict[tuple[int, ...], int] = {}
    arcs = tuple(
        Arc(groups.setdefault(sources, len(groups)), word, target)
        for word, target, sources in grammar.chains
    )
    feeds: dict[int, set[int]] = defaultdict(set)
    for sources, group in groups.items():
        for source in sources:
            feeds[source].add(group)
    count = 1 + max(arc.place for arc in arcs)
    return WordGraph(
        arcs,
        tuple(frozenset(feeds[place]) for place in range(count)),
        frozenset(feeds[grammar.start]),
        grammar.finals,
    )


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
