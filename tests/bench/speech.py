"""Engine by condition, peers in the same run: ``python -m tests.bench.speech FOLDER``.

FOLDER has labelled WAVs as ``speech_voices`` makes them. For every engine and condition: entries
right with the 95 % interval (Wilson), wrong, asked; word error rate; time against the sound's own;
and at the end the process's peak memory. The peers are PocketSphinx with the bigrams of the same
grammar and plain whisper without our prompt: what they hear goes through the same parser.
"""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from rich.console import Console
from rich.table import Table

from fieldnote.language import Entry, Grammar, parse
from fieldnote.session.interpret import Listener, what_counts
from fieldnote.speech import engines, read_sound
from fieldnote.speech.sound import Samples
from fieldnote.speech.vosk import phrases_of
from models.spoken.lexicon import distance
from tests.bench.speech_noise import in_noise
from tests.bench.speech_trial import labelled

Hear = Callable[[Samples], tuple[str, Entry]]
"""Words as heard, and what is made of them."""


def ours(names: Sequence[str] | None) -> Hear:
    listener = Listener(engines(Grammar.build(), names))

    def hear(samples: Samples) -> tuple[str, Entry]:
        heard = listener.interpret(samples)
        return heard.heard, heard.entry

    return hear


def pocketsphinx() -> Hear:
    """With the bigrams that our vosk engine gets, and our pronunciations.

    The grammar itself, of 68,000 arcs, is far too slow for it.
    """
    from tests.bench.own_model import by_pocketsphinx

    decode = by_pocketsphinx(phrases_of(Grammar.build()))

    def hear(samples: Samples) -> tuple[str, Entry]:
        text = decode(samples)
        return text, parse(text)

    return hear


def plain_whisper() -> Hear:
    from fieldnote.speech.whisper import load_model, plain

    model = load_model(threads=2)

    def hear(samples: Samples) -> tuple[str, Entry]:
        segments, _ = model.transcribe(samples, language="en", beam_size=1, temperature=0.0)
        text = plain(" ".join(segment.text.strip() for segment in segments))
        return text, parse(text)

    return hear


def interval(right: int, count: int) -> tuple[float, float]:
    """Wilson's score interval at 95 % (Wilson 1927)."""
    z = 1.96
    share = right / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z * np.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    half /= 1 + z * z / count
    return max(0.0, middle - half), min(1.0, middle + half)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--every", type=int, default=1, help="of so many files take one")
    parser.add_argument("--conditions", nargs="+", default=["clean", "20", "10"])
    parser.add_argument("--peers", action="store_true", help="PocketSphinx and plain whisper too")
    parser.add_argument("--only", nargs="+", help="sets of engines, such as readings+vosk")
    options = parser.parse_args()
    makers: dict[str, Callable[[], Hear]] = {}
    for names in options.only or ["readings", "witness", "vosk", "all"]:
        chosen = None if names == "all" else names.split("+")
        makers[names] = lambda chosen=chosen: ours(chosen)
    if options.peers:
        makers |= {"PocketSphinx": pocketsphinx, "plain whisper": plain_whisper}
    counts = ("n", "right %", "95 %", "wrong %", "asked %", "WER %", "× time")
    table = Table("engine", "condition", *counts)
    files = labelled(options.folder, options.every)
    for name, make in makers.items():
        hear = make()
        for condition in options.conditions:
            cells = measured(hear, files, condition)
            table.add_row(name, condition, *cells)
            print(name, condition, *cells, flush=True)
    Console(width=110).print(table)
    print("peak memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024, "MB")


def measured(hear: Hear, files: Sequence[tuple[Path, str, str]], condition: str) -> list[str]:
    right = wrong = asked = errors = words = 0
    spent = sounded = 0.0
    decibels = None if condition == "clean" else float(condition)
    for seed, (file, _, said) in enumerate(files):
        samples = in_noise(read_sound(file).samples, decibels, seed)
        begun = time.perf_counter()
        heard, entry = hear(samples)
        spent += time.perf_counter() - begun
        sounded += len(samples) / 16_000
        if entry.kind in {"none", "unclear"}:
            asked += entry.kind == "unclear"
        elif what_counts(entry) == what_counts(parse(said)):
            right += 1
        else:
            wrong += 1
        errors += distance(said.split(), heard.split())
        words += len(said.split())
    low, high = interval(right, len(files))
    shares = [f"{100 * count / len(files):.1f}" for count in (right, wrong, asked)]
    return [
        str(len(files)),
        shares[0],
        f"{100 * low:.0f} to {100 * high:.0f}",
        *shares[1:],
        f"{100 * errors / words:.1f}",
        f"{spent / sounded:.2f}",
    ]


if __name__ == "__main__":
    main()
