"""Recordings of real people from Debian's packages: ``python -m tests.bench.speech_people OUT``.

    apt install asterisk-core-sounds-en-g722 saytime tuxpaint-stamps-default scid-data \\
        klettres-data ktuberling-data

Prompts of telephones, clocks and children's games that are installed, or unpacked below another
folder (``--root``, into which ``dpkg-deb -x`` put them), become 16 kHz mono WAVs OUT/SPEAKER/*.wav
and OUT/list.tsv (file, speaker, word), as ``speech_numbers``, ``speech_digits`` and the stage
people of ``models.spoken`` read them. Each word was said alone. Only what a file's name tells for
certain is taken. The speakers asterisk, saytime, tuxpaint and tuxpaint_gb are kept for scoring and
never trained on; the others are heard in training.

asterisk-core-sounds is CC BY-SA 3.0; saytime GPL; tuxpaint-stamps and scid are GPL-2; klettres and
ktuberling GPL-2 or later. Nothing of them is committed or shipped. ffmpeg decodes the 16 kHz
prompts of asterisk; without it asterisk-core-sounds-en-wav has the same at 8 kHz.
"""

from __future__ import annotations

import argparse
import calendar
import re
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr

from fieldnote.speech.engine import SAMPLE_RATE
from fieldnote.speech.sound import Samples
from tests.bench.speech_phrases import ONES, TEENS, TENS

SCORED = ("asterisk", "saytime", "tuxpaint", "tuxpaint_gb")
"""Speakers that no net of ours may hear in training."""

