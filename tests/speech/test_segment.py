"""Utterances are found where they are, whole, however the sound is cut into blocks."""

from __future__ import annotations

import numpy as np
import pytest

from fieldnote.speech.segment import HANGOVER, Segmenter, split
from tests.bench.speech_noise import in_noise
from tests.speech.conftest import silence

SAID = ("ten point six ohms", "eight amps", "four hundred hertz")


@pytest.fixture(scope="module")
def recording(spoken):
    """Three utterances with pauses, and where each of them truly begins and ends, in s."""
    hiss = np.random.default_rng(1).standard_normal
    parts, places, position = [silence(1.0)], [], 1.0
    for text in SAID:
        words = spoken(text)
        loud = np.flatnonzero(np.abs(words) > 0.02)
        places.append((position + loud[0] / 16_000, position + loud[-1] / 16_000))
        parts += [words, silence(1.5)]
        position += len(words) / 16_000 + 1.5
    sound = np.concatenate(parts)
    return (sound + 0.001 * hiss(len(sound))).astype(np.float32), places


def test_each_utterance_is_found_whole(recording) -> None:
    sound, places = recording
    found = list(split([sound]))
    assert len(found) == len(places)
    for utterance, (begins, ends) in zip(found, places, strict=True):
        assert utterance.start <= begins - 0.05
        assert utterance.end >= ends
        assert len(utterance.samples) == round((utterance.end - utterance.start) * 16_000)


@pytest.mark.parametrize("block", [160, 777, 4096])
def test_blocks_of_any_size_give_the_same(recording, block: int) -> None:
    sound, _ = recording
    blocks = [sound[place : place + block] for place in range(0, len(sound), block)]
    expected = [(one.start, one.end) for one in split([sound])]
    assert [(one.start, one.end) for one in split(blocks)] == expected


def test_the_samples_are_the_recording_s_own(recording) -> None:
    sound, _ = recording
    first = next(split([sound]))
    start = round(first.start * 16_000)
    assert np.array_equal(first.samples, sound[start : start + len(first.samples)])


def test_noise_and_silence_are_no_utterance() -> None:
    hum = 0.1 * np.sin(2 * np.pi * 50 * np.arange(80_000) / 16_000)
    hiss = 0.05 * np.random.default_rng(2).standard_normal(80_000)
    assert list(split([silence(5.0)])) == []
    assert list(split([(hum + hiss).astype(np.float32)])) == []


def test_talk_without_a_pause_is_cut(spoken) -> None:
    long = np.concatenate([spoken("one two three four five six seven eight nine")] * 8)
    assert max(len(one.samples) for one in split([long])) <= 15.1 * 16_000


def test_in_an_engine_s_noise_nothing_is_cut_and_nothing_opened(spoken) -> None:
    """10 dB below the speech, and never stopping. `tests.bench.speech_ends` has more of it."""
    parts, places, at = [silence(2.0)], [], 2.0
    for text in SAID:
        words = spoken(text)
        loud = np.flatnonzero(np.abs(words) > 0.02)
        places.append((at + loud[0] / 16_000, at + loud[-1] / 16_000))
        parts += [words, silence(2.0)]
        at += len(words) / 16_000 + 2.0
    noisy = in_noise(np.concatenate([*parts, silence(10.0)]), 10.0, seed=3, lead=0.0)
    found = list(split([noisy]))
    assert len(found) == len(places)
    for utterance, (begins, ends) in zip(found, places, strict=True):
        assert utterance.start < begins
        assert ends < utterance.end < ends + 2.0
        assert not utterance.cut


def test_a_gap_ends_what_is_open_and_marks_it(spoken) -> None:
    words = spoken("four hundred hertz")
    loud = np.flatnonzero(np.abs(words) > 0.02)
    middle = (loud[0] + loud[-1]) // 2
    segmenter = Segmenter()
    assert list(segmenter.feed(np.concatenate([silence(0.5), words[:middle]]))) == []
    (before,) = segmenter.gap()
    (behind,) = [*segmenter.feed(np.concatenate([words[middle:], silence(1.5)]))]
    assert before.cut
    assert behind.cut
    (whole,) = segmenter.feed(np.concatenate([silence(1.0), words, silence(1.5)]))
    assert not whole.cut
    assert whole.quiet >= HANGOVER


def test_talk_that_is_cut_for_its_length_is_marked(spoken) -> None:
    long = np.concatenate([spoken("one two three four five six seven eight nine")] * 8)
    assert any(one.cut for one in split([long]))
