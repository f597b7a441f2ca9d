"""Real people's digit strings: ``python -m tests.bench.speech_digits FOLDER``.

FOLDER has single digits as WAVs named DIGIT_SPEAKER_TAKE.wav (the free spoken digit data set has
this form), or single words and ``list.tsv``, as ``speech_people`` gathers them. Strings of 3 and 4
digits are spliced from one speaker's takes with short gaps, one in ten with a zero in front.

Only a speaker who was kept out of the training of our models tells anything. The nets that ship
have heard all four speakers of the free spoken digit data set, so those to be scored on are
asterisk, saytime, tuxpaint and tuxpaint_gb of ``speech_people``.
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
    """Speaker → digit → files; by ``list.tsv`` where there is one, else by the files' names."""
    found: dict[str, dict[str, list[Path]]] = defaultdict(lambda: defaultdict(list))
    if (folder / "list.tsv").exists():
        from tests.bench.speech_numbers import words_of

        for speaker, words in words_of(folder).items():
            for digit, word in zip("0123456789", NAMES, strict=True):
                if word in words:
                    found[speaker][digit] = list(words[word])
        return found
    for file in sorted(folder.glob("[0-9]_*_*.wav")):
        digit, speaker, _ = file.stem.split("_")
        found[speaker][digit].append(file)
    return found


def strings(
    of_speaker: dict[str, list[Path]], count: int, rng: random.Random
) -> Iterator[tuple[str, Samples]]:
    """Of the digits that the speaker has."""
    known = sorted(of_speaker)
    for _ in range(count):
        digits = "".join(rng.choices(known, k=rng.choice((3, 4))))
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
    parser.add_argument("--speakers", nargs="+", help="otherwise all that the folder has")
    parser.add_argument("--condition", default="clean", help="or a signal-to-noise ratio in dB")
    parser.add_argument("--engines", nargs="+")
    options = parser.parse_args()
    listener = Listener(engines(Grammar.build(), options.engines))
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    speakers = options.speakers or sorted(takes(options.folder))
    for sounding in strung(options.folder, speakers, options.condition, options.each):
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
