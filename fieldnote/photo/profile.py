"""What is known of an instrument's face: it narrows what a display can show, never what it should.

Nothing here knows a step's limits.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fieldnote.errors import BadInputError


@dataclass(frozen=True, slots=True)
class DisplayRange:
    """One range of the instrument.

    unit: UCUM code, None where the display shows none. digits: how many the range can show at most.
    decimals: places after the point, None where it floats. fewest: digits shown at least.
    """

    unit: str | None = None
    digits: int | None = None
    decimals: int | None = None
    fewest: int = 1

    def allows(self, characters: str) -> bool:
        """Whether this range can show these characters; "OL", dashes and words it always can."""
        body = characters.removeprefix("-")
        if not body.replace(".", "").isdigit():
            return True
        whole, _, fraction = body.partition(".")
        count = len(whole) + len(fraction)
        return (
            (self.digits is None or count <= self.digits)
            and count >= self.fewest
            and (self.decimals is None or len(fraction) == self.decimals)
        )


@dataclass(frozen=True, slots=True)
class GaugeScale:
    """Two points of a dial's scale, marked once on a photo that shows the dial square on.

    centre: the needle's axis, as shares of the photo's width and height. low, high: (value, angle)
    of two marks; the angle in degrees clockwise from straight up, high's being the greater.
    reach: length of the needle as a share of the shorter side.
    division: value of one scale division, for the uncertainty; exact decimals as strings.
    """

    centre: tuple[float, float]
    low: tuple[str, float]
    high: tuple[str, float]
    division: str
    reach: float = 0.4
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class DisplayProfile:
    """A display's possible strings and units.

    ranges: empty where nothing is known. signed: whether a minus can be shown.
    printed: whether the characters are printed or dot-matrix ones rather than segments.
    gauge: for a dial with a needle.
    """

    name: str = ""
    ranges: tuple[DisplayRange, ...] = ()
    signed: bool = True
    printed: bool = False
    gauge: GaugeScale | None = None

    @property
    def units(self) -> tuple[str, ...]:
        """UCUM codes the display can show, each once."""
        return tuple(dict.fromkeys(r.unit for r in self.ranges if r.unit is not None))

    def allows(self, characters: str, unit: str | None = None) -> bool:
        """Whether the display can show these characters, in `unit` where that was seen."""
        if characters.startswith("-") and characters.strip("-") and not self.signed:
            return False
        ranges = [r for r in self.ranges if unit is None or r.unit is None or r.unit == unit]
        return not self.ranges or any(r.allows(characters) for r in ranges)

    @classmethod
    def from_mapping(cls, facts: Mapping[str, Any]) -> DisplayProfile:
        """From the keys of a profile file; docs/photo.md gives them.

        Raises:
            BadInputError: an unknown key, or a value of the wrong kind.
        """
        try:
            known = dict(facts)
            ranges = tuple(DisplayRange(**r) for r in known.pop("ranges", ()))
            gauge = known.pop("gauge", None)
            if gauge is not None:
                pairs = {k: tuple(gauge[k]) for k in ("centre", "low", "high")}
                gauge = GaugeScale(**{**gauge, **pairs})
            return cls(ranges=ranges, gauge=gauge, **known)
        except (TypeError, KeyError, ValueError) as error:
            raise BadInputError(
                f"The display profile {facts.get('name', '')!r} cannot be used ({error}).",
                "Its keys are in docs/photo.md.",
            ) from None

    @classmethod
    def load(cls, path: Path) -> DisplayProfile:
        """From a TOML file.

        Raises:
            BadInputError: no such file, no TOML, or keys that a profile does not have.
        """
        try:
            return cls.from_mapping(tomllib.loads(path.read_text("utf-8")))
        except OSError as error:
            raise BadInputError(f"{path}: the file cannot be read ({error.strerror}).") from None
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise BadInputError(f"{path}: not a TOML file ({error}).") from None
