"""Push-to-talk by a key that a terminal gives: it tells of presses, never of a release.

A key that is held repeats itself; one that has stopped repeating was let go. So a tap listens to
one utterance, and a hold listens as long as it lasts. Remotes and foot switches come as keys too.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from enum import StrEnum

FIRST_REPEAT = 0.75
"""s within which a held key repeats for the first time: 0.25 to 0.66 by the system's setting."""

REPEAT = 0.3
"""s without a repeat after which a held key counts as let go."""


class Push(StrEnum):
    UP = "up"
    """Nothing is listened to."""
    TAPPED = "tapped"
    """Until one utterance has ended, or another tap."""
    HELD = "held"
    """Until it is let go."""


class TalkKey:
    """Told of each press by the keyboard's thread, asked by the ear's. clock: gives s."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._push = Push.UP
        self._began = self._last = 0.0

    def press(self) -> None:
        with self._lock:
            now = self._clock()
            self._let_go(now)
            if self._push is Push.UP:
                self._push, self._began = Push.TAPPED, now
            elif self._push is Push.TAPPED and now - self._began > FIRST_REPEAT:
                self._push = Push.UP  # a second tap ends what the first began
            else:
                self._push = Push.HELD
            self._last = now

    @property
    def push(self) -> Push:
        with self._lock:
            self._let_go(self._clock())
            return self._push

    def done(self) -> None:
        """The utterance that a tap was for has ended, or none came."""
        with self._lock:
            if self._push is Push.TAPPED:
                self._push = Push.UP

    def _let_go(self, now: float) -> None:
        if self._push is Push.HELD and now - self._last > REPEAT:
            self._push = Push.UP
