"""What the pages need from whoever reads and judges entries; the command line hands it to them.

Pages draw the log. They never interpret or judge: a correction typed here goes through the same
reading and the same limits as one that is spoken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Protocol


class Outcome(Protocol):
    """What became of one entry.

    message: to be read. said: to be heard. tone: the verdict, or ``unclear``.
    """

    @property
    def message(self) -> str: ...

    @property
    def said(self) -> str: ...

    @property
    def tone(self) -> str | None: ...


class Step(Protocol):
    """A step of the procedure. ask: what the screen says."""

    @property
    def ask(self) -> str: ...


class Hand(Protocol):
    """Writes into one open job. All methods raise FieldnoteError with a message for people.

    step: the one that is next; None without a procedure or at its end.
    """

    @property
    def step(self) -> Step | None: ...

    def correct(self, number: int, text: str, why: str) -> Outcome: ...

    def withdraw(self, number: int, why: str) -> Outcome: ...

    def answer(self, number: int, text: str) -> Outcome: ...

    def take_text(self, text: str) -> Outcome: ...

    def take_sound(self, path: Path) -> Iterable[Outcome]: ...

    def take_photo(self, path: Path) -> Outcome: ...


Hands = Callable[[str], Hand]
"""The hand for a job's reference. Raises BadInputError where there is no such job."""
