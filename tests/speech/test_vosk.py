"""The vosk engine, with the model at hand; tests that need one skip where there is none."""

from __future__ import annotations

import logging
import shutil
from pathlib import Path

import numpy as np
import pytest

from fieldnote.language import Context, Grammar, parse
from fieldnote.speech import available, engines, vosk
from fieldnote.speech.vosk import UNKNOWN, VoskEngine, find_model, opinion, phrases_of


@pytest.fixture(scope="module")
def model() -> Path:
    found = find_model()
    if found is None:
        pytest.skip("no vosk model lies in models/")
    return found


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return Grammar.build()


@pytest.fixture(scope="module")
def engine(model: Path, grammar: Grammar) -> VoskEngine:
    return VoskEngine(grammar, model)


def alternative(score: float, *words: tuple[str, float, float]) -> dict[str, object]:
    result = [{"word": text, "start": start, "end": end} for text, start, end in words]
    return {"confidence": score, "text": " ".join(w[0] for w in words), "result": result}


def test_a_word_is_as_sure_as_the_alternatives_that_have_it_there() -> None:
    heard = opinion(
        "vosk",
        [
            alternative(-10.0, ("six", 0.1, 0.4), ("ohms", 0.5, 0.9)),
            alternative(-10.0, ("six", 0.1, 0.4), ("bar", 0.5, 0.9)),
            alternative(-10.0, ("ohms", 0.1, 0.3), ("bar", 0.5, 0.9)),
        ],
    )
    assert [word.confidence for word in heard.words] == pytest.approx([2 / 3, 1 / 3])
    assert heard.confidence == pytest.approx(1 / 3)
    assert [one.text for one in heard.alternatives] == ["six bar", "ohms bar"]


def test_words_outside_the_vocabulary_are_kept() -> None:
    """Else "[unk] five ohms" would be stored as five ohms."""
    words = [(UNKNOWN, 0.0, 0.4), ("five", 0.5, 0.8), ("ohms", 0.8, 1.2)]
    heard = opinion("vosk", [alternative(-1.0, *words)])
    assert heard.text == f"{UNKNOWN} five ohms"
    assert parse(heard.text).kind == "unclear"


def test_known_words_in_much_talk_are_talk() -> None:
    talk = [(UNKNOWN, 0.0, 1.4), ("five", 1.5, 1.8), (UNKNOWN, 1.8, 2.2)]
    other = [(UNKNOWN, 0.0, 1.4), ("nine", 1.5, 1.8), (UNKNOWN, 1.8, 2.2)]
    heard = opinion("vosk", [alternative(-1.0, *talk), alternative(-1.0, *other)])
    assert heard.text == UNKNOWN
    assert heard.confidence == pytest.approx(1.0)
    assert heard.alternatives == ()


def test_times_count_from_the_utterance() -> None:
    heard = opinion("vosk", [alternative(-1.0, ("five", 10.5, 10.8))], began=10.0)
    assert [(word.start, word.end) for word in heard.words] == [(0.5, 0.8)]


def test_that_nothing_was_said_may_be_likeliest() -> None:
    heard = opinion("vosk", [alternative(-1.0), alternative(-2.0, ("six", 0.1, 0.2))])
    assert heard.words == ()
    assert heard.confidence == 0.0
    assert opinion("vosk", []).confidence == 0.0


def test_vosk_counts_every_word_and_mostly_readings(grammar: Grammar) -> None:
    phrases = phrases_of(grammar)
    assert phrases == phrases_of(grammar)
    assert {word for phrase in phrases for word in phrase.split()} == grammar.words
    kinds = [parse(phrase).kind for phrase in phrases[-300:]]
    assert kinds.count("reading") + kinds.count("bare") > 150


