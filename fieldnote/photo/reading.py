"""What every reader of displays gives, and what it must be able to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from fieldnote.photo.geometry import Place
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import DisplayProfile


@dataclass(frozen=True, slots=True)
class Reading:
    """Characters that one reader sees in one place.

    characters: as shown; may be a number, "OL", dashes, or a word such as "Err".
    score: in [0, 1]; the reader's own, turned into a confidence by `calibration`.
    place: tight round the characters, px of the picture that was read.
    alternatives: other strings, likeliest first, with their scores on the same scale.
    doubts: what is uncertain though the rest is not, for a person: "the decimal point".
    unit: UCUM code where the reader itself saw one (printed text).
    rank: how likely this is the display meant: larger and surer first.
    """

    characters: str
    score: float
    place: Place
    alternatives: tuple[tuple[str, float], ...] = ()
    doubts: tuple[str, ...] = ()
    unit: str | None = None
    rank: float = 0.0


class Reader(Protocol):
    """One way to read displays. Readers are listed in `readers`."""

    name: str

    @property
    def calibration(self) -> str:
        """Which of `CALIBRATIONS` turns its scores into confidences."""
        ...

    def read(self, pixels: Pixels, profile: DisplayProfile | None) -> list[Reading]:
        """Readings of all displays found, likeliest first; empty where there is none."""
        ...

    def read_at(
        self, pixels: Pixels, place: Place, profile: DisplayProfile | None
    ) -> Reading | None:
        """The reading of the display at `place`, or nearly there; None where nothing reads."""
        ...


@dataclass(frozen=True, slots=True)
class ReaderStatus:
    """For the self-check: whether the reader can be used, and the command that mends it."""

    name: str
    present: bool
    what: str
    mend: str = ""
