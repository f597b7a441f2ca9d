"""Real people's numbers: ``python -m tests.bench.speech_numbers FOLDER``.

FOLDER has single words of a person as WAVs and ``list.tsv`` (file, speaker, word; further columns
are not read), such as the prompts of telephone programs. Numbers and readings are spliced from them
with short gaps: teens and tens in most of them, for thirteen and thirty are what an ear confuses
and what digits (``speech_digits``) can't show. Only what the speaker has all the words of is said,
nothing twice. What counts as right is what ``fieldnote.language.parse`` makes of the words.

Each word was said alone: these numbers lack the melody and the slurred joints of whole ones, so the
figures tell of a real throat, not of running speech.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from fieldnote.language import Grammar, parse
from fieldnote.session.interpret import NO_ENTRY, Listener, what_counts
from fieldnote.speech import engines, read_sound
from fieldnote.speech.sound import Samples
from tests.bench.speech import interval
from tests.bench.speech_digits import GAPS
from tests.bench.speech_noise import in_noise
from tests.bench.speech_phrases import ONES, TEENS, TENS
from tests.bench.speech_record import Sounding

Words = Mapping[str, Sequence[Path]]
"""A speaker's words, and the files of each."""

COUNT = 60
TRIES = 200
"""Drawings for each number wanted; a speaker of few words may have no more to say."""
UNITS = ("percent", "seconds", "minutes", "hours")


def words_of(folder: Path) -> dict[str, Words]:
    """Speaker → word → files."""
    found: dict[str, dict[str, list[Path]]] = defaultdict(lambda: defaultdict(list))
    for row in (folder / "list.tsv").read_text(encoding="utf-8").splitlines():
        file, speaker, word = row.split("\t")[:3]
        found[speaker][word].append(folder / file)
    return {speaker: dict(words) for speaker, words in found.items()}


def tens(rng: random.Random) -> str:
    return rng.choice(TENS)


def teens(rng: random.Random) -> str:
    return rng.choice(TEENS)


def two_figures(rng: random.Random) -> str:
    return f"{rng.choice(TENS)} {rng.choice(ONES[1:])}"


def tail(rng: random.Random) -> str:
    return rng.choice((teens, teens, tens, two_figures))(rng)


def hundreds(rng: random.Random) -> str:
    return f"{rng.choice(ONES[1:])} hundred{rng.choice((' and ', ' '))}{tail(rng)}"


def thousands(rng: random.Random) -> str:
    after = rng.choice((f"{rng.choice(ONES[1:])} hundred", f"and {tail(rng)}"))
    return f"{rng.choice((*ONES[1:], *TEENS, *TENS))} thousand {after}"


def short(rng: random.Random) -> str:
    """As people say three figures: "three thirteen"."""
    return f"{rng.choice(ONES[1:])} {tail(rng)}"


def in_a_row(rng: random.Random) -> str:
    zero = rng.choice(("oh", "zero"))
    figures = [rng.choice((zero, *ONES)) for _ in range(rng.choice((2, 3)))]
    return " ".join([rng.choice(ONES[1:]), *figures])


FORMS: tuple[tuple[float, Callable[[random.Random], str]], ...] = (
    (0.18, teens),
    (0.14, tens),
    (0.18, two_figures),
    (0.20, hundreds),
    (0.08, thousands),
    (0.10, short),
    (0.12, in_a_row),
)


def reading(rng: random.Random) -> str:
    ((_, draw),) = rng.choices(FORMS, [share for share, _ in FORMS])
    sign = "minus " if rng.random() < 0.12 else ""
    unit = f" {rng.choice(UNITS)}" if rng.random() < 0.45 else ""
    return f"{sign}{draw(rng)}{unit}"


def sayings(words: Words, count: int, rng: random.Random) -> list[str]:
    """Numbers that can be said in these words and that the language understands."""
    found: dict[str, None] = {}
    for _ in range(count * TRIES):
        said = reading(rng)
        if all(word in words for word in said.split()) and parse(said).kind not in NO_ENTRY:
            found[said] = None
        if len(found) == count:
            break
    return list(found)


def spliced(said: str, words: Words, rng: random.Random) -> Samples:
    parts = []
    for word in said.split():
        sound = read_sound(rng.choice(words[word])).samples
        parts += [sound, np.zeros(round(rng.uniform(*GAPS) * 16_000), np.float32)]
    joined = np.concatenate(parts)
    return np.asarray(joined / np.abs(joined).max() * 0.5, np.float32)


def numbered(folder: Path, condition: str, count: int = COUNT) -> Iterator[Sounding]:
    """Numbers of every speaker in the folder, as `speech_record` keeps them.

    The same ones under every condition.
    """
    decibels = None if condition == "clean" else float(condition)
    for speaker, words in words_of(folder).items():
        rng = random.Random(speaker)
        for seed, said in enumerate(sayings(words, count, rng)):
            samples = spliced(said, words, rng)
            name = f"{speaker.replace('/', '-')}-{seed:03d}-{said.replace(' ', '-')}"
            yield Sounding(name, speaker, condition, said, in_noise(samples, decibels, seed))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=COUNT, help="numbers a speaker")
    parser.add_argument("--conditions", nargs="+", default=["clean", "10"])
    parser.add_argument("--engines", nargs="+")
    options = parser.parse_args()
    listener = Listener(engines(Grammar.build(), options.engines))
    for condition in options.conditions:
        counts: dict[str, Counter[str]] = defaultdict(Counter)
        for sounding in numbered(options.folder, condition, options.count):
            result = judged(listener, sounding)
            counts[sounding.voice][result] += 1
        for speaker, found in counts.items():
            print(speaker, condition, summary(found))


def judged(listener: Listener, sounding: Sounding) -> str:
    """Right, asked or wrong; what isn't right is told."""
    heard = listener.interpret(sounding.samples)
    said = what_counts(parse(sounding.words))
    if heard.entry.kind not in NO_ENTRY and what_counts(heard.entry) == said:
        return "right"
    result = "asked" if heard.entry.kind in NO_ENTRY else "wrong"
    made = f"{heard.entry.kind}, {heard.confidence:.2f}"
    print(f"  {result} {sounding.condition}: {sounding.words} → {heard.heard} ({made})", flush=True)
    return result


def summary(found: Counter[str]) -> str:
    """Each share with its 95 % interval."""
    told = []
    for result in ("right", "asked", "wrong"):
        low, high = interval(found[result], found.total())
        told.append(f"{result} {found[result]} ({100 * low:.0f} to {100 * high:.0f} %)")
    return f"of {found.total()}: " + ", ".join(told)


if __name__ == "__main__":
    main()
