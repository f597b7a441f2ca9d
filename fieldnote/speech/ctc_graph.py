"""A word automaton spelled out in phonemes: the search space of the phoneme engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.intp]
Pronunciation = tuple[int, ...]
"""Acoustic classes (columns of the emission matrix), one a phoneme."""


@dataclass(frozen=True, slots=True)
class Arc:
    """One word between two nodes of the automaton."""

    source: int
    word: str
    target: int


@dataclass(frozen=True)
class Graph:
    """Every arc has one chain of states a pronunciation and one gap state behind them.

    A chain of n phonemes has 2n − 1 states: phoneme, blank, phoneme, …, phoneme. All chains lie
    one behind the other, so that a step along a chain is a shift of the score vector by one.

    emission: class of each state, shape (S,). head: states that begin a chain, shape (C,).
    head_node: node each chain is entered from, shape (C,). tail: last state of each chain, (C,).
    may_skip: states that may be reached over a blank left out, shape (S,), bool.
    first_chain: first chain of each arc, shape (A,); chains of an arc lie together.
    arc_order: arcs sorted by target, (A,); first_arc: where each reached node's arcs begin in
    that order, (M,); reached: those nodes, (M,). incoming: arcs by target node.
    """

    arcs: tuple[Arc, ...]
    start: int
    finals: frozenset[int]
    nodes: int
    emission: Ints
    head: Ints
    head_node: Ints
    tail: Ints
    may_skip: NDArray[np.bool_]
    first_chain: Ints
    arc_order: Ints
    first_arc: Ints
    reached: Ints
    incoming: Mapping[int, tuple[int, ...]]


def build(
    arcs: Iterable[Arc],
    start: int,
    finals: Iterable[int],
    pronunciations: Mapping[str, Sequence[Pronunciation]],
    blank: int,
) -> Graph:
    """The graph of an automaton. Raises KeyError for a word without a pronunciation."""
    arcs = tuple(arcs)
    emission: list[int] = []
    skip: list[bool] = []
    head: list[int] = []
    head_node: list[int] = []
    tail: list[int] = []
    first_chain: list[int] = []
    for arc in arcs:
        first_chain.append(len(head))
        for phonemes in pronunciations[arc.word]:
            head.append(len(emission))
            head_node.append(arc.source)
            for place, phoneme in enumerate(phonemes):
                if place:
                    emission.append(blank)
                    skip.append(False)
                emission.append(phoneme)
                skip.append(place > 0 and phonemes[place - 1] != phoneme)
            tail.append(len(emission) - 1)
    targets = np.array([arc.target for arc in arcs], np.intp)
    order = np.argsort(targets, kind="stable")
    reached, first_arc = np.unique(targets[order], return_index=True)
    incoming: dict[int, list[int]] = {}
    for index, arc in enumerate(arcs):
        incoming.setdefault(arc.target, []).append(index)
    return Graph(
        arcs=arcs,
        start=start,
        finals=frozenset(finals),
        nodes=1 + max([start, *(max(arc.source, arc.target) for arc in arcs)]),
        emission=np.array(emission, np.intp),
        head=np.array(head, np.intp),
        head_node=np.array(head_node, np.intp),
        tail=np.array(tail, np.intp),
        may_skip=np.array(skip, np.bool_),
        first_chain=np.array(first_chain, np.intp),
        arc_order=order,
        first_arc=first_arc,
        reached=reached,
        incoming={node: tuple(indices) for node, indices in incoming.items()},
    )


def trie(sentences: Sequence[Sequence[str]]) -> tuple[list[Arc], int, list[int]]:
    """Arcs, start and each sentence's own final node of the automaton of these sentences."""
    arcs: list[Arc] = []
    nodes: dict[tuple[str, ...], int] = {(): 0}
    for sentence in sentences:
        for length in range(1, len(sentence) + 1):
            prefix = tuple(sentence[:length])
            if prefix not in nodes:
                nodes[prefix] = len(nodes)
                arcs.append(Arc(nodes[prefix[:-1]], prefix[-1], nodes[prefix]))
    return arcs, 0, [nodes[tuple(sentence)] for sentence in sentences]
