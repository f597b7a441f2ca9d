"""Units and states as they stand on instruments, and what they mean."""

from __future__ import annotations

UNITS = {
    "V": "V", "mV": "mV", "kV": "kV", "µV": "uV", "A": "A", "mA": "mA", "µA": "uA",
    "Ω": "Ohm", "kΩ": "kOhm", "MΩ": "MOhm", "°C": "Cel", "°F": "[degF]", "Hz": "Hz",
    "kHz": "kHz", "MHz": "MHz", "%": "%", "W": "W", "kW": "kW", "bar": "bar",
    "psi": "[psi]", "kPa": "kPa", "MPa": "MPa", "mbar": "mbar", "Pa": "Pa", "nF": "nF",
    "µF": "uF", "rpm": "{rpm}", "mm": "mm", "kg": "kg", "N·m": "N.m", "°": "deg",
    "kWh": "kW.h",
}  # fmt: skip
"""Symbol as shown to UCUM code."""

STATES = {
    "AC": "AC", "DC": "DC", "HOLD": "HOLD", "AUTO": "AUTO", "MIN": "MIN", "MAX": "MAX",
    "REL": "REL", "BATT": "low battery", "LOBAT": "low battery", "BAT": "low battery",
}  # fmt: skip

# What recognisers make of characters that they do not know.
_AS_SHOWN = str.maketrans({"\u03bc": "µ", "\u2126": "Ω", "º": "°", "˚": "°"})


def unit_of(text: str) -> str | None:
    """UCUM code of a unit symbol, letter case heeded: mV and MV differ by a factor of 1e9."""
    return UNITS.get(text.translate(_AS_SHOWN))
