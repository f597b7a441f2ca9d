"""The lines of ``fieldnote hear``: what is certain is an entry, what is not is asked about."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldnote.language import Context, Entry, Grammar, parse
from fieldnote.session.confirm import POLICY, Decision, Support, decide
from fieldnote.session.interpret import Heard, Listener, hear_files
from fieldnote.speech import engines
from fieldnote.speech.engine import Hypothesis, Word
from fieldnote.speech.fusion import Candidate, Opinion
from fieldnote.speech.sound import Samples
from tests.speech.conftest import real_people, silence, spoken  # noqa: F401  (fixtures)

Speak = Callable[[str], Samples]

KEYS = {
    *("kind", "value", "unit", "values", "label", "pins", "colour", "command", "text", "reason"),
    *("alternatives", "file", "start", "end", "heard", "confidence", "engine", "warnings"),
}


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory, spoken: Speak) -> Path:  # noqa: F811
    """Two utterances in one file."""
    file = tmp_path_factory.mktemp("session") / "session.wav"
    parts = [silence(0.6), spoken("ten point six ohms"), silence(1.2), spoken("twelve volts")]
    soundfile.write(file, np.concatenate([*parts, silence(0.6)]), 16_000)
    return file


@pytest.fixture(scope="module")
def listener() -> Listener:
    return Listener(engines(Grammar.build()))


def test_a_session_gives_a_line_an_utterance(session: Path) -> None:
    lines = list(hear_files([session]))
    assert [(line["value"], line["unit"]) for line in lines] == [("10.6", "Ohm"), ("12", "V")]
    for line in lines:
        assert line.keys() >= KEYS
        assert line["file"] == str(session)
        assert 0 <= line["confidence"] <= 1
        json.dumps(line)
    assert lines[0]["end"] <= lines[1]["start"]


def test_a_bad_file_has_its_line_and_the_others_their_turn(session: Path, tmp_path: Path) -> None:
    text = tmp_path / "text.wav"
    text.write_text("ten point six ohms")
    bad, missing, *good = hear_files([text, tmp_path / "none.wav", session])
    assert (bad["kind"], bad["error"]) == ("none", 2)
    assert "no sound file" in bad["reason"]
    assert missing["error"] == 2
    assert len(good) == 2


def test_silence_has_one_line_that_says_so(tmp_path: Path) -> None:
    file = tmp_path / "silence.wav"
    soundfile.write(file, silence(3), 16_000)
    (line,) = hear_files([file])
    assert line["kind"] == "none"
    assert line["warnings"][0].startswith("silence")


def test_prose_makes_no_reading(real_people: Path) -> None:  # noqa: F811
    """LibriVox readings, from Debian's pocketsphinx-testdata."""
    files = sorted((real_people / "librivox").glob("*.wav"))[:2]
    assert {line["kind"] for line in hear_files(files)} <= {"none", "unclear"}


def test_one_engine_can_be_named(session: Path) -> None:
    assert {line["engine"] for line in hear_files([session], engine="phoneme")} == {"phoneme"}


@pytest.mark.parametrize("times", [2, 4, 8])
def test_what_is_drowned_is_never_wrong(
    spoken: Speak,  # noqa: F811
    listener: Listener,
    times: int,
) -> None:
    """Speech 6, 12 and 18 dB under the noise: right, or asked about, or dropped."""
    words = spoken("thirteen point four volts")
    noise = np.random.default_rng(3).standard_normal(len(words)) * words.std() * times
    entry = listener.interpret((words + noise).astype(np.float32) * 0.3).entry
    right = (entry.value, entry.unit) == ("13.4", "V")
    assert entry.kind in {"unclear", "none"} or (right and times == 2)


def test_a_step_s_unit_goes_to_a_bare_number(spoken: Speak) -> None:  # noqa: F811
    context = Context(unit="V")
    listener = Listener(engines(Grammar.build(context)))
    heard = listener.interpret(spoken("twenty four point five"), context)
    assert (heard.entry.value, heard.entry.unit) == ("24.5", "V")
    assert heard.entry.unit_from == "step"


