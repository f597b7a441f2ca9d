"""Lattice-free maximum mutual information, from a flat start, in plain tensors.

Both sides are graphs of *positions* (one phone of one word each). A position emits its phone's
first pdf on the frame in which it is entered and its further pdf on every frame in which it is
kept, Kaldi's "chain" topology. The numerator holds the words that were said, the denominator a
free loop over the whole vocabulary, garbage word included, so the net is trained on the very
choice that the decoder faces. After Povey et al., "Purely sequence-trained neural networks for ASR
based on lattice-free MMI" (2016), and Hadian et al., "End-to-end speech recognition using
lattice-free MMI" (2018).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import torch
from torch import Tensor

TINY = 1e-30
FAINTEST = 25.0  # nats below a frame's best pdf at which the denominator stops telling pdfs apart
NEVER = -1e30  # log of no weight; finite, so that differences stay numbers


@dataclass(frozen=True)
class Loop:
    """What could have been said, over and over: a prefix tree of P positions; position 0 is the
    pause between words.

    Attributes:
        parent: (P,) int64, position before this one in its word; 0 for a word's first and for the
            pause.
        weight: (P,) weight of going there from the parent; 0 for a word's first and for the pause.
        root: (P,) weight of beginning a word here.
        ending: (P,) weight of ending a word here (0 for the pause).
        pause: weight of a pause at a word's edge.
        first, further: (P,) int64, pdf of a position's first and of its further frames.
    """

    parent: Tensor
    weight: Tensor
    root: Tensor
    ending: Tensor
    pause: Tensor
    first: Tensor
    further: Tensor

    def tensors(self) -> tuple[Tensor, ...]:
        return (
            self.parent,
            self.weight,
            self.root,
            self.ending,
            self.pause,
            self.first,
            self.further,
        )

    def enter(self, total: Tensor) -> Tensor:
        """(B, P) weight that enters each position, when `total` (B, P) is what is in them."""
        new = total[:, self.parent] * self.weight
        edge = total @ self.ending
        new += ((1 - self.pause) * edge + total[:, 0])[:, None] * self.root
        new[:, 0] = self.pause * edge
        return new

    def leave(self, future: Tensor) -> Tensor:
        """(B, P) weight of what can follow each position, when `future` (B, P) follows entering
        one."""
        begin = future @ self.root
        new = ((1 - self.pause) * begin + self.pause * future[:, 0])[:, None] * self.ending
        new.index_add_(1, self.parent, future * self.weight)
        new[:, 0] = begin
        return new

    def start(self) -> Tensor:
        """(P,) weight of starting in each position."""
        weights = (1 - self.pause) * self.root
        weights[0] = self.pause
        return weights

    def final(self) -> Tensor:
        """(P,) weight of stopping in each position."""
        weights = self.ending.clone()
        weights[0] = 1.0
        return weights


@dataclass(frozen=True)
class Said:
    """What was said: a graph over P positions for each of B samples, as lists of neighbours.

    Attributes:
        before, after: (B, P, K) int64, positions that may stand straight before and after; P means
            none.
        start, final: (B, P) log weights, NEVER for none.
        first, further: (B, P) int64 pdfs.
    """

    before: Tensor
    after: Tensor
    start: Tensor
    final: Tensor
    first: Tensor
    further: Tensor

    def tensors(self) -> tuple[Tensor, ...]:
        return self.before, self.after, self.start, self.final, self.first, self.further


def loop_likelihood(scores: Tensor, graph: Loop) -> tuple[Tensor, Tensor]:
    """Sum over everything that could have been said, by scaled forward and backward passes.

    Args:
        scores: (B, T, D) log scores of the pdfs, float32.

    Returns:
        (B,) log likelihoods and (B, T, D) pdf posteriors, which are the gradient of the former's
        sum.
    """
    batch, frames, pdfs = scores.shape
    peak = scores.amax(-1)
    likelihood = (scores - peak[..., None]).clamp_min(-FAINTEST).exp()
    shape = (frames, batch, len(graph.root))
    entered, kept, scale = (
        scores.new_empty(shape),
        scores.new_empty(shape),
        scores.new_empty(frames, batch, 1),
    )
    emit_first = [likelihood[:, t, graph.first] for t in range(frames)]
    emit_further = [likelihood[:, t, graph.further] for t in range(frames)]
    total = graph.start().expand(batch, -1)
    for t in range(frames):
        new = (graph.enter(total) if t else total) * emit_first[t]
        old = total * emit_further[t] if t else torch.zeros_like(new)
        total = new + old
        norm = total.sum(1, keepdim=True).clamp_min(TINY)
        scale[t], entered[t], kept[t], total = norm, new / norm, old / norm, total / norm
    final = graph.final()
    end = (total @ final).clamp_min(TINY)
    loglik = end.log() + scale.log().sum(0)[:, 0] + peak.sum(1)
    future = final / end[:, None]
    for t in range(frames - 1, -1, -1):
        entered[t] *= future
        kept[t] *= future
        if t:
            future = (graph.leave(future * emit_first[t]) + future * emit_further[t]) / scale[t]
    identity = torch.eye(pdfs, device=scores.device)
    posteriors = entered.nan_to_num_(0, 0, 0) @ identity[graph.first]
    posteriors += kept.nan_to_num_(0, 0, 0) @ identity[graph.further]
    return loglik, posteriors.transpose(0, 1)


def said_likelihood(scores: Tensor, graph: Said) -> tuple[Tensor, Tensor]:
    """Sum over all alignments of what was said, in the log domain: the right path may be very
    unlikely at first.

    Arguments and results are those of `loop_likelihood`.
    """
    batch, frames, pdfs = scores.shape
    positions = graph.start.shape[1]
    index = (batch, frames, positions)
    emit_first = scores.gather(2, graph.first[:, None].expand(index)).unbind(1)
    emit_further = scores.gather(2, graph.further[:, None].expand(index)).unbind(1)
    nowhere = scores.new_full((batch, 1), NEVER)

    def over(values: Tensor, neighbours: Tensor) -> Tensor:
        """(B, P): log sum of (B, P) values over each position's neighbours."""
        padded = torch.cat([values, nowhere], 1)
        return padded.gather(1, neighbours.flatten(1)).view(neighbours.shape).logsumexp(-1)

    entered, kept = [graph.start + emit_first[0]], [torch.full_like(graph.start, NEVER)]
    for t in range(1, frames):
        total = torch.logaddexp(entered[-1], kept[-1])
        entered.append(over(total, graph.before) + emit_first[t])
        kept.append(total + emit_further[t])
    loglik = (torch.logaddexp(entered[-1], kept[-1]) + graph.final).logsumexp(1)
    future = graph.final - loglik[:, None]
    posteriors = scores.new_zeros(batch, frames, pdfs)
    for t in range(frames - 1, -1, -1):
        posteriors[:, t].scatter_add_(1, graph.first, (entered[t] + future).exp())
        posteriors[:, t].scatter_add_(1, graph.further, (kept[t] + future).exp())
        future = torch.logaddexp(
            over(future + emit_first[t], graph.after), future + emit_further[t]
        )
    return loglik, posteriors


