"""How long the ear takes to get ready and to answer, and its memory, on folders of recordings.

    python -m tests.bench.speech_time samples/*.wav
    python -m tests.bench.speech_time --only phoneme+readings samples/*.wav

Prints the default engines beside each engine alone, each in a process of its own: the time from an
utterance handed over to its meaning; and what a person waits, from the end of the last word (as the
voice detector has it, some 0.1 s late) to the answer. For that the sound comes in as fast as a
microphone gives it, and is interpreted behind the silence, as files are, or ahead of its end.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

BLOCK = 1024
RATE = 16_000


class Paced:
    """A recording at the speed at which it was spoken."""

    def __init__(self, sound: NDArray[np.float32]) -> None:
        self._sound = sound

    def __iter__(self) -> Iterator[NDArray[np.float32]]:
        self.began = time.perf_counter()
        for place in range(0, len(self._sound), BLOCK):
            wait = self.began + (place + BLOCK) / RATE - time.perf_counter()
            time.sleep(max(0.0, wait))
            yield self._sound[place : place + BLOCK]


def waits(listener: object, files: list[str], *, live: bool) -> list[float]:
    from fieldnote.language import Context
    from fieldnote.session.hearing import Ear
    from fieldnote.speech import Utterance, read_sound

    found = []
    for file in files:
        source = Paced(read_sound(file).samples)
        with Ear(source, listener, Context, live=live) as ear:  # type: ignore[arg-type]
            for sound in ear:
                if isinstance(sound, Utterance):
                    ear.interpret(sound.samples, Context())
                    last_word = source.began + sound.end - sound.quiet
                    found.append(time.perf_counter() - last_word)
    return found


def measure(engine: str | None, files: list[str]) -> None:
    """Start, answers after an utterance is handed over, what a person waits, peak memory."""
    begun = time.perf_counter()
    from fieldnote.language import Grammar
    from fieldnote.session.interpret import Listener
    from fieldnote.speech import engines, utterances

    listener = Listener(engines(Grammar.build(), names=engine.split("+") if engine else None))
    start = time.perf_counter() - begun
    answers = []
    for file in files:
        for utterance in utterances(file):
            begun = time.perf_counter()
            listener.interpret(utterance.samples)
            answers.append(time.perf_counter() - begun)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{listener.name}: ready {start:.2f} s, {peak:.0f} MiB, {len(answers)} utterances")
    print(f"  handed over to answered     {times(answers)}")
    print(f"  last word to answered       {times(waits(listener, files, live=False))}")
    print(f"  … interpreted ahead         {times(waits(listener, files, live=True))}", flush=True)


def times(seconds: list[float]) -> str:
    median, most = np.percentile(seconds, [50, 95])
    return f"median {median:.2f} s, 95 % within {most:.2f} s, worst {max(seconds):.2f} s"


def main() -> None:
    arguments = sys.argv[1:]
    if arguments[:1] == ["--only"]:
        measure(arguments[1] if arguments[1] != "default" else None, arguments[2:])
        return
    if not arguments:
        sys.exit("Name some sound files, for instance samples/*.wav.")
    from fieldnote.speech import available

    for engine in ("default", *(each.name for each in available() if each.present)):
        command = [sys.executable, "-m", "tests.bench.speech_time", "--only", engine, *arguments]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
