"""Units and states as they stand on instruments, and what they mean."""

from __future__ import annotations

OTHER = ""
"""Something that is no unit and no state."""

UNITS = {
    "V": "V", "mV": "mV", "kV": "kV", "A": "A", "mA": "mA", "µA": "uA", "Ω": "Ohm",
    "kΩ": "kOhm", "MΩ": "MOhm", "°C": "Cel", "°F": "[degF]", "Hz": "Hz", "kHz": "kHz",
    "MHz": "MHz", "%": "%", "W": "W", "kW": "kW", "bar": "bar", "mbar": "mbar", "psi": "[psi]",
    "kPa": "kPa", "MPa": "MPa", "nF": "nF", "µF": "uF", "mm": "mm", "N·m": "N.m", "kWh": "kW.h",
}  # fmt: skip
"""Symbol to UCUM code."""

STATES = ("AC", "DC", "HOLD", "AUTO", "MIN", "MAX", "REL", "low battery")

_FURTHER = {
    "kΩ": ("KΩ",), "psi": ("PSI",), "bar": ("BAR",), "N·m": ("N.m", "Nm", "N-m"),
    "kWh": ("KWH", "kW·h"), "kPa": ("KPa",), "kHz": ("KHz",), "kW": ("KW",),
    "low battery": ("BAT", "BATT", "LOBAT", "LO BAT"),
}  # fmt: skip

SPELLINGS: dict[str, tuple[str, ...]] = {
    OTHER: (),
    **{name: (name, *_FURTHER.get(name, ())) for name in UNITS},
    **{name: _FURTHER.get(name, (name,)) for name in STATES},
}
"""Every class of the annunciator net, in the order of its outputs, and how it is written."""

# Lookalikes of the same sign in Unicode.
_AS_SHOWN = str.maketrans({"\u03bc": "µ", "\u2126": "Ω", "º": "°", "˚": "°"})


def unit_of(text: str) -> str | None:
    """UCUM code of a unit symbol, letter case heeded: mV and MV differ by a factor of 1e9."""
    text = text.translate(_AS_SHOWN)
    return next((UNITS[name] for name in UNITS if text in SPELLINGS[name]), None)
