"""False entries in talk and noise: ``python -m tests.bench.speech_chatter FOLDER``.

FOLDER is the ``chatter`` set of ``speech_voices``: sentences of workshop talk, some with numbers,
none of them a reading. Of these an hour is made: talk with pauses, the same with an engine running,
several people at once, and noise alone. It goes the whole way, voice detector and all, as from an
open microphone. Anything stored is false; it is printed and counted by the hour.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
import soundfile

from fieldnote.language import Grammar
from fieldnote.session.interpret import Listener, hear_file
from fieldnote.speech import engines, read_sound
from fieldnote.speech.sound import Samples
from tests.bench.speech_noise import RATE, engine, pink
from tests.bench.speech_trial import labelled

MINUTES = {"talk": 25, "talk in noise": 20, "babble": 10, "noise": 5}
"""Of an hour."""

PIECE = 60
"""s a file."""


def stream(files: list[Path], seconds: int, rng: np.random.Generator) -> Samples:
    """Sentences by chance with pauses of 0.2 to 2 s between them."""
    parts: list[Samples] = []
    count = 0
    while count < seconds * RATE:
        speech = read_sound(files[rng.integers(len(files))]).samples
        level = np.float32(10 ** rng.uniform(-0.6, 0))
        parts += [level * speech, np.zeros(round(rng.uniform(0.2, 2) * RATE), np.float32)]
        count += len(parts[-1]) + len(speech)
    return np.concatenate(parts)[: seconds * RATE]


def piece(kind: str, files: list[Path], seed: int) -> Samples:
    """A file of one kind of MINUTES."""
    rng = np.random.default_rng(seed)
    speech = np.zeros(PIECE * RATE, np.float32)
    for _ in range({"noise": 0, "babble": 4}.get(kind, 1)):
        speech += stream(files, PIECE, rng)
    noise = (engine if seed % 2 else pink)(PIECE * RATE, rng)
    level = {"noise": 0.2, "talk in noise": 0.1 * 10 ** rng.uniform(-0.75, -0.25)}.get(kind, 3e-4)
    mixed = speech + level * noise
    return np.asarray(mixed * min(1.0, 0.95 / np.abs(mixed).max()), np.float32)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--share", type=float, default=1.0, help="of an hour")
    parser.add_argument("--seed", type=int, default=0, help="another hour of the same sentences")
    parser.add_argument("--engines", nargs="+", help="these instead of the default")
    options = parser.parse_args()
    files = [file for file, _, _ in labelled(options.folder)]
    listener = Listener(engines(Grammar.build(), options.engines))
    counts: dict[str, Counter[str]] = {}
    seed = 1000 * options.seed
    for kind, minutes in MINUTES.items():
        of_kind = counts.setdefault(kind, Counter())
        for _ in range(round(minutes * options.share)):
            seed += 1
            with tempfile.TemporaryDirectory() as folder:
                sound = Path(folder) / f"{kind} {seed}.wav"
                soundfile.write(sound, piece(kind, files, seed), RATE)
                for line in hear_file(sound, listener):
                    stored = line["kind"] not in {"none", "unclear"}
                    of_kind["stored" if stored else line["kind"]] += 1
                    if stored:
                        print(
                            f"{sound.name} at {line['start']:.1f} s: {line['kind']}",
                            f"“{line['heard']}” ({line['confidence']})",
                            flush=True,
                        )
            of_kind["minutes"] += 1
        print(kind, dict(of_kind), flush=True)
    minutes = sum(one["minutes"] for one in counts.values())
    stored = sum(one["stored"] for one in counts.values())
    print(f"{minutes} minutes: {stored} false entries, {60 * stored / max(1, minutes):.1f} an hour")


if __name__ == "__main__":
    main()
