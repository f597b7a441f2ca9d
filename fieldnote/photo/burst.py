"""Reads every frame of a video or burst while something moves, and keeps the times."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fieldnote.photo.display import Display
from fieldnote.photo.frames import Frame, frames
from fieldnote.photo.geometry import Place, place_of_box
from fieldnote.photo.looking import look_at, reader_named
from fieldnote.photo.profile import DisplayProfile

_AGREEING = 2
"""Frames on each side that must agree before a frame between them is repaired."""


@dataclass(frozen=True, slots=True)
class BurstReading:
    """One frame's reading.

    time: s since the first frame, None where unknown. value: exact decimal digits, or None where
    the frame was not read with enough certainty. as_read: the characters before any repair.
    """

    number: int
    time: float | None
    value: str | None
    as_read: str
    confidence: float
    repaired: bool = False


@dataclass(frozen=True, slots=True)
class Burst:
    """All frames of a burst, in order; `unit` is the one seen (UCUM) or None."""

    readings: tuple[BurstReading, ...]
    unit: str | None = None

    @property
    def values(self) -> tuple[str, ...]:
        """The values that were read, in order."""
        return tuple(r.value for r in self.readings if r.value is not None)

    @property
    def unread(self) -> int:
        """Frames without a value."""
        return sum(r.value is None for r in self.readings)

    @property
    def repaired(self) -> int:
        """Frames whose misread digit was mended by their neighbours."""
        return sum(r.repaired for r in self.readings)

    def to_json(self) -> dict[str, Any]:
        """Numbers as strings, as the job log wants them."""
        return {
            "frames": len(self.readings), "unread": self.unread, "repaired": self.repaired,
            "unit": self.unit,
            "readings": [
                {
                    "time": None if r.time is None else f"{r.time:.3f}", "value": r.value,
                    "as_read": r.as_read, "confidence": f"{r.confidence:.4f}",
                    "repaired": r.repaired,
                }
                for r in self.readings
            ],
        }  # fmt: skip


def read_burst(
    source: Path | str | Iterable[Frame],
    profile: DisplayProfile | None = None,
    reader: str | None = None,
    progress: Callable[[int], None] | None = None,
) -> Burst:
    """Reads the main display in every frame.

    source: a video file, a folder of photos in order, or frames.
    progress: called with the count of frames read so far.

    Raises:
        BadInputError: no video or pictures that can be read, or no such reader.
        MissingPartError: a needed net or program is not installed.
    """
    chosen = reader_named(reader, profile)
    place: Place | None = None
    readings: list[BurstReading] = []
    units: list[str] = []
    for frame in frames(source) if isinstance(source, str | Path) else source:
        # Where the display was a moment ago it is now, or nearly; else it is looked for again.
        displays = look_at(frame.pixels, chosen, profile, at=place) if place else []
        if not displays or displays[0].kind == "unclear" or not _as_long(displays[0], readings):
            again = look_at(frame.pixels, chosen, profile)
            displays = again or displays
        display = displays[0] if displays else None
        if display is not None and display.kind != "unclear":
            place = place_of_box(display.box)
        if display is not None and display.unit is not None:
            units.append(display.unit)
        readings.append(_of_frame(frame, display))
        if progress is not None:
            progress(len(readings))
    unit = max(set(units), key=units.count) if units else None
    return Burst(repaired(readings), unit)


def _as_long(display: Display, readings: list[BurstReading]) -> bool:
    """Whether as many characters show as in the frame before: a digit may have got out of sight."""
    return not readings or len(display.characters) == len(readings[-1].as_read)


def _of_frame(frame: Frame, display: Display | None) -> BurstReading:
    if display is None:
        return BurstReading(frame.number, frame.time, None, "", 0.0)
    value = display.value if display.kind in {"reading", "bare"} else None
    return BurstReading(frame.number, frame.time, value, display.characters, display.confidence)


def repaired(readings: list[BurstReading]) -> tuple[BurstReading, ...]:
    """Mends a single misread digit of an unsure frame where two frames on each side agree.

    A sure frame is never changed: a display may well jump for a moment.
    """
    out = list(readings)
    for i in range(_AGREEING, len(readings) - _AGREEING):
        reading = readings[i]
        around = [readings[i + k].value for k in range(-_AGREEING, _AGREEING + 1) if k]
        agreed = around[0]
        if reading.value is not None or agreed is None or set(around) != {agreed}:
            continue
        if _differ_in_one_digit(reading.as_read, agreed) or reading.as_read == agreed:
            out[i] = replace(reading, value=agreed, repaired=True)
    return tuple(out)


def _differ_in_one_digit(a: str, b: str) -> bool:
    if len(a) != len(b):
        return False
    pairs = [(x, y) for x, y in zip(a, b, strict=True) if x != y]
    return len(pairs) == 1 and pairs[0][0].isdigit() and pairs[0][1].isdigit()