NUMBERS = {
    **{str(number): word for number, word in enumerate((*ONES, *TEENS))},
    **{str(10 * number): word for number, word in enumerate(TENS, 2)},
}
ORDINALS = {
    **{"one": "first", "two": "second", "three": "third", "five": "fifth"},
    **{"eight": "eighth", "nine": "ninth", "twelve": "twelfth"},
}
"""Those that don't just end in "th"."""
PHONETIC = (
    *("alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india"),
    *("juliet", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo"),
    *("sierra", "tango", "uniform", "victor", "whiskey", "xray", "yankee", "zulu"),
)
SIGNS = (
    *("asterisk", "at", "dash", "dot", "equals", "plus", "slash", "space", "zed"),
    *"abcdefghijklmnopqrstuvwxyz",
)
PROMPTS = {
    **{word: word for word in ("hours", "minutes", "seconds")},
    **{"vm-and": "and", "vm-minutes": "minutes"},
}
CLOCK = {"am": "a m", "pm": "p m", "oclock": "o'clock"}
MOVES = {
    **{word: word.lower() for word in ("Back", "Bishop", "Check", "King", "Knight", "Mate")},
    **{word: word.lower() for word in ("Promote", "Queen", "Rook", *"abcdefgh")},
    "x": "takes",
}
THINGS = {"broccolli": "broccoli", "sphynx": "sphinx", "ufo": "u f o"}
TWO_WORDS = ("fallingstar", "palmtree", "the_time_is")

Word = Callable[[str], str | None]
"""What the file of this name, without folder and suffix, says; None: that isn't certain."""


def ordinal(word: str) -> str:
    return ORDINALS.get(word) or re.sub("y$", "ie", word) + "th"


def asterisk_digit(name: str) -> str:
    kind, _, rest = name.partition("-")
    if kind == "h":
        return ordinal(NUMBERS.get(rest, rest))
    if kind == "day":  # 0 is Sunday
        return calendar.day_name[int(rest) - 1].lower()
    if kind == "mon":  # 0 is January
        return calendar.month_name[int(rest) + 1].lower()
    if name == "oclock":
        return "o'clock"
    return NUMBERS.get(name, name.replace("-", " "))


def asterisk_letter(name: str) -> str | None:
    return "percent" if name == f"ascii{ord('%')}" else name if name in SIGNS else None


def asterisk_phonetic(name: str) -> str | None:
    first = name.removesuffix("_p")
    return "niner" if first == "9" else {word[0]: word for word in PHONETIC}.get(first)


def saytime_word(name: str) -> str | None:
    return None if name in TWO_WORDS else NUMBERS.get(name) or CLOCK.get(name, name)


def scid_word(name: str) -> str | None:
    return NUMBERS.get(name) or MOVES.get(name)


def ktuberling_word(name: str) -> str | None:
    """Some names tell the scene first: egypt_camel."""
    thing = name.rpartition("_")[2]
    return None if thing in TWO_WORDS else THINGS.get(thing, thing)


def first_letter(name: str) -> str:
    return name[0].lower()


def first_digit(name: str) -> str:
    return NUMBERS[name[0]]


@dataclass(frozen=True)
class Source:
    """files: a pattern below the root."""

    package: str
    licence: str
    speaker: str
    files: str
    word: Word


def asterisk(form: str) -> tuple[Source, ...]:
    package, licence = f"asterisk-core-sounds-en-{form}", "CC BY-SA 3.0"
    folder = "usr/share/asterisk/sounds/en_US_f_Allison"
    return (
        Source(package, licence, "asterisk", f"{folder}/digits/*.{form}", asterisk_digit),
        Source(package, licence, "asterisk", f"{folder}/letters/*.{form}", asterisk_letter),
        Source(package, licence, "asterisk", f"{folder}/phonetic/*.{form}", asterisk_phonetic),
        Source(package, licence, "asterisk", f"{folder}/*.{form}", PROMPTS.get),
    )


def tuxpaint(speaker: str, files: str, word: Word) -> Source:
    path = f"usr/share/tuxpaint/stamps/symbols/{files}"
    return Source("tuxpaint-stamps-default", "GPL-2", speaker, path, word)


def klettres(speaker: str, language: str) -> Source:
    path = f"usr/share/klettres/{language}/alpha/?.ogg"
    return Source("klettres-data", "GPL-2+", speaker, path, first_letter)


LETTERS = "alphabets/english/filled/lowercase/?_filled_en_GB.ogg"
TUBERLING = "usr/share/ktuberling/sounds/en/*.ogg"
SOURCES = (
    *asterisk("g722"),
    *asterisk("wav"),
    Source("saytime", "GPL", "saytime", "usr/share/saytime/*.au", saytime_word),
    tuxpaint("tuxpaint", "math/[0-9].ogg", first_digit),
    tuxpaint("tuxpaint_gb", "math/[0-9]_en_GB.ogg", first_digit),
    tuxpaint("tuxpaint_gb", LETTERS, first_letter),
    Source("scid-data", "GPL-2", "scid", "usr/share/scid/sounds/*.wav", scid_word),
    klettres("klettres_en", "en"),
    klettres("klettres_engb", "en_GB"),
    Source("ktuberling-data", "GPL-2+", "ktuberling", TUBERLING, ktuberling_word),
)
"""Of the packages with the same speaker the first that is there and can be read is taken."""


def sound_of(path: Path) -> Samples:
    """At 16 kHz, mono, not clipped; one of these has fewer Hz than the product accepts."""
    if path.suffix == ".g722":
        command = ["ffmpeg", "-nostdin", "-loglevel", "error", "-f", "g722", "-i", str(path)]
        command += ["-f", "s16le", "-ac", "1", "-ar", str(SAMPLE_RATE), "-"]
        raw = subprocess.run(command, check=True, capture_output=True).stdout
        return np.asarray(np.frombuffer(raw, "<i2") / 2**15, np.float32)
    if path.suffix == ".au":  # without the head that files of this name have elsewhere
        file = soundfile.SoundFile(path, "r", 8_000, 1, "ULAW", format="RAW")
    else:
        file = soundfile.SoundFile(path)
    with file:
        samples = file.read(dtype="float32", always_2d=True).mean(axis=1)
    resampled = soxr.resample(samples, file.samplerate, SAMPLE_RATE)
    return np.asarray(resampled / max(1.0, np.abs(resampled).max()), np.float32)


def words_in(root: Path, package: str) -> Iterator[tuple[Path, Source, str]]:
    """The package's files with what each says."""
    for source in SOURCES:
        if source.package == package:
            for path in sorted(root.glob(source.files)):
                if word := source.word(path.stem):
                    yield path, source, word


def packages_in(root: Path, decodes: bool) -> dict[str, str]:
    """Speaker → the package that is there and can be read. decodes: g722, too."""
    found: dict[str, str] = {}
    for source in SOURCES:
        readable = decodes or not source.files.endswith(".g722")
        if source.speaker not in found and readable and any(root.glob(source.files)):
            found[source.speaker] = source.package
    return found


def gather(root: Path, out: Path, packages: Iterable[str]) -> Iterator[tuple[Source, str]]:
    """Write the WAVs and the list; give what was written."""
    takes: Counter[tuple[str, str]] = Counter()
    out.mkdir(parents=True, exist_ok=True)
    with (out / "list.tsv").open("w", encoding="utf-8") as rows:
        for package in packages:
            for path, source, word in words_in(root, package):
                take = takes[source.speaker, word]
                takes[source.speaker, word] += 1
                file = out / source.speaker / f"{word.replace(' ', '-')}-{take}.wav"
                file.parent.mkdir(exist_ok=True)
                soundfile.write(file, sound_of(path), SAMPLE_RATE, subtype="PCM_16")
                rows.write(f"{file.relative_to(out).as_posix()}\t{source.speaker}\t{word}\n")
                yield source, word


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("out", type=Path)
    parser.add_argument("--root", type=Path, default=Path("/"), help="where the packages lie")
    options = parser.parse_args()
    decodes = shutil.which("ffmpeg") is not None
    there = packages_in(options.root, decodes)
    counts = Counter(
        (source.speaker, source.package, source.licence)
        for source, _ in gather(options.root, options.out, dict.fromkeys(there.values()))
    )
    for (speaker, package, licence), count in counts.items():
        use = "scoring" if speaker in SCORED else "training"
        print(f"{speaker}: {count} recordings for {use} ({package}, {licence})")
    if not decodes and "asterisk" in packages_in(options.root, True).keys() - there.keys():
        there["asterisk"] = "asterisk-core-sounds-en-g722"
        mend = "apt install ffmpeg, or asterisk-core-sounds-en-wav (8 kHz)"
        print(f"asterisk: .g722 needs ffmpeg: {mend}", file=sys.stderr)
    missing = {source.speaker: source.package for source in reversed(SOURCES)}
    if wanted := {package for speaker, package in missing.items() if speaker not in there}:
        print(f"missing: apt install {' '.join(sorted(wanted))}", file=sys.stderr)
    if not counts:
        sys.exit(1)


if __name__ == "__main__":
    main()
