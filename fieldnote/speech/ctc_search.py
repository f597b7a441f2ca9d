"""Viterbi search of a phoneme graph and the likeliest word sequences in it."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldnote.speech.ctc_graph import Graph, Ints

Scores = NDArray[np.float32]
Frames = NDArray[np.int32]

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
    """A sentence of the graph. score: log-probability of the sound along it, and of its words."""

    words: tuple[Spoken, ...]
    score: float

    @property
    def text(self) -> str:
        return " ".join(spoken.word for spoken in self.words)


@dataclass(frozen=True)
class Lattice:
    """What a search leaves behind, from which `paths` takes the sentences.

    out: score of each arc's end at each frame, shape (T, A). entry: frame in which it was
    entered, (T, A). left: frame in which its last phoneme ended, (T, A). group: best score with
    which a group's words can be entered after each frame, (T, G). place: best score of each of
    graph.ended, (P,), after the last frame. lead: score of silence up to each frame, (T,).
    """

    graph: Graph
    out: Scores
    entry: Frames
    left: Frames
    group: Scores
    place: Scores
    lead: Scores


def search(graph: Graph, emissions: Scores, gap: Scores, beam: float = np.inf) -> Lattice:
    """Frame-synchronous Viterbi over all states at once.

    emissions: log-probabilities by class, shape (T, K). gap: of silence between words, (T,).
    beam: chains that lie further below the best are left out until they are entered anew.
    """
    frames, arcs = len(emissions), len(graph.words)
    last_ends = np.full(arcs, NEVER, np.float32)
    last_entered = np.zeros(arcs, np.int32)
    gap_score = np.full(arcs, NEVER, np.float32)
    gap_entered = np.zeros(arcs, np.int32)
    gap_left = np.zeros(arcs, np.int32)
    out = np.empty((frames, arcs), np.float32)
    entry = np.empty((frames, arcs), np.int32)
    left = np.empty((frames, arcs), np.int32)
    group = np.full((frames, graph.group_count), NEVER, np.float32)
    lead = np.cumsum(gap, dtype=np.float32)
    begins = np.array(sorted(graph.begins), np.intp)
    before = np.full(graph.group_count, NEVER, np.float32)
    before[begins] = 0.0
    head_group, head_cost = graph.groups[graph.head_arc], graph.costs[graph.head_arc]
    chains_of_arc = np.diff(np.append(graph.first_chain, len(graph.tail)))
    feeder = np.searchsorted(graph.ended, graph.feeder)
    place = np.full(len(graph.ended), NEVER, np.float32)
    active = Active(graph)
    for frame in range(frames):
        heads = before[head_group] + head_cost
        active.choose(heads, frame, float(before.max()), beam)
        tails, tails_entered = active.step(heads, frame, emissions[frame])
        ends = np.maximum.reduceat(tails, graph.first_chain)
        ends_entered = tails_entered[winners(tails, ends, chains_of_arc, graph.first_chain)]
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

        place = np.maximum.reduceat(out[frame], graph.first_arc)
        if len(graph.fed):
            group[frame, graph.fed] = np.maximum.reduceat(place[feeder], graph.first_feeder)
        group[frame, begins] = np.maximum(group[frame, begins], lead[frame])
        before = group[frame]
    return Lattice(graph, out, entry, left, group, place, lead)


class Active:
    """The chains that are worth following, their states side by side in one vector.

    A few thousand of the states matter at a time; choosing them anew at every frame would cost
    what it saves, so that chains are added when they are entered and dropped now and then.
    """

    EVERY = 4
    """Frames between two looks for chains to drop."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._lengths = graph.tail - graph.head + 1
        self._whole = np.full(len(graph.emission), NEVER, np.float32)
        self._whole_entered = np.zeros(len(graph.emission), np.int32)
        self._on = np.zeros(len(graph.head), np.bool_)
        self._tails = np.full(len(graph.head), NEVER, np.float32)
        self._tails_entered = np.zeros(len(graph.head), np.int32)
        self._chains = self._states = np.zeros(0, np.intp)
        self._score, self._entered = np.zeros(0, np.float32), np.zeros(0, np.int32)

    def choose(self, heads: Scores, frame: int, best: float, beam: float) -> None:
        """heads: score with which each chain can be entered. best: of what is between words."""
        if beam == np.inf:
            if not len(self._chains):
                self._follow(np.arange(len(self._graph.head)))
            return
        best = max(best, float(self._score.max(initial=NEVER)))
        worth = heads > best - beam
        if frame % self.EVERY == 0 and len(self._chains):
            alive = np.maximum.reduceat(self._score, self._first) > best - beam
            keep = np.zeros_like(self._on)
            keep[self._chains[alive]] = True
            self._follow(np.flatnonzero(keep | worth))
        elif (worth & ~self._on).any():
            self._follow(np.flatnonzero(self._on | worth))

    def _follow(self, chains: Ints) -> None:
        """Go on with these chains; the scores of those followed so far are kept."""
        old_chains, old_states = self._chains, self._states
        self._whole[old_states] = self._score
        self._whole_entered[old_states] = self._entered
        lengths = self._lengths[chains]
        self._first = np.cumsum(lengths) - lengths
        self._last = self._first + lengths - 1
        self._chains = chains
        self._states = np.arange(lengths.sum()) + np.repeat(
            self._graph.head[chains] - self._first, lengths
        )
        self._score = self._whole[self._states]
        self._entered = self._whole_entered[self._states]
        self._emission = self._graph.emission[self._states]
        self._no_skip = ~self._graph.may_skip[self._states][2:]
        self._whole[old_states] = NEVER
        self._tails[old_chains] = NEVER
        self._on[old_chains] = False
        self._on[chains] = True

    def step(self, heads: Scores, frame: int, emitted: Scores) -> tuple[Scores, Frames]:
        """One frame on. Gives score and frame of entry at the end of every chain, (C,)."""
        score, entered = self._score, self._entered
        # Along the chains: from the state before (into a head: from the group), or stay, …
        shifted, shifted_entered = np.empty_like(score), np.empty_like(entered)
        shifted[1:], shifted_entered[1:] = score[:-1], entered[:-1]
        shifted[self._first] = heads[self._chains]
        shifted_entered[self._first] = frame
        # … or from two before, over a blank left out.
        skipped = score[:-2].copy()
        skipped[self._no_skip] = NEVER
        skipped_entered = entered[:-2].copy()
        better = shifted > score
        np.copyto(score, shifted, where=better)
        np.copyto(entered, shifted_entered, where=better)
        better = skipped > score[2:]
        np.copyto(score[2:], skipped, where=better)
        np.copyto(entered[2:], skipped_entered, where=better)
        score += emitted[self._emission]
        self._tails[self._chains] = score[self._last]
        self._tails_entered[self._chains] = entered[self._last]
        return self._tails, self._tails_entered


