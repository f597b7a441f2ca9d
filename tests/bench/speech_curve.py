"""The trade-off between right, asked and wrong: ``python -m tests.bench.speech_curve FILE...``.

Each FILE was kept by ``speech_record`` (of the ``tune`` set and of the tuning speakers' digits,
never of a reporting one). For every set of engines that was kept: with ``--shares`` how much each
engine counts is fitted and printed as SHARES in fieldnote/speech/fusion.py has it; then, without
it, the weights of the clues, as MODELS has them, and the curve, by voice held out, from which the
bars in fieldnote/session/confirm.py are taken. ``--only phoneme+readings`` looks at
one set of engines; ``--bars`` takes the weights and bars as the product has them, and counts.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from fieldnote.language import parse
from fieldnote.session.interpret import ODDNESS, Meanings, what_counts
from fieldnote.speech.fusion import combination
from tests.bench.speech_record import Kept, balloted, read, replay
from tests.bench.speech_trial import Trial

Array = NDArray[np.float64]

STIFFNESS = 0.02
"""Of the weights: few hundred utterances must not bend them far."""

THRESHOLDS = (0.5, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.96, 0.97, 0.98, 0.985, 0.99, 0.995)


def fit(clues: Array, best: Array) -> Array:
    """Logistic weights, the constant first; clues: shape (trials, clues), best: 0 or 1.

    Every clue speaks for the likeliest candidate, so that none has a weight below 0.
    """
    table = np.column_stack([np.ones(len(clues)), clues])

    def cost(weights: Array) -> float:
        logits = table @ weights
        return float(
            np.mean(np.logaddexp(0, logits) - best * logits) + STIFFNESS * (weights[1:] ** 2).mean()
        )

    bounds = [(-20.0, 20.0), *[(0.0, 20.0)] * clues.shape[1]]
    result = minimize(cost, np.zeros(table.shape[1]), method="L-BFGS-B", bounds=bounds)
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


def fitted_shares(
    records: Sequence[Kept], names: Sequence[str], meanings: Meanings, odd: Sequence[str]
) -> dict[str, float]:
    """Shares under which what was said is likeliest among the sentences proposed: a conditional
    logit of each engine in names, of each kind of ODDNESS in odd, and of all other oddness."""
    tables: list[tuple[Array, NDArray[np.bool_]]] = []
    for record in records:
        ballot = balloted(record, names, meanings)
        said = what_counts(parse(record.words))
        right = np.array([means == said for means in ballot.meanings], np.bool_)[ballot.weighed]
        if not right.any() or right.all():
            continue
        counts = [meanings.oddities(sentence) for sentence in ballot.sentences]
        single = [np.array([one[kind] for one in counts], float) for kind in odd]
        rest = [ODDNESS[kind] * column for kind, column in zip(odd, single, strict=True)]
        columns = [ballot.totals.get(name, np.zeros(len(counts))) for name in names]
        columns += [ballot.prior - sum(rest), *single]
        tables.append((np.column_stack(columns)[ballot.weighed], right))

    start = np.array([0.5] * len(names) + [1.0] + [ODDNESS[kind] for kind in odd])

    def cost(shares: Array) -> float:
        total = 0.0
        for table, right in tables:
            joint = table @ shares
            total += np.logaddexp.reduce(joint) - np.logaddexp.reduce(joint[right])
        return float(total / len(tables) + STIFFNESS * ((shares - start)[len(names) :] ** 2).mean())

    bounds = [(0.02, 2.0)] * (len(names) + 1) + [(-8.0, 0.0)] * len(odd)
    found = minimize(cost, start, method="L-BFGS-B", bounds=bounds).x.round(2).tolist()
    return dict(zip([*names, "prior", *odd], found, strict=True))


def sets(records: Sequence[Kept]) -> Iterator[tuple[str, ...]]:
    """Every set of the engines that heard, the small ones first."""
    names = sorted(set.intersection(*(set(record.heard) for record in records)))
    for size in range(1, len(names) + 1):
        yield from combinations(names, size)


def report(heard: Sequence[Trial], name: str, thresholds: Sequence[float] = THRESHOLDS) -> None:
    conditions = list(dict.fromkeys(trial.condition for trial in heard))
    print(f"\n{name}")
    for condition in conditions:
        those = [trial for trial in heard if trial.condition == condition]
        best = np.mean([trial.best for trial in those])
        among = np.mean([trial.among for trial in those])
        print(
            f"{condition:>8}: {len(those)} utterances; likeliest candidate right {best:.1%}, "
            f"right one among the candidates {among:.1%}"
        )
    judged = [trial for trial in heard if trial.clues and not trial.talk]
    names = sorted({name for trial in judged for name in trial.clues})
    clues = np.array([[trial.clues.get(name, 0.0) for name in names] for trial in judged])
    best = np.array([float(trial.best) for trial in judged])
    weights = dict(zip(["always", *names], fit(clues, best).round(2).tolist(), strict=True))
    print(f"    {name!r}: {weights},".replace("'", '"'))
    sure = held_out(judged, clues, best)
    print("support   threshold" + "".join(f"{c:>9} right  wrong" for c in conditions))
    for support in ("all", "agreed", "most", "disputed", "alone"):
        for threshold in thresholds:
            row, any_there = "", False
            for condition in conditions:
                total = sum(trial.condition == condition for trial in heard)
                chosen = [
                    trial.best
                    for trial, one in zip(judged, sure, strict=True)
                    if trial.condition == condition
                    and support in ("all", trial.support)
                    and one >= threshold
                ]
                any_there |= bool(chosen)
                right = sum(chosen)
                row += f"{right / total:>14.1%} {(len(chosen) - right) / total:>6.1%}"
            if any_there:
                print(f"{support:<10}{threshold:>9}{row}")


def counted(heard: Sequence[Trial], name: str) -> None:
    """Right, asked and wrong as the product decides."""
    for condition in dict.fromkeys(trial.condition for trial in heard):
        those = [trial for trial in heard if trial.condition == condition]
        right, wrong = sum(one.right for one in those), sum(one.wrong for one in those)
        best = sum(one.best for one in those)
        print(
            f"{name:<24} {condition:>8}: {len(those):>4}  right {right / len(those):.1%}  "
            f"wrong {wrong} ({wrong / len(those):.1%})  likeliest right {best / len(those):.1%}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kept", type=Path, nargs="+")
    parser.add_argument("--only", nargs="+", help="sets of engines, such as phoneme+readings")
    parser.add_argument("--shares", action="store_true", help="fit how much each engine counts")
    parser.add_argument("--prior", action="store_true", help="with --shares, the prior's too")
    parser.add_argument("--bars", action="store_true", help="count what the product decides")
    parser.add_argument("--wrong", action="store_true", help="list what is stored wrong")
    options = parser.parse_args()
    records = [record for file in options.kept for record in read(file)]
    meanings = Meanings()
    for names in [tuple(one.split("+")) for one in options.only or ()] or sets(records):
        if options.shares:
            odd = [*set(ODDNESS) - {"none", "unclear"}] if options.prior else []
            shares = fitted_shares(records, names, meanings, sorted(odd))
            print(f"    {combination(names)!r}: {shares},".replace("'", '"'), flush=True)
            continue
        heard = [replay(record, names, meanings) for record in records]
        if options.bars:
            counted(heard, combination(names))
        else:
            report(heard, combination(names))
        for trial in heard if options.wrong else ():
            if trial.wrong:
                print(
                    f"  {trial.voice} {trial.condition}: “{trial.words}” as “{trial.heard}”",
                    f"{trial.confidence:.3f} {trial.support}",
                )


if __name__ == "__main__":
    main()