Likelihood = Callable[[Tensor, "Loop | Said"], tuple[Tensor, Tensor]]


class Recorded:
    """A likelihood for one batch size, recorded once as a CUDA graph: its loops then cost no
    launches."""

    def __init__(self, compute: Likelihood, scores: Tensor, graph: Loop | Said) -> None:
        self._scores, self._graph = (
            scores.detach().clone(),
            type(graph)(*(t.clone() for t in graph.tensors())),
        )
        stream = torch.cuda.Stream()
        stream.wait_stream(torch.cuda.current_stream())
        with torch.cuda.stream(stream):
            for _ in range(2):
                compute(self._scores, self._graph)
        torch.cuda.current_stream().wait_stream(stream)
        self._recording = torch.cuda.CUDAGraph()
        with torch.cuda.graph(self._recording):
            self._result = compute(self._scores, self._graph)

    def __call__(self, scores: Tensor, graph: Loop | Said) -> tuple[Tensor, Tensor]:
        self._scores.copy_(scores)
        for mine, given in zip(self._graph.tensors(), graph.tensors(), strict=True):
            mine.copy_(given)
        self._recording.replay()
        loglik, posteriors = self._result
        return loglik.clone(), posteriors.clone()


_recorded: dict[tuple[int, ...], Recorded] = {}


def _likelihood(scores: Tensor, graph: Loop | Said) -> tuple[Tensor, Tensor]:
    """Likelihood and posteriors, on a GPU from a recording made at the first call of each shape."""
    compute: Likelihood = loop_likelihood if isinstance(graph, Loop) else said_likelihood  # type: ignore[assignment]
    if not scores.is_cuda:
        return compute(scores, graph)
    key = (*scores.shape, *(size for tensor in graph.tensors() for size in tensor.shape))
    if key not in _recorded:
        _recorded[key] = Recorded(compute, scores, graph)
    return _recorded[key](scores, graph)


class _Sequence(torch.autograd.Function):
    """-(1 + flat) numerator + sharp * denominator, a frame; the gradient is known without
    unrolling the loops."""

    @staticmethod
    def forward(ctx, scores: Tensor, said: Said, loop: Loop, flat: float, sharp: float) -> Tensor:  # type: ignore[override]
        loglik, posteriors = _likelihood(scores, said)
        gradient = -(flat + sharp) * posteriors
        loss = -(flat + sharp) * loglik
        if sharp:
            loglik, posteriors = _likelihood(scores, loop)
            gradient += sharp * posteriors
            loss += sharp * loglik
        fits = torch.isfinite(loss) & (loss < -0.5 * NEVER)
        frames = scores.shape[0] * scores.shape[1]
        ctx.save_for_backward(torch.where(fits[:, None, None], gradient, 0.0) / frames)
        return torch.where(fits, loss, 0.0).sum() / frames

    @staticmethod
    def backward(ctx, upstream: Tensor) -> tuple[Tensor, None, None, None, None]:  # type: ignore[override]
        (gradient,) = ctx.saved_tensors
        return gradient * upstream, None, None, None, None


def sequence_loss(
    log_probabilities: Tensor, said: Said, loop: Loop, *, flat: float, sharp: float
) -> Tensor:
    """Training loss a frame.

    Args:
        log_probabilities: (B, T, D), normalised over D.
        said: the numerator, one graph a sample.
        loop: the denominator, shared.
        flat: weight of the numerator alone (a maximum likelihood start and a regulariser).
        sharp: weight of numerator minus denominator (maximum mutual information).
    """
    loss: Tensor = _Sequence.apply(log_probabilities, said, loop, flat, sharp)
    return loss
