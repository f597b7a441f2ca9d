"""A vosk model beside pocketsphinx: the same sounds, the same language model, the same run.

    python -m tests.bench.own_model --sounds FOLDER [--digits FOLDER --speakers NAME ...]
        [--chatter FOLDER] [--model FOLDER]

FOLDER of sounds and chatter is a set of ``speech_voices``; digits are WAVs of single digits named
DIGIT_SPEAKER_TAKE.wav. Told of each engine and condition: the share whose likeliest sentence means
exactly what was said, with its 95 % interval (Wilson), and time; of the vosk engine also what
``fieldnote hear --engine vosk`` would have stored, right and wrong; in chatter, words
heard that nobody said, a minute.

vosk makes bigrams of a list of phrases; pocketsphinx gets the same bigrams as an ARPA file, our
pronunciations, and its own US English sound model.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import re
import resource
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from rich.console import Console
from rich.table import Table

from fieldnote.language import Grammar, parse
from fieldnote.session.interpret import NO_ENTRY, Listener, what_counts
from fieldnote.speech import read_sound, vosk
from fieldnote.speech.pronunciations import known
from fieldnote.speech.sound import Samples
from tests.bench.speech import interval
from tests.bench.speech_digits import takes
from tests.bench.speech_noise import RATE, in_noise
from tests.bench.speech_phrases import ONES
from tests.bench.speech_trial import Labelled, labelled

Hear = Callable[[Samples], str]
CONDITIONS: dict[str, float | None] = {"clean": None, "20 dB": 20.0, "10 dB": 10.0}


def by_vosk(model: Path, phrases: Sequence[str]) -> Hear:
    """vosk's likeliest sentence; phrases with words that the model lacks are left out."""
    package = vosk.load_vosk()
    loaded = package.Model(str(model))
    words = vosk.words_of(model)
    phrases = [phrase for phrase in phrases if words.issuperset(phrase.split())]
    grammar = json.dumps([*phrases, vosk.UNKNOWN])

    def hear(samples: Samples) -> str:
        recogniser = package.KaldiRecognizer(loaded, RATE, grammar)
        recogniser.AcceptWaveform(vosk.pcm(samples))
        text: str = json.loads(recogniser.FinalResult())["text"]
        return text

    return hear


