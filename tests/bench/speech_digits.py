"""Real people's digit strings: ``python -m tests.bench.speech_digits FOLDER``.

FOLDER has single digits as WAVs named DIGIT_SPEAKER_TAKE.wav (the free spoken digit data set has
this form). Strings of 3 and 4 digits are spliced from one speaker's takes with short gaps; half of
the speakers are for tuning, the others for reporting. A leading zero is left out: the language asks
again for those.
"""

from __future__ import annotations

import argparse
import random
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from fieldnote.language import Grammar
from fieldnote.session.interpret import Listener
from fieldnote.speech import engines, read_sound
from fieldnote.speech.sound import Samples
from tests.bench.speech_noise import in_noise

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
        digits = rng.choice("123456789") + "".join(rng.choices("0123456789", k=rng.choice((2, 3))))
        parts = []
        for digit in digits:
            sound = read_sound(rng.choice(of_speaker[digit])).samples
            parts += [sound, np.zeros(round(rng.uniform(*GAPS) * 16_000), np.float32)]
        joined = np.concatenate(parts)
        yield digits, joined / np.abs(joined).max() * np.float32(0.5)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--each", type=int, default=20, help="strings a speaker")
    parser.add_argument("--half", choices=["tune", "report"], default="tune")
    parser.add_argument("--engines", nargs="+")
    options = parser.parse_args()
    speakers = takes(options.folder)
    half = sorted(speakers)[0 if options.half == "tune" else 1 :: 2]
    listener = Listener(engines(Grammar.build(), options.engines))
    for speaker in half:
        rng = random.Random(f"{speaker} {options.half}")
        counts = {"right": 0, "wrong": 0, "asked": 0}
        for seed, (digits, samples) in enumerate(strings(speakers[speaker], options.each, rng)):
            heard = listener.interpret(in_noise(samples, None, seed))
            stored = heard.entry.kind not in {"none", "unclear"}
            right = stored and heard.entry.value == digits
            counts["right" if right else "wrong" if stored else "asked"] += 1
            if not right:
                print(f"  {digits}: {heard.heard} ({heard.entry.kind}, {heard.confidence:.2f})")
        print(speaker, options.each, counts)


if __name__ == "__main__":
    main()