def test_the_policy_is_stricter_where_engines_differ() -> None:
    rules = {rule.support: rule for rule in POLICY}
    assert rules[Support.AGREED].store < rules[Support.DISPUTED].store
    assert rules[Support.AGREED].store < rules[Support.ALONE].store
    for rule in (rule for rule in POLICY if rule.support is not Support.STRANGE):
        assert decide(rule.support, rule.store) is Decision.STORE
        assert decide(rule.support, (rule.store + rule.ask) / 2) is Decision.ASK
        assert decide(rule.support, rule.ask / 2) is Decision.DROP
        assert decide(rule.support, rule.store, words=1) is not Decision.STORE


def opinion(
    first: str, *others: str, fit: float = -0.1, vosk: str | None = None, agree: bool = True
) -> Opinion:
    """Three engines' opinion, made by hand; vosk hears `vosk` and has no favourite then."""
    candidates = tuple(
        Candidate(sentence, sentence, -3.0 * place, {"readings": fit, "witness": fit})
        for place, sentence in enumerate((first, *others))
    )
    names = ("readings", "witness", "vosk")
    texts = (first, first if agree else others[0], vosk or first)
    heard = (Hypothesis(name, words(text), 0.9) for name, text in zip(names, texts, strict=True))
    favourites = dict(zip(names, (*texts[:2], None if vosk else first), strict=True))
    return Opinion(candidates, favourites, tuple(heard))


def words(sentence: str) -> tuple[Word, ...]:
    return tuple(Word(word, 0.0, 0.0, 1.0) for word in sentence.split())


@pytest.mark.parametrize(
    ("heard", "support"),
    [
        (opinion("nine volts", "five volts"), Support.AGREED),
        (opinion("fifty volts", "fifteen volts"), Support.TWIN),
        (opinion("fifty volts", "fifteen volts", vosk="fifteen volts"), Support.TWIN),
        (opinion("fifteen volts", "fifty volts"), Support.AGREED),
        (opinion("fifty volts", "sixteen volts"), Support.AGREED),
        (opinion("nine volts", "five volts", vosk="five volts"), Support.MOST),
        (opinion("nine volts", "five volts", vosk="five volts", agree=False), Support.DISPUTED),
        # the nets are content, so the ear of vosk is at fault, unless there is one word only
        (opinion("nine volts hot", "nine volts", vosk="nine volts [unk]"), Support.MOST),
        (opinion("cracked", "correct", vosk="[unk]"), Support.STRANGE),
        (opinion("meter is at nine", "meter nine", fit=-1.7, vosk="[unk]"), Support.STRANGE),
    ],
)
def test_how_the_engines_stand_to_what_is_likeliest(heard: Opinion, support: Support) -> None:
    assert Heard(Entry("none"), "", 1.0, "", opinion=heard).support is support


@pytest.mark.parametrize(
    ("sentence", "fit", "support"),
    [
        ("no fifteen", -1.6, Support.STRANGE),
        ("no fifteen", -1.4, Support.AGREED),
        ("fifteen volts", -1.6, Support.AGREED),
    ],
)
def test_a_bare_number_must_fit(sentence: str, fit: float, support: Support) -> None:
    """Talk is full of numbers."""
    heard = Heard(parse(sentence), sentence, 1.0, "", opinion=opinion(sentence, fit=fit))
    assert heard.support is support


def test_what_is_strange_and_fits_badly_is_never_stored() -> None:
    assert decide(Support.STRANGE, 1.0) is Decision.ASK
    assert decide(Support.STRANGE, 0.5) is Decision.DROP


@pytest.mark.parametrize("word", ["cracked", "rag", "guess"])
def test_a_single_word_is_no_confirmation(
    spoken: Speak,  # noqa: F811
    listener: Listener,
    word: str,
) -> None:
    """A false "yes" confirms a caution: the words are near it or none of the commands."""
    assert listener.interpret(spoken(word)).entry.command != "yes"


def test_a_name_that_sounds_like_a_digit_is_not_taken_for_one(spoken: Speak) -> None:  # noqa: F811
    """ "port twenty seven" must not become 427."""
    context = Context(unit="Ohm", labels=("port", "starboard"))
    listener = Listener(engines(Grammar.build(context)))
    heard = listener.interpret(spoken("port twenty seven point four ohms"), context)
    assert heard.entry.value in {"27.4", None} or heard.entry.kind == "unclear"
    meant = {
        candidate.meaning.value
        for candidate in heard.opinion.candidates
        if isinstance(candidate.meaning, Entry)
    }
    assert "27.4" in meant
