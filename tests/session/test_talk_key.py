"""Push-to-talk from key presses alone: a tap, a hold that repeats, and letting go."""

from __future__ import annotations

import pytest

from fieldnote.session.talk_key import FIRST_REPEAT, REPEAT, Push, TalkKey


class Watch:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += seconds


@pytest.fixture
def watch() -> Watch:
    return Watch()


@pytest.fixture
def key(watch: Watch) -> TalkKey:
    return TalkKey(watch)


def test_nothing_is_listened_to_before_a_press(key: TalkKey) -> None:
    assert key.push is Push.UP


def test_a_tap_lasts_until_the_utterance_has_ended(key: TalkKey, watch: Watch) -> None:
    key.press()
    watch.wait(6.0)
    assert key.push is Push.TAPPED
    key.done()
    assert key.push is Push.UP


def test_a_second_tap_ends_it(key: TalkKey, watch: Watch) -> None:
    key.press()
    watch.wait(FIRST_REPEAT + 0.1)
    key.press()
    assert key.push is Push.UP
    watch.wait(1.0)
    key.press()
    assert key.push is Push.TAPPED


@pytest.mark.parametrize("delay", [0.25, 0.5, 0.66])  # the usual settings of systems
@pytest.mark.parametrize("rate", [0.03, 0.09])
def test_a_held_key_repeats_and_is_let_go(
    key: TalkKey, watch: Watch, delay: float, rate: float
) -> None:
    key.press()
    watch.wait(delay)
    for _ in range(40):
        assert key.push is not Push.UP
        key.press()
        watch.wait(rate)
        assert key.push is Push.HELD
    watch.wait(REPEAT)
    assert key.push is Push.UP


def test_a_pause_does_not_end_a_hold(key: TalkKey, watch: Watch) -> None:
    """The ear calls an utterance done when it has ended; while the key is down more may come."""
    key.press()
    watch.wait(0.3)
    key.press()
    key.done()
    assert key.push is Push.HELD