def winners(tails: Scores, ends: Scores, chains_of_arc: Ints, first_chain: Ints) -> Ints:
    """For each arc the chain that gave its best end."""
    is_best = tails == np.repeat(ends, chains_of_arc)
    chains = np.where(is_best, np.arange(len(tails)), len(tails))
    first: Ints = np.minimum.reduceat(chains, first_chain)
    return first


Partial = tuple[float, int, int | None, int, float, tuple[Spoken, ...]]
"""The end of a sentence, waiting for what came before it; sorted likeliest first.

Minus the score of the best whole sentence that ends so; a running number; the group that its first
word was entered from, after which frame (none for a whole sentence); the score of these words; and
the words.
"""

ALIGNMENTS = 2
"""Ways in time that one ending of a sentence is followed further back: more of them are the same
sentences again, shifted by a frame."""

WIDEST = 40
"""Words tried before one ending of a sentence."""


def paths(lattice: Lattice, beam: float) -> Iterator[Path]:
    """Different word sequences, likeliest first, down to ``beam`` below the likeliest.

    A search backwards from the end, with the forward scores as the exact rest estimate: the
    queue gives whole sentences in order. Exact where a word's beginning doesn't depend on the
    words before the last (the usual word-pair assumption).
    """
    graph, frames = lattice.graph, len(lattice.out)
    if not frames:
        return
    queue: list[Partial] = []
    seen: set[tuple[str, ...]] = set()
    followed: Counter[tuple[int, tuple[str, ...]]] = Counter()
    best = -np.inf
    number = 0

    def go_back(arcs: Ints, frame: int, behind: float, words: tuple[Spoken, ...]) -> None:
        nonlocal number
        totals = lattice.out[frame, arcs] + np.float32(behind)
        worth = np.flatnonzero(totals > max(float(totals.max(initial=NEVER)), best) - beam)
        worth = worth[np.argsort(-totals[worth], kind="stable")[:WIDEST]]
        arcs = arcs[worth]
        starts, groups = lattice.entry[frame, arcs], graph.groups[arcs]
        came = np.where(starts > 0, lattice.group[starts - 1, groups], np.float32(0))
        scores, ends = lattice.out[frame, arcs], lattice.left[frame, arcs]
        columns: list[NDArray[Any]] = [arcs, totals[worth], starts, groups, came, scores, ends]
        rows = zip(*(column.tolist() for column in columns), strict=True)
        for arc, total, start, group, entered, score, ended in rows:
            spent = score - entered
            so_far = behind + spent
            sentence = (Spoken(graph.words[arc], start, ended, spent), *words)
            if start and group in graph.incoming:
                number += 1
                heapq.heappush(queue, (-total, number, group, start - 1, so_far, sentence))
            if group in graph.begins:
                number += 1
                leading = float(lattice.lead[start - 1]) if start else 0.0
                heapq.heappush(queue, (-leading - so_far, number, None, -1, so_far, sentence))

    finals = np.flatnonzero(np.isin(graph.places, list(graph.finals)))
    go_back(finals, frames - 1, 0.0, ())
    while queue:
        rank, _, entered, frame, behind, words = heapq.heappop(queue)
        if -rank <= NEVER / 2 or -rank < best - beam:
            return
        text = tuple(spoken.word for spoken in words)
        if entered is not None:
            followed[entered, text] += 1
            if followed[entered, text] <= ALIGNMENTS:
                go_back(graph.incoming[entered], frame, behind, words)
            continue
        best = max(best, -rank)
        if text not in seen:
            seen.add(text)
            yield Path(words, -rank)
