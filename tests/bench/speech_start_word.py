"""How surely a start word is found, and how often other talk is taken for it.

    python -m tests.bench.speech_start_word FOLDER

FOLDER holds the sets ``tune``, ``report`` and ``chatter`` of ``speech_voices``. The start words are
spoken before readings by the quick ones of the set's voices; the threshold, `start_word.LIKELY`:
it was chosen on the tuning voices.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import soundfile

from fieldnote.language import Grammar
from fieldnote.speech import engines
from fieldnote.speech.start_word import LIKELY, StartWord
from tests.bench.speech_noise import in_noise
from tests.bench.speech_voices import VOICES

WORDS = ("workshop", "notebook", "computer", "lighthouse", "hello bench")
QUICK = {
    "tune": ("flite-rms", "espeak-us-m3", "espeak-gb-f5", "espeak-rp-steph3"),
    "report": ("festival-ked", "festival-slt", "espeak-us-f1", "espeak-scotland-david"),
}
SAID = ("ten point six ohms", "pin four to ground open circuit", "next")
NOISE: tuple[float | None, ...] = (None, 20.0, 10.0)
BARS = (-0.3, -0.5, -0.7, -0.9, -1.1, -1.3, -1.5, -1.8, -2.2)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1, help="of so many talk files take one")
    parser.add_argument("--engine", default="readings")
    parser.add_argument("--voices", choices=list(QUICK), default="tune")
    options = parser.parse_args()
    ear = engines(Grammar.build(), [options.engine])
    spotters = {word: StartWord(word, ear) for word in WORDS}
    print(f"share found, and false a file of talk, by threshold (in use: {LIKELY})")
    print("                  " + "".join(f"{bar:7}" for bar in BARS))
    for noise in NOISE:
        fits = []
        for voice in QUICK[options.voices]:
            speak = VOICES[options.voices][voice]()
            for number, word in enumerate(WORDS):
                said = speak(f"{word}, {SAID[number % len(SAID)]}")
                spotted = spotters[word].likeliest(in_noise(said, noise, seed=number))
                fits.append(spotted.fit if spotted else -9.0)
        row("clean" if noise is None else f"{noise:g} dB", fits)
    for name in ("chatter", options.voices):
        files = sorted((options.folder / name).glob("*.wav"))[:: options.every]
        fits = []
        for file in files:
            samples, _ = soundfile.read(file, dtype="float32")
            for spotter in spotters.values():
                spotted = spotter.likeliest(samples)
                fits.append(spotted.fit if spotted else -9.0)
        row(f"{name}, {len(files)} × {len(WORDS)}", fits)


def row(name: str, fits: list[float]) -> None:
    shares = [100 * np.mean(np.array(fits) >= bar) for bar in BARS]
    print(f"{name:18}" + "".join(f"{share:6.1f}%" for share in shares), flush=True)


if __name__ == "__main__":
    main()
