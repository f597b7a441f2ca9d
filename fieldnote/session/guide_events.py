"""What goes into the guided job and what comes out of it. All plain data; times are aware."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from fieldnote.acceptance.travel import TravelPoint
from fieldnote.language import Entry

# ---------------------------------------------------------------- events


@dataclass(frozen=True, slots=True)
class Said:
    """An entry that was spoken, typed, or read from a display; `source` tells which.

    evidence: hashes of what was kept before it was interpreted.
    """

    entry: Entry
    at: datetime
    source: Mapping[str, Any] = field(default_factory=dict)
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Pictured:
    """A picture that was kept as a picture."""

    at: datetime
    evidence: tuple[str, ...]
    caption: str = ""
    source: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Scanned:
    """The text of a bar code or QR code."""

    text: str
    at: datetime
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Measured:
    """A whole travel, from a CSV file or from a video of the display."""

    points: tuple[TravelPoint, ...]
    at: datetime
    source: Mapping[str, Any] = field(default_factory=dict)
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ticked:
    """The clock; a few times a second while a timer runs is enough."""

    at: datetime


Event = Said | Pictured | Scanned | Measured | Ticked

# ---------------------------------------------------------------- effects


@dataclass(frozen=True, slots=True)
class Say:
    """Words to be spoken and shown. tone: "good", "ask" or "alarm" before them.

    of_step: they announce the current step, which a screen shows anyway.
    """

    text: str
    tone: str | None = None
    of_step: bool = False


@dataclass(frozen=True, slots=True)
class Store:
    """A record to be appended. refers_to: number of the record it is about."""

    kind: str
    body: Mapping[str, Any]
    refers_to: int | None = None
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Snap:
    """Take a picture now."""


@dataclass(frozen=True, slots=True)
class End:
    """The person is done for now; the job stays open and goes on where it was."""


Effect = Say | Store | Snap | End

# ---------------------------------------------------------------- state


@dataclass(frozen=True, slots=True)
class Stored:
    """A record as far as the guide needs it. number: its place in the job, 1 for the start."""

    number: int
    kind: str
    body: Mapping[str, Any]
    at: datetime
    refers_to: int | None = None


@dataclass(frozen=True, slots=True)
class State:
    """Everything that lasts is in `stored`; where the job stands is worked out from it.

    asking: a question put to the person, "why" for a skip, else the serial number to be confirmed;
    lost without harm in a crash. asked_by: what raised it, with its evidence. told: seconds of a
    running timer already announced. None of these counts when two states are compared.
    """

    stored: tuple[Stored, ...]
    asking: str | None = field(default=None, compare=False)
    asked_by: Said | None = field(default=None, compare=False)
    told: frozenset[int] = field(default=frozenset(), compare=False)


class LogRecord(Protocol):
    """What a record of the job log has, as far as it is read here."""

    @property
    def number(self) -> int: ...
    @property
    def hash(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def body(self) -> Mapping[str, Any]: ...
    @property
    def at(self) -> datetime: ...
    @property
    def refers_to(self) -> str | None: ...


def stored(records: Iterable[LogRecord]) -> tuple[Stored, ...]:
    """Records of one job's log, in order, for `Guide.replay`."""
    out, numbers = [], {}
    for record in records:
        numbers[record.hash] = record.number
        about = None if record.refers_to is None else numbers[record.refers_to]
        out.append(Stored(record.number, record.kind, record.body, record.at, about))
    return tuple(out)