def test_readings_are_heard_with_times_and_confidences(engine: VoskEngine, spoken) -> None:
    samples = np.concatenate([np.zeros(6400, np.float32), spoken("twelve point six volts")])
    heard = engine.hear(samples)
    assert heard.text == "twelve point six volts"
    times = [time for word in heard.words for time in (word.start, word.end)]
    assert times == sorted(times)
    assert 0.3 < times[0] < times[-1] <= len(samples) / 16_000
    assert all(0 <= word.confidence <= 1 for word in heard.words)
    likeliest = [heard.confidence, *(one.confidence for one in heard.alternatives)]
    assert likeliest == sorted(likeliest, reverse=True)
    assert sum(likeliest) <= 1.001


def test_the_grammar_s_order_counts(engine: VoskEngine, spoken) -> None:
    """vosk itself would as soon hear "p m", which is in "p p m"."""
    heard = engine.hear(spoken("two sixty r p m", "en-gb-x-rp"))
    assert heard.text == "two sixty r p m"


def test_the_second_utterance_begins_at_zero_again(engine: VoskEngine, spoken) -> None:
    samples = spoken("twelve volts")
    assert engine.hear(samples) == engine.hear(samples)


def test_talk_is_no_reading(engine: VoskEngine, spoken) -> None:
    heard = engine.hear(spoken("my brother had the same trouble with his old truck"))
    assert UNKNOWN in heard.text.split()
    assert parse(heard.text).kind in {"none", "unclear"}


def test_words_come_while_somebody_speaks(engine: VoskEngine, spoken) -> None:
    samples = np.concatenate([spoken("twelve point six volts"), np.zeros(8000, np.float32)])
    stream = engine.follow()
    partials = [stream.feed(samples[at : at + 1600]) for at in range(0, len(samples), 1600)]
    assert partials[0] == ""
    assert any(text.startswith("twelve") for text in partials[:-5])
    assert partials[-1].endswith("volts")


def test_nothing_is_heard_in_nothing(engine: VoskEngine) -> None:
    for length in (0, 100, 16_000):
        heard = engine.hear(np.zeros(length, np.float32))
        assert heard.words == ()
        assert heard.confidence == 0.0


def test_a_larger_model_is_taken_and_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, model: Path, grammar: Grammar, spoken
) -> None:
    """A stand-in for an official model that somebody unpacks: ours, with more bytes."""
    monkeypatch.delenv(vosk.VARIABLE, raising=False)
    monkeypatch.setenv("FIELDNOTE_MODELS", str(tmp_path))
    shutil.copytree(model, tmp_path / "a-small-one")
    larger = tmp_path / "unpacked" / "a-larger-one"
    shutil.copytree(model, larger)
    (larger / "README").write_bytes(b" " * 9_000_000)
    assert find_model() == larger
    (status,) = (one for one in available() if one.name == "vosk")
    assert status.present
    assert "a-larger-one" in status.detail
    (engine,) = engines(grammar, ["vosk"])
    assert engine.hear(spoken("twelve volts")).text == "twelve volts"


def test_a_model_that_takes_a_grammar_goes_first(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv(vosk.VARIABLE, raising=False)
    monkeypatch.setenv("FIELDNOTE_MODELS", str(tmp_path))
    for name, graph, size in [("free", "HCLG.fst", 5000), ("bound", "HCLr.fst", 10)]:
        for part in ("am", "graph"):
            (tmp_path / name / part).mkdir(parents=True)
        (tmp_path / name / "am" / "final.mdl").write_bytes(b"x" * size)
        (tmp_path / name / "graph" / graph).write_bytes(b"")
        (tmp_path / name / "graph" / "words.txt").write_text("<eps> 0\nohms 1\n")
    found = find_model()
    assert found == tmp_path / "bound"
    (status,) = (one for one in available(tmp_path / "free") if one.name == "vosk")
    assert "hears freely" in status.detail


def test_words_that_the_model_lacks_are_told_once(
    model: Path, caplog: pytest.LogCaptureFixture
) -> None:
    grammar = Grammar.build(Context(labels=("gribble valve",)), kinds=["resistance"])
    with caplog.at_level(logging.WARNING):
        first = VoskEngine(grammar, model)
        VoskEngine(grammar, model)
    assert "gribble" in first.lacking
    assert [record.message.count("gribble") for record in caplog.records] == [1]
