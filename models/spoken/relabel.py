"""Labels for voices that do not tell their phones: of each word the pronunciation that fits best.

An earlier net listens (the one in models/readings); only pronunciations that the lexicon has are
tried, so a net's habits can't become labels.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import torch
from torch import Tensor
from torch.nn import functional

from .corpus import RATE, Samples
from .lexicon import pronunciations
from .phones import INDEX

Phones = tuple[str, ...]
NET = Path(__file__).parents[1] / "readings" / "readings.onnx"
WORST = 1.0
"""Nats a phone: what fits worse is another word than the one asked for, and is left out."""


@cache
def _session() -> object:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(str(NET), sess_options=options)


def misfit(log_probs: Tensor, guesses: Sequence[Phones]) -> Tensor:
    """Negative log-likelihood of each guess: (T, phones) rows of a net to (guesses,)."""
    flat = torch.tensor([INDEX[p] for guess in guesses for p in guess])
    counts = torch.tensor([len(guess) for guess in guesses])
    rows = log_probs[:, None].expand(-1, len(guesses), -1)
    lengths = torch.full_like(counts, len(rows))
    return functional.ctc_loss(rows, flat, lengths, counts, reduction="none")


def fitting(log_probs: Tensor, choices: Sequence[Sequence[Phones]]) -> tuple[Phones, float]:
    """Of each word's pronunciations one, and the misfit a phone; word after word, twice."""
    chosen = [options[0] for options in choices]

    def joined(place: int, option: Phones) -> Phones:
        return tuple(p for at, one in enumerate(chosen) for p in (option if at == place else one))

    worst = float("inf")
    for place in [*range(len(choices)), *range(len(choices))]:
        guesses = [joined(place, option) for option in choices[place]]
        fits = misfit(log_probs, guesses)
        best = int(fits.argmin())
        chosen[place], worst = choices[place][best], float(fits[best]) / len(guesses[best])
    return joined(0, chosen[0]), worst


def listened(samples: Samples, words: Sequence[str], worst: float = WORST) -> Phones:
    """Phones of an utterance at 16 kHz; none where it is something else than `words`.

    worst: nats a phone; infinite where the words are known for certain, from a file's name.
    """
    edge = torch.zeros(RATE // 4)
    wave = torch.cat([edge, torch.from_numpy(samples.copy()), edge])[None]
    (rows,) = _session().run(None, {"waveform": wave.numpy()})  # type: ignore[attr-defined]
    phones, misses = fitting(torch.from_numpy(rows[0]), [pronunciations(word) for word in words])
    return phones if misses < worst else ()
