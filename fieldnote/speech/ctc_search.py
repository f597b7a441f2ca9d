"""Viterbi search of a phoneme graph and the likeliest word sequences in it."""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldnote.speech.ctc_graph import Graph, Ints

Scores = NDArray[np.float32]

NEVER = np.float32(-1e9)


@dataclass(frozen=True, slots=True)
class Spoken:
    """A word as found: frames [start, end) and the log-probability along it (gap after it too)."""

    word: str
    start: int
    end: int
    score: float


@dataclass(frozen=True, slots=True)
class Path:
    """A sentence of the automaton with its log-probability over all frames."""

    words: tuple[Spoken, ...]
    score: float


@dataclass(frozen=True)
class Lattice:
    """What a search leaves behind, from which `paths` takes the sentences.

    out: score of each arc's end at each frame, shape (T, A). entry: frame in which it was
    entered, shape (T, A). left: frame in which its last phoneme ended, shape (T, A).
    node: best score of each node at each frame, shape (T, N); row t is after frame t.
    lead: score of silence up to and with each frame, shape (T,).
    """

    graph: Graph
    out: Scores
    entry: NDArray[np.int32]
    left: NDArray[np.int32]
    node: Scores
    lead: Scores
    word_cost: float


def search(graph: Graph, emissions: Scores, gap: Scores, word_cost: float) -> Lattice:
    """Frame-synchronous Viterbi over all states at once.

    emissions: log-probabilities by class, shape (T, K). gap: of silence between words, (T,).
    word_cost: added a word (negative: fewer, longer words).
    """
    frames, states = len(emissions), len(graph.emission)
    arcs = len(graph.arcs)
    score = np.full(states, NEVER, np.float32)
    entered = np.zeros(states, np.int32)
    gap_score = np.full(arcs, NEVER, np.float32)
    gap_entered = np.zeros(arcs, np.int32)
    gap_left = np.zeros(arcs, np.int32)
    last_ends = np.full(arcs, NEVER, np.float32)
    last_entered = np.zeros(arcs, np.int32)
    chains_of_arc = np.diff(np.append(graph.first_chain, len(graph.tail)))
    chain_index = np.arange(len(graph.tail), dtype=np.intp)
    shifted = np.empty_like(score)
    shifted_entered = np.empty_like(entered)
    out = np.empty((frames, arcs), np.float32)
    entry = np.empty((frames, arcs), np.int32)
    left = np.empty((frames, arcs), np.int32)
    node = np.full((frames, graph.nodes), NEVER, np.float32)
    lead = np.cumsum(gap, dtype=np.float32)
    before = np.full(graph.nodes, NEVER, np.float32)
    before[graph.start] = 0.0
    for frame in range(frames):
        shifted[1:], shifted_entered[1:] = score[:-1], entered[:-1]
        shifted[graph.head] = before[graph.head_node] + word_cost
        shifted_entered[graph.head] = frame
        better = shifted > score
        best = np.where(better, shifted, score)
        best_entered = np.where(better, shifted_entered, entered)
        skipped = np.where(graph.may_skip[2:], score[:-2], NEVER)
        better = skipped > best[2:]
        np.copyto(best[2:], skipped, where=better)
        np.copyto(best_entered[2:], entered[:-2], where=better)
        score = best + emissions[frame][graph.emission]
        entered = best_entered

        tails = score[graph.tail]
        ends = np.maximum.reduceat(tails, graph.first_chain)
        winners = winning(tails, ends, chains_of_arc, chain_index, graph.first_chain)
        ends_entered = entered[graph.tail][winners]
        # Silence after the word: stay in it, or come from the word's end one frame before.
        better = last_ends > gap_score
        gap_score = np.where(better, last_ends, gap_score) + gap[frame]
        gap_entered = np.where(better, last_entered, gap_entered)
        gap_left = np.where(better, frame, gap_left)
        better = ends >= gap_score
        out[frame] = np.where(better, ends, gap_score)
        entry[frame] = np.where(better, ends_entered, gap_entered)
        left[frame] = np.where(better, frame + 1, gap_left)
        last_ends, last_entered = ends, ends_entered

        node[frame, graph.reached] = np.maximum.reduceat(
            out[frame][graph.arc_order], graph.first_arc
        )
        node[frame, graph.start] = max(node[frame, graph.start], lead[frame])
        before = node[frame]
    return Lattice(graph, out, entry, left, node, lead, word_cost)


def winning(
    tails: Scores, ends: Scores, chains_of_arc: Ints, chain_index: Ints, first_chain: Ints
) -> Ints:
    """For each arc the chain that gave its best end."""
    is_best = tails == np.repeat(ends, chains_of_arc)
    candidates = np.where(is_best, chain_index, len(tails))
    winners: Ints = np.minimum.reduceat(candidates, first_chain)
    return winners


def paths(lattice: Lattice, beam: float) -> Iterator[Path]:
    """Different word sequences, likeliest first, down to ``beam`` below the likeliest.

    A search backwards from the end, with the forward scores as the exact rest estimate: the
    queue gives complete sentences in order. Exact where a word's beginning doesn't depend on
    the words before the last (the usual word-pair assumption).
    """
    graph = lattice.graph
    last = len(lattice.out) - 1
    if last < 0:
        return
    # (−score of the best whole sentence through here, tie breaker, node, frame, behind, words)
    queue: list[tuple[float, int, int, int, float, tuple[Spoken, ...]]] = []
    count = 0
    for final in graph.finals:
        heapq.heappush(queue, (-float(lattice.node[last, final]), count, final, last, 0.0, ()))
        count += 1
    best: float | None = None
    while queue:
        negative, _, node, frame, behind, words = heapq.heappop(queue)
        if -negative <= NEVER / 2 or (best is not None and -negative < best - beam):
            return
        if node == NOWHERE:
            best = -negative if best is None else best
            yield Path(words, -negative)
            continue
        for arc_index in graph.incoming.get(node, ()):
            total = float(lattice.out[frame, arc_index]) + behind
            if total <= NEVER / 2 or (best is not None and total < best - beam):
                continue
            arc = graph.arcs[arc_index]
            start = int(lattice.entry[frame, arc_index])
            came = float(lattice.node[start - 1, arc.source]) if start else 0.0
            spent = float(lattice.out[frame, arc_index]) - came
            word = Spoken(arc.word, start, int(lattice.left[frame, arc_index]), spent)
            said = (word, *words)
            if start and arc.source in graph.incoming:
                count += 1
                heapq.heappush(queue, (-total, count, arc.source, start - 1, behind + spent, said))
            if arc.source == graph.start:
                leading = float(lattice.lead[start - 1]) if start else 0.0
                count += 1
                whole = leading + behind + spent
                heapq.heappush(queue, (-whole, count, NOWHERE, -1, 0.0, said))


NOWHERE = -1
"""Stands for the silence before the first word."""
