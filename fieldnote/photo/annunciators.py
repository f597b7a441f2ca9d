"""What stands round the digits: the unit, AC or DC, HOLD, AUTO, MIN, MAX, low battery."""

from __future__ import annotations

from dataclasses import dataclass

from fieldnote.photo.geometry import Place
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.symbols import STATES, UNITS
from fieldnote.photo.words import Word, annunciator_net_present, words_near

_LEAST_HEIGHT = 12
"""px of the digits; below it units are a smear."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What was seen beside the digits.

    unit: UCUM code or None. current: "AC" or "DC". states: annunciators. doubts: for a person.
    """

    unit: str | None = None
    current: str | None = None
    states: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()


def read_surroundings(
    pixels: Pixels, place: Place, profile: DisplayProfile | None = None
) -> Surroundings:
    """Reads units and states near the digits at `place`; empty where nothing is certain.

    A profile's units are the only ones looked for, where it names some.
    """
    if place.height < _LEAST_HEIGHT or not annunciator_net_present():
        return Surroundings()
    words = words_near(pixels, place)
    allowed = profile.units if profile is not None else ()
    units = [w for w in words if w.name in UNITS and (not allowed or UNITS[w.name] in allowed)]
    states = [w.name for w in words if w.name in STATES]
    unit, doubts = _unit(units)
    both = {"AC", "DC"} <= set(states)  # a panel's printed legend, or AC+DC
    return Surroundings(
        unit=unit,
        current=None if both else next((s for s in states if s in {"AC", "DC"}), None),
        states=tuple(dict.fromkeys(s for s in states if s not in {"AC", "DC"})),
        doubts=doubts,
    )


def _unit(words: list[Word]) -> tuple[str | None, tuple[str, ...]]:
    """The unit that belongs to the digits: on their line and behind them, else the only one."""
    behind = [w for w in words if w.x > 0 and abs(w.y) < 0.75]
    chosen = min(behind or words, key=lambda w: abs(w.x) + abs(w.y), default=None)
    if chosen is None:
        return None, ()
    if not behind and len({w.name for w in words}) > 1:
        return None, ()
    if chosen.followed and chosen.name in {"W", "kW"}:
        return None, ()  # perhaps a spaced kW h: a power is no energy
    if chosen.prefixed and chosen.name in {"V", "A", "Ω", "W", "Hz", "bar"}:
        return None, ("the unit's prefix",)
    if chosen.rival in UNITS and chosen.rival_probability > 0.05:
        return None, (f"the unit: {chosen.name} or {chosen.rival}",)
    return UNITS[chosen.name], ()