def by_pocketsphinx(phrases: Sequence[str]) -> Hear:
    """pocketsphinx with the bigrams that vosk makes of the same phrases."""
    from pocketsphinx import Decoder

    words = {word for phrase in phrases for word in phrase.split()}
    lines = [
        f"{word}{f'({place + 1})' if place else ''} {' '.join(phones)}"
        for word in sorted(words)
        for place, phones in enumerate(known(word))
    ]
    with tempfile.TemporaryDirectory() as scratch:
        pronounced, bigrams = Path(scratch, "words.dict"), Path(scratch, "bigrams.arpa")
        pronounced.write_text("\n".join(lines) + "\n")
        bigrams.write_text(arpa(phrases))
        decoder = Decoder(dict=str(pronounced), lm=str(bigrams), loglevel="FATAL", samprate=RATE)

    def hear(samples: Samples) -> str:
        decoder.start_utt()
        decoder.process_raw(vosk.pcm(samples), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        return found.hypstr if found else ""

    return hear


def arpa(phrases: Sequence[str]) -> str:
    """The bigrams that vosk counts, in the ARPA format: half of the weight goes to single words."""
    end = "</s>"
    pairs: dict[str, Counter[str]] = defaultdict(Counter)
    alone: Counter[str] = Counter()
    for phrase in phrases:
        said = [*phrase.split(), end]
        alone.update(said)
        for first, second in itertools.pairwise(said):
            pairs[first][second] += 1
    half, total = math.log10(0.5), alone.total()
    ones = [
        f"{half + math.log10(count / total):.4f}\t{word}" + ("" if word == end else f"\t{half:.4f}")
        for word, count in sorted(alone.items())
    ]
    twos = [
        f"{half + math.log10(count / seconds.total()):.4f}\t{first} {second}"
        for first, seconds in sorted(pairs.items())
        for second, count in sorted(seconds.items())
    ]
    head = [
        *("\\data\\", f"ngram 1={len(ones) + 1}", f"ngram 2={len(twos)}", ""),
        *("\\1-grams:", "-99\t<s>\t0"),
    ]
    return "\n".join([*head, *ones, "", "\\2-grams:", *twos, "", "\\end\\", ""])


@dataclass
class Tally:
    """Counts of one engine in one condition; sound and spent in s."""

    right: int = 0
    count: int = 0
    stored: Counter[str] = field(default_factory=Counter)
    spent: float = 0.0
    sound: float = 0.0

    def cells(self) -> list[str]:
        low, high = interval(self.right, self.count)
        stored = f"{self.stored['right']}, {self.stored['wrong']}" if self.stored else ""
        return [
            str(self.count),
            f"{100 * self.right / self.count:.1f}",
            f"{100 * low:.0f} to {100 * high:.0f}",
            stored,
            f"{self.spent / self.sound:.3f}",
        ]


def tallied(
    files: Sequence[Labelled], decibels: float | None, hear: Hear, listener: Listener | None
) -> Tally:
    tally = Tally()
    for seed, (file, _, words) in enumerate(files):
        samples = in_noise(read_sound(file).samples, decibels, seed)
        said = what_counts(parse(words))
        begun = time.process_time()
        heard = hear(samples)
        tally.spent += time.process_time() - begun
        tally.sound += len(samples) / RATE
        tally.count += 1
        tally.right += what_counts(parse(heard)) == said
        if listener:
            entry = listener.interpret(samples).entry
            right = what_counts(entry) == said
            tally.stored["asked" if entry.kind in NO_ENTRY else "right" if right else "wrong"] += 1
    return tally


def digits_of(folder: Path, speaker: str, most: int) -> list[Labelled]:
    """Single digits of one speaker, each as often as the others."""
    of_speaker = takes(folder)[speaker]
    files = [(file, ONES[int(digit)]) for digit in sorted(of_speaker) for file in of_speaker[digit]]
    step = max(1, len(files) // most)
    return [(file, speaker, word) for file, word in files[::step]]


def false_words(folder: Path, hear: Hear, every: int) -> tuple[int, float]:
    """Words heard in talk that nobody said in it, and its minutes."""
    words, minutes = 0, 0.0
    for seed, (file, _, said) in enumerate(labelled(folder, every)):
        samples = in_noise(read_sound(file).samples, 20.0, seed)
        real = {vosk.UNKNOWN, *re.findall(r"[a-z']+", said.lower())}
        words += sum(word not in real for word in hear(samples).split())
        minutes += len(samples) / RATE / 60
    return words, minutes


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--model", type=Path, help="otherwise the one that the product uses")
    parser.add_argument("--sounds", type=Path)
    parser.add_argument("--digits", type=Path)
    parser.add_argument("--speakers", nargs="+", default=[], help="of the digits")
    parser.add_argument("--chatter", type=Path)
    parser.add_argument("--every", type=int, default=1, help="of so many files take one")
    parser.add_argument("--most", type=int, default=100, help="digits a speaker")
    options = parser.parse_args()
    model = options.model or vosk.find_model()
    if model is None:
        parser.error("there is no model: name one by --model")
    grammar = Grammar.build()
    phrases = vosk.phrases_of(grammar)
    ear = vosk.VoskEngine(grammar, model)
    listener = Listener([ear])
    print("memory with the vosk engine", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)

    everything: dict[str, Hear] = {
        "vosk": lambda samples: ear.hear(samples).text,
        "pocketsphinx": by_pocketsphinx(phrases),
    }
    eleven = [*ONES, "oh"]
    few = {"vosk": by_vosk(model, eleven), "pocketsphinx": by_pocketsphinx(eleven)}
    sets: list[tuple[str, Sequence[Labelled], dict[str, Hear], Listener | None]] = []
    if options.sounds:
        sets.append(("voices", labelled(options.sounds, options.every), everything, listener))
    for speaker in options.speakers:
        digits = digits_of(options.digits, speaker, options.most)
        sets.append((f"{speaker}, all words", digits, everything, listener))
        sets.append((f"{speaker}, digits only", digits, few, None))
    headings = ("exact %", "95 %", "stored right, wrong", "CPU-s a s")
    table = Table("sounds", "condition", "engine", "n", *headings, title=model.name)
    for name, files, hearing, judge in sets:
        for condition, decibels in CONDITIONS.items():
            for engine, hear in hearing.items():
                ours = judge if engine == "vosk" else None
                cells = tallied(files, decibels, hear, ours).cells()
                table.add_row(name, condition, engine, *cells)
                print(name, condition, engine, *cells, flush=True)
    Console(width=110).print(table)
    if options.chatter:
        for engine, hear in everything.items():
            words, minutes = false_words(options.chatter, hear, options.every)
            print(f"chatter: {engine}: {words} false words in {minutes:.1f} min")


if __name__ == "__main__":
    main()
