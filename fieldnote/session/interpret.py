"""Joins what the engines heard with the language: the lines of ``fieldnote hear``."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from fieldnote.errors import FieldnoteError
from fieldnote.language import Context, Entry, Grammar, parse, speak
from fieldnote.session.confirm import Decision, Support, decide
from fieldnote.session.support import strange, support_of
from fieldnote.speech import (
    Engine,
    engines,
    is_silence,
    length,
    level_warnings,
    read_sound,
    utterances,
)
from fieldnote.speech.fusion import FREE, Candidate, Opinion, confidence, hear_together
from fieldnote.speech.prior import WEIGHTS, oddities
from fieldnote.speech.sound import Samples

WHOLE_FILE = 8.0
"""s; a file no longer than this in which no voice was found is heard whole, to be sure."""

NO_ENTRY = frozenset({"none", "unclear"})

ODDNESS: Mapping[str, float] = {
    **WEIGHTS,
    **{"bare": -1.9, "command": -0.8, "open": -0.3, "short": -0.5, "unclear": -5.0, "none": -5.0},
}
"""Log-probability of what is odd in a sentence, and of an entry's kind where it isn't the usual. A
bare number is mostly a unit not heard; what whisper hears freely beside the language is mostly a
reading misheard by one word."""

SET_PHRASES = frozenset({"command", "open", "short"})
"""Kinds of entries that are said in set phrases, so that single words in them are not odd."""

SOUNDS_LIKE = {"four": "port", "port": "four", "to": "two", "at": "eight"}
"""First words that engines take for each other: "port twenty seven" is 27 at port or 427. Whichever
is heard, the other is a candidate too, so that it must be clearly less likely."""

TALK = Entry("none")
"""All talk means the same: nothing to be noted. It stands among the candidates, so that a reading
must be likelier than what was heard freely."""

STRANGE = "something outside the vocabulary was said too"

NO_CONTEXT = Context()
NO_OPINION = Opinion((), {}, ())


@dataclass(frozen=True, slots=True)
class Heard:
    """One utterance understood.

    entry: ``unclear`` or ``none`` unless the confirmation policy lets it be stored at once.
    heard: the words. confidence: probability in [0, 1] that entry is what was said.
    engine: the engine or engines that were asked, joined by "+".
    second: what the second engine made of it by itself ({"engine", "heard", "value"}).
    warnings: on the sound, for a person. opinion: everything the engines said.
    """

    entry: Entry
    heard: str
    confidence: float
    engine: str
    second: dict[str, str | None] | None = None
    warnings: tuple[str, ...] = ()
    opinion: Opinion = field(default=NO_OPINION, repr=False)

    @property
    def support(self) -> Support:
        """How the engines stand to the likeliest meaning."""
        return support_of(self.entry, self.opinion)


class Meanings:
    """What the engines' sentences mean, and how likely each is before any sound is heard."""

    def __init__(self, context: Context = NO_CONTEXT) -> None:
        self._context = context
        self._entries: dict[str, Entry] = {}
        self._names = {word for label in context.labels for word in label.lower().split()}

    def entry(self, sentence: str) -> Entry:
        if sentence not in self._entries:
            entry = parse(sentence, self._context)
            if strange(sentence):
                if entry.kind == "none":
                    entry = replace(entry, reason="talk, or words that are not known")
                else:
                    entry = replace(entry, kind="unclear", command=None, reason=STRANGE)
            self._entries[sentence] = entry
        return self._entries[sentence]

    def meaning(self, sentence: str, engine: str) -> Hashable | None:
        entry = self.entry(sentence)
        if entry.kind == "none":  # of an engine that is bound to the grammar, a mumble
            return TALK if engine in FREE or strange(sentence) else None
        return what_counts(entry)

    def prior(self, sentence: str) -> float:
        return sum(ODDNESS[kind] * count for kind, count in self.oddities(sentence).items())

    def oddities(self, sentence: str) -> Counter[str]:
        """How often each kind of ODDNESS is met in a sentence."""
        if strange(sentence):  # the engine's own graph has put a price on it
            return Counter()
        kind = self.entry(sentence).kind
        words = [word for word in sentence.split() if word not in self._names]
        found = Counter[str]() if kind in SET_PHRASES else oddities(words)
        if kind in ODDNESS:
            found[kind] += 1
        return found

    def together(self, samples: Samples, engines: Sequence[Engine]) -> Opinion:
        """The engines' opinion of one utterance."""
        return hear_together(samples, engines, self.meaning, in_words, self.prior)


class Listener:
    """The engines at hand, asked together. Made once: the engines load their models."""

    def __init__(self, engines: Sequence[Engine]) -> None:
        self.engines = tuple(engines)
        self.name = "+".join(engine.name for engine in engines)

    def interpret(self, samples: Samples, context: Context = NO_CONTEXT) -> Heard:
        """What was said in one utterance, as far as the confirmation policy lets it stand."""
        warnings = level_warnings(samples)
        if is_silence(samples):
            return Heard(Entry("none", reason=warnings[0]), "", 0.0, self.name, None, warnings)
        meanings = Meanings(context)
        opinion = meanings.together(samples, self.engines)
        return replace(understood(opinion, meanings, self.name), warnings=warnings)


