"""A word graph spelled out in phonemes: the search space of the phoneme engine."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldnote.speech.word_graph import WordGraph

Ints = NDArray[np.intp]
Pronunciation = tuple[int, ...]
"""Acoustic classes (columns of the emission matrix), one a phoneme."""


@dataclass(frozen=True)
class Graph:
    """Every arc has one chain of states a pronunciation and one gap state behind them.

    A chain of n phonemes has 2n − 1 states: phoneme, blank, phoneme, …, phoneme. All chains lie
    one behind the other, so that a step along a chain is a shift of the score vector by one.

    words, groups, places, costs: of each arc, in the order of places, shape (A,).
    emission: class of each state, shape (S,). head, tail: first and last state of each chain,
    (C,). head_arc: arc of each chain, (C,). may_skip: states that may be reached over a blank
    left out, (S,). first_chain: first chain of each arc, (A,); chains of an arc lie together.
    ended: the places, and first_arc: where the arcs of each begin, both (P,).
    fed: groups that follow a place, and first_feeder: where each one's places begin in feeder.
    incoming: arcs after which each group's words may come.
    """

    words: tuple[str, ...]
    groups: Ints
    places: Ints
    costs: NDArray[np.float32]
    begins: frozenset[int]
    finals: frozenset[int]
    group_count: int
    emission: Ints
    head: Ints
    tail: Ints
    head_arc: Ints
    may_skip: NDArray[np.bool_]
    first_chain: Ints
    ended: Ints
    first_arc: Ints
    fed: Ints
    feeder: Ints
    first_feeder: Ints
    incoming: Mapping[int, Ints]


def spell_out(
    graph: WordGraph,
    pronunciations: Mapping[str, Sequence[Pronunciation]],
    blank: int,
    cost: Callable[[str], float],
) -> Graph:
    """The phoneme graph of a word graph.

    cost: log-probability of saying a word here. Raises KeyError for one without pronunciation.
    """
    arcs = sorted(graph.arcs, key=lambda arc: arc.place)
    emission: list[int] = []
    skip: list[bool] = []
    head: list[int] = []
    tail: list[int] = []
    head_arc: list[int] = []
    first_chain: list[int] = []
    for index, arc in enumerate(arcs):
        first_chain.append(len(head))
        for phonemes in pronunciations[arc.word]:
            head.append(len(emission))
            head_arc.append(index)
            for position, phoneme in enumerate(phonemes):
                if position:
                    emission.append(blank)
                    skip.append(False)
                emission.append(phoneme)
                skip.append(position > 0 and phonemes[position - 1] != phoneme)
            tail.append(len(emission) - 1)
    places = indices([arc.place for arc in arcs])
    ended, first_arc = np.unique(places, return_index=True)
    feeders: dict[int, list[int]] = defaultdict(list)
    for place, groups in enumerate(graph.feeds):
        for group in groups:
            feeders[group].append(place)
    fed = sorted(feeders)
    first_feeder = np.cumsum([0, *(len(feeders[group]) for group in fed[:-1])])
    return Graph(
        words=tuple(arc.word for arc in arcs),
        groups=indices([arc.group for arc in arcs]),
        places=places,
        costs=np.array([cost(arc.word) for arc in arcs], np.float32),
        begins=graph.begins,
        finals=graph.finals,
        group_count=1 + max([*graph.begins, *fed]),
        emission=indices(emission),
        head=indices(head),
        tail=indices(tail),
        head_arc=indices(head_arc),
        may_skip=np.array(skip, np.bool_),
        first_chain=indices(first_chain),
        ended=indices(ended),
        first_arc=indices(first_arc),
        fed=indices(fed),
        feeder=indices([place for group in fed for place in feeders[group]]),
        first_feeder=indices(first_feeder),
        incoming={
            group: np.flatnonzero(np.isin(places, behind)) for group, behind in feeders.items()
        },
    )


def indices(numbers: Sequence[int] | Ints) -> Ints:
    return np.asarray(numbers, np.intp)
