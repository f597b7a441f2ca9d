"""Shows that something long is going on, where a person is looking."""

from __future__ import annotations

from contextlib import AbstractContextManager

from rich.console import Console
from rich.status import Status


def working(what: str) -> AbstractContextManager[Status]:
    """A turning sign with `what` on standard error; nothing where that is no terminal."""
    return Console(stderr=True).status(what)
