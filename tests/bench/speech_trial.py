"""One labelled utterance heard under one condition: what the speech benchmarks count."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from fieldnote.language import Entry, parse
from fieldnote.session.interpret import (
    NO_ENTRY,
    Heard,
    Listener,
    what_counts,
)
from fieldnote.speech import read_sound
from fieldnote.speech.fusion import clues
from tests.bench.speech_noise import in_noise

Labelled = tuple[Path, str, str]
"""File, voice, words."""


@dataclass(frozen=True)
class Trial:
    """right: stored as said. wrong: stored otherwise. best: whether the likeliest candidate,
    stored or not, is what was said. among: whether any candidate is. talk: whether the likeliest is
    nothing that would be stored. clues: what the confidence
    is made of."""

    file: str
    voice: str
    condition: str
    words: str
    heard: str
    kind: str
    confidence: float
    support: str
    right: bool
    wrong: bool
    best: bool
    among: bool
    talk: bool
    clues: dict[str, float]

    def to_json(self) -> dict[str, object]:
        return asdict(self)


def labelled(folder: Path, every: int = 1) -> list[Labelled]:
    """The files of a folder made by ``speech_voices``: ``list.tsv`` has file, voice and words."""
    rows = (folder / "list.tsv").read_text(encoding="utf-8").splitlines()[::every]
    return [(folder / file, voice, words) for file, voice, words in (r.split("\t") for r in rows)]


def trials(listener: Listener, files: Iterable[Labelled], condition: str) -> Iterator[Trial]:
    """condition: "clean", or the signal-to-noise ratio in dB."""
    decibels = None if condition == "clean" else float(condition)
    for seed, (file, voice, words) in enumerate(files):
        heard = listener.interpret(in_noise(read_sound(file).samples, decibels, seed))
        yield trial(file, voice, condition, words, heard)


def trial(file: Path, voice: str, condition: str, words: str, heard: Heard) -> Trial:
    said = what_counts(parse(words))
    meanings = [candidate.meaning for candidate in heard.opinion.candidates]
    stored = heard.entry.kind not in {"none", "unclear"}
    right = stored and what_counts(heard.entry) == said
    return Trial(
        file=file.name,
        voice=voice,
        condition=condition,
        words=words,
        heard=heard.heard,
        kind=heard.entry.kind,
        confidence=heard.confidence,
        support="" if not meanings else heard.support,
        right=right,
        wrong=stored and not right,
        best=bool(meanings) and meanings[0] == said,
        among=said in meanings,
        talk=bool(meanings) and parse(heard.opinion.candidates[0].sentence).kind in NO_ENTRY,
        clues=clues(heard.opinion) if meanings else {},
    )


def same_value(one: Entry, other: Entry) -> bool:
    return (one.kind, one.value, one.unit) == (other.kind, other.value, other.unit)
