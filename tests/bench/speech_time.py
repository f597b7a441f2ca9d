"""How long the ear takes to get ready and to answer, and its memory, on folders of recordings.

    python -m tests.bench.speech_time samples/*.wav

Prints the default engines beside each engine alone, each in a process of its own.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from statistics import median


def measure(engine: str | None, files: list[str]) -> None:
    """One line: start, answers after an utterance's end (median and worst, s), peak memory."""
    begun = time.perf_counter()
    from fieldnote.language import Grammar
    from fieldnote.session.interpret import Listener
    from fieldnote.speech import engines, utterances

    listener = Listener(engines(Grammar.build(), names=[engine] if engine else None))
    start = time.perf_counter() - begun
    answers = []
    for file in files:
        for utterance in utterances(file):
            begun = time.perf_counter()
            listener.interpret(utterance.samples)
            answers.append(time.perf_counter() - begun)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{engine or 'default':10} ready {start:.2f} s  {len(answers)} answers: "
        f"median {median(answers):.2f} s, worst {max(answers):.2f} s  {peak:.0f} MiB",
        flush=True,
    )


def main() -> None:
    arguments = sys.argv[1:]
    if arguments[:1] == ["--only"]:
        measure(arguments[1] if arguments[1] != "default" else None, arguments[2:])
        return
    if not arguments:
        sys.exit("Name some sound files, for instance samples/*.wav.")
    for engine in ("default", "phoneme", "whisper"):
        command = [sys.executable, "-m", "tests.bench.speech_time", "--only", engine, *arguments]
        subprocess.run(command, check=True)


if __name__ == "__main__":
    main()
