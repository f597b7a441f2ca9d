"""Real people's digit strings: ``python -m tests.bench.speech_digits FOLDER``.

FOLDER has single digits as WAVs named DIGIT_SPEAKER_TAKE.wav (the free spoken digit data set has
this form). Strings of 3 and 4 digits are spliced from one speaker's takes with short gaps, one in
ten with a zero in front. Only a speaker who was kept out of the training of our models
(``--without`` of ``models.spoken train``) tells anything: of those that ship, jackson.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np

from fieldnote.language import Grammar, parse
from fieldnote.session.interpret import NO_ENTRY, Listener, what_counts
from fieldnote.speech import engines, read_sound
from fieldnote.speech.sound import Samples
from tests.bench.speech_noise import in_noise
from tests.bench.speech_phrases import ONES as NAMES
from tests.bench.speech_record import Sounding

GAPS = (0.03, 0.15)
"""s between two digits."""


def takes(folder: Path) -> dict[str, dict[str, list[Path]]]:
    """Speaker → digit → files."""
    found: dict[str, dict[str, list[Path]]] = defaultdict(lambda: defaultdict(list))
    for file in sorted(folder.glob("[0-9]_*_*.wav")):
        digit, speaker, _ = file.stem.split("_")
        found[speaker][digit].append(file)
    return found


def strings(
    of_speaker: dict[str, list[Path]], count: int, rng: random.Random
) -> Iterator[tuple[str, Samples]]:
    for _ in range(count):
        digits = "".join(rng.choices("0123456789", k=rng.choice((3, 4))))
        parts = []
        for digit in digits:
            sound = read_sound(rng.choice(of_speaker[digit])).samples
            parts += [sound, np.zeros(round(rng.uniform(*GAPS) * 16_000), np.float32)]
        joined = np.concatenate(parts)
        yield digits, joined / np.abs(joined).max() * np.float32(0.5)


def strung(
    folder: Path, speakers: Iterable[str], condition: str, each: int = 40
) -> Iterator[Sounding]:
    """Strings of these speakers as `speech_record` keeps them."""
    by_speaker = takes(folder)
    decibels = None if condition == "clean" else float(condition)
    for speaker in speakers:
        rng = random.Random(speaker)
        for seed, (digits, samples) in enumerate(strings(by_speaker[speaker], each, rng)):
            words = " ".join(NAMES[int(digit)] for digit in digits)
            name = f"{speaker}-{seed:03d}-{digits}"
            yield Sounding(name, speaker, condition, words, in_noise(samples, decibels, seed))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=20, help="strings a speaker")
    parser.add_argument("--speakers", nargs="+", default=["jackson"])
    parser.add_argument("--condition", default="clean", help="or a signal-to-noise ratio in dB")
    parser.add_argument("--engines", nargs="+")
    options = parser.parse_args()
    listener = Listener(engines(Grammar.build(), options.engines))
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for sounding in strung(options.folder, options.speakers, options.condition, options.each):
        said = what_counts(parse(sounding.words))
        heard = listener.interpret(sounding.samples)
        stored = heard.entry.kind not in NO_ENTRY
        right = stored and what_counts(heard.entry) == said
        counts[sounding.voice]["right" if right else "wrong" if stored else "asked"] += 1
        if not right:
            print(f"  {sounding.file}: {heard.heard} ({heard.entry.kind}, {heard.confidence:.2f})")
    for speaker, found in counts.items():
        print(speaker, options.each, dict(found))


if __name__ == "__main__":
    main()
