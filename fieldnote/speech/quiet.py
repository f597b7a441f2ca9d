"""Keeps the sound libraries' own complaints off the screen; what matters of them is said by us."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def quiet_libraries() -> Iterator[None]:
    """ALSA and PortAudio write to the error channel past Python, in the middle of a drawn screen.

    Meanwhile the channel leads nowhere, and Python's own stderr writes to where it led before.
    """
    stderr, kept = sys.stderr, os.dup(2)
    stderr.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 2)
    os.close(nowhere)
    ours = os.fdopen(os.dup(kept), "w", buffering=1, encoding=stderr.encoding, errors="replace")
    sys.stderr = ours
    try:
        yield
    finally:
        if sys.stderr is ours:
            sys.stderr = stderr
        ours.close()
        os.dup2(kept, 2)
        os.close(kept)
