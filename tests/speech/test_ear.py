"""What an ear lets through: everything, what a key is pressed for, or what follows a start word."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldnote.errors import BadInputError
from fieldnote.language import Context, Grammar
from fieldnote.session.ahead import Ahead
from fieldnote.session.hearing import ATTENTION, CUT_OFF, NOTHING, PATIENCE, Ear, Sound
from fieldnote.session.interpret import Listener
from fieldnote.session.notices import Growing, Listening, Notice
from fieldnote.session.talk_key import TalkKey
from fieldnote.speech import Gap, Hypothesis, Utterance, engines
from tests.speech.conftest import silence

BLOCK = 1024
Samples = NDArray[np.float32]
PAUSE = silence(1.2)


class Counting:
    """A real engine that counts how often it is asked."""

    def __init__(self, engine: object) -> None:
        self._engine, self.asked = engine, 0

    def __getattr__(self, name: str) -> object:
        return getattr(self._engine, name)

    def hear(self, samples: Samples) -> Hypothesis:
        self.asked += 1
        return self._engine.hear(samples)  # type: ignore[attr-defined,no-any-return]


@pytest.fixture(scope="module")
def engine() -> Counting:
    return Counting(engines(Grammar.build(), ["phoneme"])[0])


@pytest.fixture
def listener(engine: Counting) -> Listener:
    engine.asked = 0
    return Listener([engine])  # type: ignore[list-item]


def blocks(*parts: Samples) -> Iterator[Samples]:
    """As a microphone gives it, with a room's faint hiss."""
    sound = np.concatenate(parts)
    hiss = np.random.default_rng(4).standard_normal(len(sound)) * 1e-3
    sound = (sound + hiss).astype(np.float32)
    for place in range(0, len(sound), BLOCK):
        yield sound[place : place + BLOCK]


def ear_of(source: Iterable[Samples | Gap], listener: Listener, **options: object) -> Ear:
    return Ear(source, listener, Context, **options)  # type: ignore[arg-type]


def words_of(ear: Ear, sounds: Iterable[Sound]) -> list[str]:
    """The likeliest sentence of each utterance, whether or not it would be stored."""
    found = []
    for sound in sounds:
        if isinstance(sound, Utterance):
            heard = ear.interpret(sound.samples, Context())
            first = heard.opinion.hypotheses
            found.append(first[0].text if first else "")
    return found


def test_everything_counts_and_is_understood_ahead(
    listener: Listener, engine: Counting, spoken: Callable
) -> None:
    source = blocks(PAUSE, spoken("eight amps"), PAUSE, spoken("ten point six ohms"), PAUSE)
    with ear_of(source, listener) as ear:
        sounds = list(ear)
        asked = engine.asked
        assert words_of(ear, sounds) == ["eight amps", "ten point six ohms"]
        assert engine.asked == asked, "it was understood before it was asked for"
        ear.interpret(
            next(one for one in sounds if isinstance(one, Utterance)).samples, Context(unit="A")
        )
        assert engine.asked == asked + 1, "another step may give another meaning"


def test_a_short_pause_does_not_end_it(listener: Listener, spoken: Callable) -> None:
    """Long enough for it to be interpreted ahead; that is thrown away when speech goes on."""
    pause = silence(0.3)
    source = blocks(PAUSE, spoken("ten point six"), pause, spoken("kilohms"), PAUSE)
    with ear_of(source, listener) as ear:
        assert words_of(ear, ear) == ["ten point six kilohms"]


def test_only_what_follows_the_start_word_counts(listener: Listener, spoken: Callable) -> None:
    source = blocks(
        *(PAUSE, spoken("did you bring the big ladder"), PAUSE, spoken("eight amps"), PAUSE),
        *(spoken("workshop, ten point six ohms"), PAUSE, spoken("four hundred hertz"), PAUSE),
        *(spoken("workshop"), PAUSE, spoken("twelve volts"), PAUSE, spoken("nine bar"), PAUSE),
    )
    with ear_of(source, listener, start_word="workshop", live=False) as ear:
        sounds = list(ear)
        assert words_of(ear, sounds) == ["ten point six ohms", "twelve volts"]
        assert Listening() in sounds, "the word alone is answered"


