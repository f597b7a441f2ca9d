"""The trade-off between right, asked and wrong: ``python -m tests.bench.speech_curve FOLDER``.

FOLDER is a set of ``speech_voices`` (its ``tune`` set, never ``report``). Every utterance is heard
clean and in noise; the weights of the clues are fitted, by voice held out, and the curve printed
from which the thresholds in fieldnote/session/confirm.py are taken. ``--keep FILE`` keeps what was
heard, so that a second run (``--from FILE``) needs no hearing.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from fieldnote.language import Grammar
from fieldnote.session.interpret import Listener
from fieldnote.speech import engines
from tests.bench.speech_trial import Trial, labelled, trials

Array = NDArray[np.float64]

STIFFNESS = 0.02
"""Of the weights: few hundred utterances must not bend them far."""

THRESHOLDS = (0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.98, 0.99, 0.995)


def fit(clues: Array, best: Array) -> Array:
    """Logistic weights, the constant first; clues: shape (trials, clues), best: 0 or 1."""
    table = np.column_stack([np.ones(len(clues)), clues])

    def cost(weights: Array) -> float:
        logits = table @ weights
        return float(
            np.mean(np.logaddexp(0, logits) - best * logits) + STIFFNESS * (weights[1:] ** 2).mean()
        )

    result = minimize(cost, np.zeros(table.shape[1]), method="BFGS")
    return np.asarray(result.x)


def probability(weights: Array, clues: Array) -> Array:
    return np.asarray(1 / (1 + np.exp(-(np.column_stack([np.ones(len(clues)), clues]) @ weights))))


def held_out(trials: Sequence[Trial], clues: Array, best: Array) -> Array:
    """Each trial's confidence by weights that never saw its voice."""
    voices = np.array([trial.voice for trial in trials])
    sure = np.zeros(len(trials))
    for voice in set(voices.tolist()):
        out = voices == voice
        sure[out] = probability(fit(clues[~out], best[~out]), clues[out])
    return sure


def report(heard: Sequence[Trial]) -> None:
    conditions = list(dict.fromkeys(trial.condition for trial in heard))
    for condition in conditions:
        those = [trial for trial in heard if trial.condition == condition]
        best = np.mean([trial.best for trial in those])
        among = np.mean([trial.among for trial in those])
        print(
            f"{condition:>6}: {len(those)} utterances; likeliest candidate right {best:.1%}, "
            f"right one among the candidates {among:.1%}"
        )
    judged = [trial for trial in heard if trial.clues and not trial.talk]
    names = sorted({name for trial in judged for name in trial.clues})
    clues = np.array([[trial.clues.get(name, 0.0) for name in names] for trial in judged])
    best = np.array([float(trial.best) for trial in judged])
    weights = fit(clues, best)
    print("weights:", dict(zip(["always", *names], weights.round(3).tolist(), strict=True)))
    sure = held_out(judged, clues, best)
    print("held out by voice:")
    print("support   threshold " + "".join(f"{c:>8} right  wrong" for c in conditions))
    for support in ("agreed", "disputed", "alone"):
        for threshold in THRESHOLDS:
            row, any_there = "", False
            for condition in conditions:
                total = sum(trial.condition == condition for trial in heard)
                chosen = [
                    trial.best
                    for trial, one in zip(judged, sure, strict=True)
                    if trial.condition == condition
                    and trial.support == support
                    and one >= threshold
                ]
                any_there |= bool(chosen)
                right = sum(chosen)
                row += f"{right / total:>14.1%} {(len(chosen) - right) / total:>6.1%}"
            if any_there:
                print(f"{support:<10}{threshold:>9} {row}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--every", type=int, default=1, help="of so many files take one")
    parser.add_argument("--conditions", nargs="+", default=["clean", "20", "10"])
    parser.add_argument("--engines", nargs="+")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--from", dest="kept", type=Path, nargs="+")
    options = parser.parse_args()
    heard: list[Trial] = []
    for kept in options.kept or ():
        heard += [Trial(**json.loads(line)) for line in kept.read_text().splitlines()]
    if options.folder:
        listener = Listener(engines(Grammar.build(), options.engines))
        files = labelled(options.folder, options.every)
        for condition in options.conditions:
            for trial in trials(listener, files, condition):
                heard.append(trial)
                if options.keep:
                    with options.keep.open("a") as file:
                        file.write(json.dumps(trial.to_json()) + "\n")
    report(heard)


if __name__ == "__main__":
    main()
