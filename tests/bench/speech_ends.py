"""Whether utterances are found whole in noise: ``python -m tests.bench.speech_ends FOLDER``.

FOLDER is a set of ``speech_voices`` (``tune``: thresholds are chosen on it). Eight utterances of
each voice stand in one run of sound, 1.5 to 3 s apart, in noise that never stops. Where each truly
begins and ends is measured in the clean sound, 35 dB below its loudest 10 ms. Then noise alone:
steady, starting at once, and revving up and down.
"""

from __future__ import annotations

import argparse
import csv
from collections import defaultdict
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from fieldnote.speech import segment
from fieldnote.speech.segment import Utterance, split
from tests.bench.speech_noise import ACTIVE, FRAME, RATE, engine, pink

EACH = 8
BETWEEN = (1.5, 3.0)
DECIBELS = {"clean": 50, "20 dB": 20, "10 dB": 10, "5 dB": 5}
HUSHED = 10**-3.5
BARS = ((0.4, 0.2), (0.2, 0.1), (0.3, 0.15), (0.5, 0.2), (0.6, 0.3))
"""Where speech begins and where it goes on; the first is in use."""

Sound = NDArray[np.float32]
Places = list[tuple[float, float]]


def run_of(files: list[Path], rng: np.random.Generator) -> tuple[Sound, Places]:
    """Utterances one after the other, and where each begins and ends, in s."""
    parts, places, at = [np.zeros(2 * RATE, np.float32)], [], 2.0
    for file in files:
        words, _ = soundfile.read(file, dtype="float32")
        power = (words[: len(words) // 160 * 160].reshape(-1, 160) ** 2).mean(axis=1)
        loud = np.flatnonzero(power > power.max() * HUSHED)
        places.append((at + loud[0] / 100, at + (loud[-1] + 1) / 100))
        pause = np.zeros(round(rng.uniform(*BETWEEN) * RATE), np.float32)
        parts += [words, pause]
        at += (len(words) + len(pause)) / RATE
    return np.concatenate(parts), places


def in_steady_noise(speech: Sound, kind: object, decibels: float, seed: int) -> Sound:
    make = engine if kind == "engine" else pink
    power = (speech[: len(speech) // FRAME * FRAME].reshape(-1, FRAME) ** 2).mean(axis=1)
    level = np.sqrt(power[power > power.max() * ACTIVE].mean()) * 10 ** (-decibels / 20)
    mixed = speech + make(len(speech), np.random.default_rng(seed)) * level
    return (mixed * min(1.0, 0.98 / np.abs(mixed).max())).astype(np.float32)


def compared(found: list[Utterance], places: Places) -> dict[str, float]:
    """Counts of what went wrong, and the least room at the start and at the end, in s."""
    result: dict[str, float] = defaultdict(float) | {"before": 9.0, "behind": 9.0}
    used = set()
    for begins, ends in places:
        here = [n for n, one in enumerate(found) if one.start < ends and one.end > begins]
        result["said"] += 1
        used |= set(here)
        if not here:
            result["missed"] += 1
            continue
        before, behind = begins - found[here[0]].start, found[here[-1]].end - ends
        result["start cut"] += before < 0
        result["end cut"] += behind < 0
        result["broken up"] += len(here) > 1
        result["long open"] += behind > 2
        result["before"], result["behind"] = (
            min(result["before"], before),
            min(result["behind"], behind),
        )
    result["noise taken"] += len(found) - len(used)
    return result


def noises() -> dict[str, Sound]:
    """A minute of each, without a word."""
    count, found = 60 * RATE, {}
    time = np.arange(count) / RATE
    for name, make in (("engine", engine), ("pink", pink)):
        for level in (0.02, 0.1, 0.3):
            noise = level * make(count, np.random.default_rng(round(level * 100)))
            found[f"{name} {level}"] = noise
            found[f"{name} {level}, starting"] = np.where(time % 20 < 5, 0.01 * noise, noise)
            found[f"{name} {level}, revving"] = noise * (0.55 + 0.45 * np.sin(time))
    return {name: np.clip(noise, -1, 1).astype(np.float32) for name, noise in found.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--bars", action="store_true", help="also other thresholds (slow)")
    options = parser.parse_args()
    by_voice: dict[str, list[Path]] = defaultdict(list)
    with (options.folder / "list.tsv").open(encoding="utf-8", newline="") as rows:
        for name, voice, *_ in csv.reader(rows, delimiter="\t", quoting=csv.QUOTE_NONE):
            by_voice[voice].append(options.folder / name)
    for begins, goes_on in BARS if options.bars else BARS[:1]:
        segment.SPEECH_BEGINS, segment.SPEECH_GOES_ON = begins, goes_on
        print(f"\nspeech begins at {begins}, goes on at {goes_on}")
        for heading, decibels in DECIBELS.items():
            whole: dict[str, float] = defaultdict(float) | {"before": 9.0, "behind": 9.0}
            for kind in ("pink",) if decibels == DECIBELS["clean"] else ("engine", "pink"):
                for number, files in enumerate(by_voice.values()):
                    rng = np.random.default_rng(number)
                    chosen = [files[place] for place in rng.permutation(len(files))[:EACH]]
                    speech, places = run_of(chosen, rng)
                    noisy = in_steady_noise(speech, kind, decibels, number)
                    for key, value in compared(list(split([noisy])), places).items():
                        least = key in {"before", "behind"}
                        whole[key] = min(whole[key], value) if least else whole[key] + value
            print(f"{heading:6}", ", ".join(f"{key} {value:.3g}" for key, value in whole.items()))
        opened = {name: len(list(split([noise]))) for name, noise in noises().items()}
        print(f"{len(opened)} minutes of noise alone: {sum(opened.values())} utterances", end=" ")
        print({name: count for name, count in opened.items() if count} or "")


if __name__ == "__main__":
    main()
