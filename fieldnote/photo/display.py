"""What the eye makes of a picture: displays, each with its box and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

Box = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]
"""Corners in px of the picture as shown (EXIF orientation applied): top-left of the reading first,
then clockwise as the reading is read."""


@dataclass(frozen=True, slots=True)
class Display:
    """One display found in a picture.

    characters: what stands on it, as shown: digits, one point, sign, or "OL", "----".
    confidence: in [0, 1], calibrated on real photos: the share of such answers that are right.
    value: exact decimal digits, or None where the display shows no number.
    kind: "reading" or "bare" (no unit seen), "open", or "unclear"; `reason` says why unclear.
    unit: UCUM code, or None where no unit was seen. current: "AC"/"DC" where seen.
    annunciators: other symbols seen ("HOLD", "AUTO", "low battery", "MIN", "MAX").
    uncertainty: standard uncertainty of a dial's reading, in its unit; None for digits.
    alternatives: other readings of the characters, likeliest first, with probabilities.
    notes: what a person should know of the picture though the reading stands.
    """

    characters: str
    confidence: float
    box: Box
    reader: str
    kind: str = "bare"
    value: str | None = None
    unit: str | None = None
    current: str | None = None
    annunciators: tuple[str, ...] = ()
    alternatives: tuple[tuple[str, float], ...] = ()
    reason: str | None = None
    uncertainty: str | None = None
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """The keys of the machine interface (`fieldnote look --json`), without `file`."""
        return {
            "kind": self.kind, "value": self.value, "unit": self.unit, "label": None,
            "pins": [], "colour": None, "command": None, "text": self.characters,
            "reason": self.reason, "display": self.characters,
            "alternatives": [text for text, _ in self.alternatives],
            "uncertainty": self.uncertainty, "current": self.current,
            "annunciators": list(self.annunciators), "notes": list(self.notes),
            "confidence": round(self.confidence, 4),
            "box": [[round(x, 1), round(y, 1)] for x, y in self.box], "reader": self.reader,
        }  # fmt: skip
