"""What an ear tells besides utterances."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Notice:
    """Something about the hearing itself that a person should know. tone: before it."""

    text: str
    tone: str | None = "ask"


@dataclass(frozen=True, slots=True)
class Growing:
    """The words so far of what is being said; empty when it has ended."""

    text: str


@dataclass(frozen=True, slots=True)
class Listening:
    """Speak now: the talk key is down, or the start word was heard."""