def understood(opinion: Opinion, meanings: Meanings, engine: str) -> Heard:
    """What the confirmation policy lets stand of the engines' opinion."""
    free = next((one.text for one in opinion.hypotheses if one.text), "")
    if not opinion.candidates:
        entry = without_candidate(free, opinion, meanings)
        return Heard(entry, free, 0.0, engine, opinion=opinion)
    best = opinion.candidates[0]
    second = second_opinion(opinion, meanings)
    sure = confidence(opinion)
    entry = meanings.entry(best.sentence)
    heard = Heard(entry, best.sentence, sure, engine, second, opinion=opinion)
    if entry.kind in NO_ENTRY:  # likelier than any entry: talk, or what must be asked
        return heard
    match decide(heard.support, sure, len(best.sentence.split())):
        case Decision.STORE:
            return heard
        case Decision.ASK:
            return replace(heard, entry=asked_again(opinion.candidates, meanings))
        case Decision.DROP:
            reason = "nothing was heard with any certainty"
            return replace(heard, entry=Entry("none", text=free, reason=reason))


def hear_files(
    paths: Iterable[Path | str],
    engine: str | None = None,
    context: Context = NO_CONTEXT,
    models: Path | None = None,
) -> Iterator[dict[str, Any]]:
    """The lines of ``fieldnote hear``: one dict an utterance, as the machine interface has them.

    A file that can't be read gives one line of kind ``none`` with the ``reason`` and, in
    ``error``, the exit status it would have alone; the files after it still get their turn.

    engine: one engine's name instead of all that are at hand. models: a vosk model's folder.

    Raises:
        MissingPartError: the engine can't be used here.
    """
    names = [engine] if engine else None
    listener = Listener(engines(Grammar.build(context), names, models))
    for path in paths:
        try:
            yield from hear_file(path, listener, context)
        except FieldnoteError as fault:
            entry = Entry("none", reason=str(fault))
            yield {**as_line(path, 0.0, 0.0, Heard(entry, "", 0.0, "")), "error": fault.exit_status}


def hear_file(
    path: Path | str, listener: Listener, context: Context = NO_CONTEXT
) -> Iterator[dict[str, Any]]:
    """The lines of one file; a file without a voice gives one line of kind ``none``."""
    found = False
    for utterance in utterances(path):
        found = True
        heard = listener.interpret(utterance.samples, context)
        yield as_line(path, utterance.start, utterance.end, heard)
    if not found:
        yield unvoiced(path, listener, context)


def unvoiced(path: Path | str, listener: Listener, context: Context) -> dict[str, Any]:
    """A file in which the detector found no voice; a short one is heard whole, to be sure."""
    seconds = length(path)
    if seconds <= WHOLE_FILE:
        sound = read_sound(path)
        return as_line(path, 0.0, seconds, listener.interpret(sound.samples, context))
    entry = Entry("none", reason="no voice was found in this file")
    return as_line(path, 0.0, seconds, Heard(entry, "", 0.0, listener.name))


def as_line(path: Path | str, start: float, end: float, heard: Heard) -> dict[str, Any]:
    return {
        **heard.entry.to_json(),
        "file": str(path),
        "start": start,
        "end": end,
        "heard": heard.heard,
        "confidence": round(heard.confidence, 3),
        "engine": heard.engine,
        "warnings": list(heard.warnings),
    }


def second_opinion(opinion: Opinion, meanings: Meanings) -> dict[str, str | None] | None:
    """What the second engine heard by itself, for the record."""
    if len(opinion.hypotheses) < 2:
        return None
    other = opinion.hypotheses[1]
    return {
        "engine": other.engine,
        "heard": other.text,
        "value": meanings.entry(other.text).value if other.words else None,
    }


def without_candidate(free: str, opinion: Opinion, meanings: Meanings) -> Entry:
    """No candidate: an utterance that the language finds unclear says why, all else is talk."""
    for hypothesis in opinion.hypotheses:
        entry = meanings.entry(hypothesis.text)
        if entry.kind == "unclear":
            return entry
    return Entry("none", text=free)


def asked_again(candidates: Sequence[Candidate], meanings: Meanings) -> Entry:
    """The unclear entry, with the likeliest candidates to choose from."""
    likely = [
        entry
        for one in candidates[:4]
        if one.odds > -6.0 and (entry := meanings.entry(one.sentence)).kind not in NO_ENTRY
    ]
    best = likely[0]
    names = [speak(entry) for entry in likely[:2]]  # more cannot be kept in mind
    reason = f"{' or '.join(names)}?" if len(names) > 1 else f"did you say {names[0]}?"
    others = tuple(entry.value or entry.text for entry in likely[1:])
    return replace(best, kind="unclear", command=None, reason=reason, alternatives=others)


def what_counts(entry: Entry) -> Hashable:
    """What makes two entries the same: all but the words and the hedges."""
    text = entry.text if entry.kind == "remark" else ""
    return replace(entry, text=text, hedge=None, reason=None, alternatives=(), corrected=None)


def in_words(sentence: str) -> Sequence[str]:
    """A sentence with digits in the words that say it; others as they are, with a like-sounding
    one where a number may be a name."""
    if re.search(r"[\d%°Ωµ]", sentence):
        entry = parse(sentence)
        return (speak(entry), sentence) if entry.kind not in NO_ENTRY else (sentence,)
    first, _, rest = sentence.partition(" ")
    if first in SOUNDS_LIKE and rest:
        return (sentence, f"{SOUNDS_LIKE[first]} {rest}")
    return (sentence,)
