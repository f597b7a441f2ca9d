"""What each engine makes of labelled sounds, kept, so that any set of engines can be tried on it.

    python -m tests.bench.speech_record FOLDER --keep FILE

Every engine hears every utterance once and weighs all that any of them proposed; after that a set
of engines, a share or a threshold is tried in seconds (`speech_curve --from FILE`). FOLDER is a
set of ``speech_voices``; with ``--digits SPEAKER...`` real people's digits, as ``speech_digits``
has them; with ``--numbers`` real people's numbers, as ``speech_numbers`` has them.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

import numpy as np

from fieldnote.language import Grammar
from fieldnote.session.interpret import Meanings, in_words, understood
from fieldnote.speech import Engine, engines, read_sound
from fieldnote.speech.engine import Hypothesis, Weigher, Word
from fieldnote.speech.fusion import SLOW, Ballot, proposals, shares_of, speech_over_noise, vote
from fieldnote.speech.sound import Samples
from tests.bench.speech_noise import in_noise
from tests.bench.speech_trial import Trial, labelled, trial

MANY = 60
"""Meanings that are weighed, more than the product weighs: any set of engines must find its own."""
SLOW_MANY = 10


@dataclass(frozen=True)
class Sounding:
    """One utterance. condition: "clean" or a signal-to-noise ratio in dB."""

    file: str
    voice: str
    condition: str
    words: str
    samples: Samples


@dataclass(frozen=True)
class Kept:
    """heard: by engine what it listed, (text, confidence) likeliest first. weights: by engine the
    weight of sentences."""

    file: str
    voice: str
    condition: str
    words: str
    quality: float
    heard: dict[str, list[tuple[str, float]]]
    weights: dict[str, dict[str, float]] = field(repr=False)


def soundings(folder: Path, condition: str, every: int = 1) -> Iterator[Sounding]:
    decibels = None if condition == "clean" else float(condition)
    for seed, (file, voice, words) in enumerate(labelled(folder)):
        if seed % every == 0:
            samples = in_noise(read_sound(file).samples, decibels, seed)
            yield Sounding(file.name, voice, condition, words, samples)


def kept(sounding: Sounding, engines: Sequence[Engine], meanings: Meanings) -> Kept:
    samples = sounding.samples
    hypotheses = [engine.hear(samples) for engine in engines]
    found = list(proposals(hypotheses, meanings.meaning, in_words, most=MANY))
    weights: dict[str, dict[str, float]] = {}
    joint = np.array([meanings.prior(sentence) for sentence in found])
    for engine in sorted(engines, key=lambda engine: engine.name in SLOW):
        if not isinstance(engine, Weigher) or not found:
            continue
        chosen = np.arange(len(found))
        if engine.name in SLOW:
            chosen = np.argsort(-joint)[:SLOW_MANY]
        scores = np.array(engine.weigh(samples, [found[place] for place in chosen]))
        if len(chosen) == len(found):
            joint = joint + np.maximum(scores, -200)
        weights[engine.name] = {
            found[place]: round(float(score), 3)
            for place, score in zip(chosen, scores, strict=True)
            if np.isfinite(score)
        }
    return Kept(
        sounding.file,
        sounding.voice,
        sounding.condition,
        sounding.words,
        speech_over_noise(samples),
        {
            one.engine: [(each.text, each.confidence) for each in (one, *one.alternatives)]
            for one in hypotheses
        },
        weights,
    )


class Listed:
    """An engine's part in what was kept."""

    def __init__(self, name: str, of: Kept) -> None:
        self.name = name
        self._heard = of.heard[name]
        self._weights = of.weights.get(name, {})

    def hear(self, samples: Samples) -> Hypothesis:
        first, *others = (hypothesis(self.name, *one) for one in self._heard)
        return Hypothesis(first.engine, first.words, first.confidence, tuple(others))


class Weighing(Listed):
    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        return [self._weights.get(sentence, -np.inf) for sentence in sentences]


def replayed(of: Kept, names: Iterable[str]) -> list[Engine]:
    """The engines of these names as they were with this utterance."""
    return [(Weighing if name in of.weights else Listed)(name, of) for name in names]


def replay(of: Kept, names: Sequence[str], meanings: Meanings) -> Trial:
    """What these engines would have made together of an utterance that was kept."""
    opinion = meanings.together(np.zeros(0, np.float32), replayed(of, names))
    heard = understood(replace(opinion, quality=of.quality), meanings, "+".join(names))
    return trial(Path(of.file), of.voice, of.condition, of.words, heard)


def balloted(of: Kept, names: Sequence[str], meanings: Meanings) -> Ballot:
    """What these engines give to each sentence that they proposed."""
    nothing = np.zeros(0, np.float32)
    engines = replayed(of, names)
    heard = [engine.hear(nothing) for engine in engines]
    shares = shares_of(engines)
    return vote(nothing, engines, heard, meanings.meaning, in_words, meanings.prior, shares)


def hypothesis(engine: str, text: str, confidence: float) -> Hypothesis:
    words = tuple(Word(word, 0.0, 0.0, confidence) for word in text.split())
    return Hypothesis(engine, words, confidence)


def read(file: Path) -> list[Kept]:
    return [Kept(**json.loads(line)) for line in file.read_text(encoding="utf-8").splitlines()]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--keep", type=Path, required=True)
    parser.add_argument("--conditions", nargs="+", default=["clean", "20", "10"])
    parser.add_argument("--every", type=int, default=1, help="of so many files take one")
    parser.add_argument("--engines", nargs="+")
    parser.add_argument("--digits", nargs="+", help="speakers; FOLDER has single digits")
    parser.add_argument("--numbers", action="store_true", help="FOLDER has single words")
    options = parser.parse_args()
    listeners = engines(Grammar.build(), options.engines)
    meanings = Meanings()
    done = set()
    if options.keep.exists():  # go on where an earlier run was stopped
        done = {(one.file, one.condition) for one in read(options.keep)}
    for condition in options.conditions:
        if options.digits:
            from tests.bench.speech_digits import strung

            sounds: Iterable[Sounding] = strung(options.folder, options.digits, condition)
        elif options.numbers:
            from tests.bench.speech_numbers import numbered

            sounds = numbered(options.folder, condition)
        else:
            sounds = soundings(options.folder, condition, options.every)
        for sounding in sounds:
            if (sounding.file, condition) in done:
                continue
            with options.keep.open("a", encoding="utf-8") as out:
                out.write(json.dumps(asdict(kept(sounding, listeners, meanings))) + "\n")


if __name__ == "__main__":
    main()