def test_the_start_word_does_not_count_for_ever(listener: Listener, spoken: Callable) -> None:
    source = blocks(PAUSE, spoken("workshop"), silence(ATTENTION + 1.5), spoken("nine bar"), PAUSE)
    with ear_of(source, listener, start_word="workshop", live=False) as ear:
        assert words_of(ear, ear) == []


def test_a_question_is_answered_without_the_start_word(
    listener: Listener, spoken: Callable
) -> None:
    def source() -> Iterator[Samples]:
        yield from blocks(PAUSE, spoken("nine bar"), PAUSE)
        ear.answer("Thirteen or thirty?", "ask")
        yield from blocks(PAUSE, spoken("thirty ohms"), PAUSE, spoken("nine bar"), PAUSE)
        ear.answer("Once more?", "ask")
        yield from blocks(silence(ATTENTION + 1), spoken("nine bar"), PAUSE)  # too late

    with ear_of(source(), listener, start_word="workshop") as ear:
        assert words_of(ear, ear) == ["thirty ohms"]


@pytest.mark.parametrize("word", ["oh", "bar", "a b"])
def test_a_start_word_that_other_words_hold_is_refused(listener: Listener, word: str) -> None:
    with pytest.raises(BadInputError, match="too short"):
        ear_of([], listener, start_word=word)


@pytest.mark.parametrize("word", ["", "???"])
def test_a_start_word_without_sounds_is_refused(listener: Listener, word: str) -> None:
    with pytest.raises(BadInputError, match="spelled"):
        ear_of([], listener, start_word=word or " ")


class Watch:
    """The clock of a key: the sound's own, so that no test has to wait."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def pressed_at(
    watch: Watch, key: TalkKey, presses: Iterable[float], sound: Iterable[Samples]
) -> Iterator[Samples]:
    left = sorted(presses)
    for block in sound:
        while left and left[0] <= watch.now:
            key.press()
            left.pop(0)
        yield block
        watch.now += len(block) / 16_000


def test_a_tap_takes_one_utterance(listener: Listener, spoken: Callable) -> None:
    first, second = spoken("eight amps"), spoken("ten point six ohms")
    at = 1.2 + len(first) / 16_000 + 1.0  # a little before the second begins
    watch = Watch()
    key = TalkKey(watch)
    sound = blocks(PAUSE, first, PAUSE, second, PAUSE, spoken("nine bar"), PAUSE)
    source = pressed_at(watch, key, [at], sound)
    with ear_of(source, listener, talk_key=key) as ear:
        sounds = list(ear)
        assert words_of(ear, sounds) == ["ten point six ohms"]
        assert (sounds[0], sounds[-1]) == (Listening(), Growing(""))


def test_a_tap_in_the_first_syllable_loses_nothing(listener: Listener, spoken: Callable) -> None:
    watch = Watch()
    key = TalkKey(watch)
    words = spoken("ten point six ohms")
    begins = float(np.flatnonzero(np.abs(words) > 0.02)[0]) / 16_000
    source = pressed_at(watch, key, [1.2 + begins + 0.2], blocks(PAUSE, words, PAUSE))
    with ear_of(source, listener, talk_key=key) as ear:
        assert words_of(ear, ear) == ["ten point six ohms"]


def test_a_hold_lasts_over_pauses_until_it_is_let_go(listener: Listener, spoken: Callable) -> None:
    watch = Watch()
    key = TalkKey(watch)
    parts = (spoken("ten point six"), silence(1.5), spoken("kilohms"))
    held = 1.0 + sum(map(len, parts)) / 16_000
    presses = [1.0, *np.arange(1.4, held + 1.0, 0.1)]
    source = pressed_at(watch, key, presses, blocks(PAUSE, *parts, PAUSE, PAUSE))
    with ear_of(source, listener, talk_key=key) as ear:
        assert words_of(ear, ear) == ["ten point six kilohms"]


def test_a_tap_that_nothing_follows_is_answered(listener: Listener) -> None:
    watch = Watch()
    key = TalkKey(watch)
    hum = 0.02 * np.sin(2 * np.pi * 50 * np.arange(round((PATIENCE + 3) * 16_000)) / 16_000)
    source = pressed_at(watch, key, [1.0], blocks(hum.astype(np.float32)))
    with ear_of(source, listener, talk_key=key) as ear:
        assert [sound for sound in ear if isinstance(sound, Notice)] == [Notice(NOTHING)]


def test_a_dead_microphone_is_said_when_the_key_is_let_go(listener: Listener) -> None:
    watch = Watch()
    key = TalkKey(watch)
    dead = (np.zeros(BLOCK, np.float32) for _ in range(100))
    source = pressed_at(watch, key, [1.0, 1.4, 1.5, 1.6, 1.7, 1.8], dead)
    with ear_of(source, listener, talk_key=key) as ear:
        (notice,) = [sound for sound in ear if isinstance(sound, Notice)]
        assert "silence" in notice.text


GONE = Gap("The microphone has stopped giving sound.")


def test_what_is_cut_off_is_kept_and_asked_about(listener: Listener, spoken: Callable) -> None:
    """ "Eight" may have been going to be eight hundred."""
    whole = spoken("eight amps")
    source = [*blocks(PAUSE, loud_part(whole)[:-800]), GONE, *blocks(PAUSE)]
    with ear_of(source, listener) as ear:
        warned, utterance, notice = (sound for sound in ear if not isinstance(sound, Growing))
        assert warned == Notice(CUT_OFF)
        assert notice == Notice(GONE.told)
        assert isinstance(utterance, Utterance)
        assert ear.interpret(utterance.samples, Context()).entry.kind in {"unclear", "none"}


def test_what_began_in_a_gap_is_asked_about(listener: Listener, spoken: Callable) -> None:
    """The end of what was said into the read-back: of "one hundred and eight amps"."""
    source = [*blocks(PAUSE), Gap(), *blocks(loud_part(spoken("eight amps")), PAUSE)]
    with ear_of(source, listener) as ear:
        warned, utterance = (sound for sound in ear if not isinstance(sound, Growing))
        assert warned == Notice(CUT_OFF)
        assert isinstance(utterance, Utterance)
        assert ear.interpret(utterance.samples, Context()).entry.kind in {"unclear", "none"}


def test_what_was_said_to_its_end_before_a_gap_counts(listener: Listener, spoken: Callable) -> None:
    source = [*blocks(PAUSE, spoken("eight amps"), silence(0.3)), Gap(), *blocks(PAUSE)]
    with ear_of(source, listener) as ear:
        sounds = list(ear)
        assert Notice(CUT_OFF) not in sounds
        assert words_of(ear, sounds) == ["eight amps"]


def loud_part(words: Samples) -> Samples:
    loud = np.flatnonzero(np.abs(words) > 0.02)
    return words[loud[0] : loud[-1]]


def test_bad_levels_are_said_once(listener: Listener, spoken: Callable) -> None:
    loud = np.clip(spoken("eight amps") * 30, -1, 1)
    source = blocks(PAUSE, loud, PAUSE, loud, PAUSE, spoken("eight amps"), PAUSE, loud, PAUSE)
    with ear_of((np.clip(block, -1, 1) for block in source), listener) as ear:
        sounds = list(ear)
        notices = [sound.text for sound in sounds if isinstance(sound, Notice)]
        assert [text.split(":")[0] for text in notices] == ["clipping", "clipping"]
        assert len([sound for sound in sounds if isinstance(sound, Utterance)]) == 4


def test_words_come_while_it_is_spoken(listener: Listener, spoken: Callable) -> None:
    ahead = Ahead(listener, Context)
    whole = spoken("ten point six ohms")
    said = [until_words(ahead, whole[: len(whole) // 2]), until_words(ahead, whole)]
    ahead.close()
    assert said[0].startswith("ten")
    assert said[1] == "ten point six ohms"


def until_words(ahead: Ahead, samples: Samples) -> str:
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        words = ahead.words_so_far(samples)
        if words is not None:
            return words
        time.sleep(0.02)
    raise AssertionError("no words came")
