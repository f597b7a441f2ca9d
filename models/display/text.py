"""What stands on displays: the strings that the generator writes, and the alphabet of the
reader."""

from __future__ import annotations

import numpy as np

ALPHABET = "0123456789.-:LErHioF"
"""Characters the reader can give; index 0 of its output is the blank, so these start at 1.

The letter O is written as the digit 0: on seven segments they are the same shape, so an overload
reads "0L".
"""

STATES = (
    "0L",
    "0.L",
    ".0L",
    "00.L",
    "0L.",
    "Err",
    "Lo",
    "Hi",
    "----",
    "---",
    "--.-",
    "- -",
    "E0",
    "E1",
    "F0",
)
UNITS = (
    *(
        "V",
        "mV",
        "A",
        "mA",
        "µA",
        "Ω",
        "kΩ",
        "MΩ",
        "Hz",
        "kHz",
        "°C",
        "°F",
        "%",
        "nF",
        "µF",
        "dB",
        "VA",
        "W",
    ),
    *(
        "kW",
        "kWh",
        "MWh",
        "kVA",
        "kvar",
        "PF",
        "bar",
        "mbar",
        "psi",
        "kPa",
        "MPa",
        "Pa",
        "Nm",
        "rpm",
        "m/s",
    ),
    *(
        "mm",
        "kg",
        "g",
        "lb",
        "L",
        "m³",
        "m³/h",
        "l/min",
        "lux",
        "ppm",
        "pH",
        "%RH",
        "h",
        "s",
        "min",
        "°",
    ),
)
STATES_SHOWN = (
    *(
        "AC",
        "DC",
        "AUTO",
        "HOLD",
        "MAX",
        "MIN",
        "AVG",
        "REL",
        "BATT",
        "RANGE",
        "PEAK",
        "TRMS",
        "SET",
        "RUN",
    ),
    *(
        "TOTAL",
        "TEMP",
        "ZERO",
        "NET",
        "TARE",
        "AM",
        "PM",
        "ALARM",
        "LOCK",
        "REM",
        "ON",
        "CH1",
        "L1",
        "L2",
        "L3",
    ),
)
CAPTIONS = (
    *(
        "THIS SALE",
        "LITRES",
        "GALLONS",
        "TEMPERATURE",
        "HUMIDITY",
        "CLOCK",
        "MODE",
        "ADJ",
        "MEMORY",
        "POWER",
    ),
    *(
        "ENERGY METER",
        "DIGITAL MULTIMETER",
        "PRESSURE",
        "FLOW",
        "SPEED",
        "CAUTION",
        "MAX 600 V",
        "CAT III",
    ),
    *(
        "10 A FUSED",
        "COM",
        "230 V 50 Hz",
        "SERIAL No",
        "MADE FOR TEST",
        "TYPE 4",
        "MODEL",
        "RESET",
        "START",
    ),
    *(
        "STOP",
        "INPUT",
        "OUTPUT",
        "SALE $",
        "PRICE",
        "PER LITRE",
        "READ MANUAL",
        "CLASS 1",
        "IP65",
        "3 PHASE",
    ),
)


def _digits(rng: np.random.Generator, count: int) -> str:
    """`count` digits; now and then from few of the ten, so that runs such as 1117 or 8800 are
    seen."""
    if rng.random() < 0.3:
        few = rng.integers(0, 10, int(rng.integers(1, 4)))
        return "".join(str(rng.choice(few)) for _ in range(count))
    return "".join(str(digit) for digit in rng.integers(0, 10, count))


def meter(rng: np.random.Generator) -> str:
    """What a utility meter counts: four to seven digits, often from zeros on, one decimal or
    none."""
    text = _digits(rng, int(rng.choice([4, 5, 6, 7], p=[0.2, 0.3, 0.3, 0.2])))
    if rng.random() < 0.5:
        zeros = int(rng.integers(1, 4))
        text = "0" * zeros + text[zeros:]
    decimals = int(rng.choice([0, 1, 2, 3], p=[0.4, 0.48, 0.08, 0.04]))
    return text[:-decimals] + "." + text[-decimals:] if decimals else text


def reading(rng: np.random.Generator) -> str:
    """One display's characters, drawn from the families of instruments met in the field."""
    family = rng.random()
    if family < 0.24:  # totaliser: long, padded with zeros, few decimals
        whole = _digits(rng, int(rng.integers(4, 9)))
        if rng.random() < 0.6:
            zeros = int(rng.integers(1, 4))
            whole = "0" * zeros + whole[zeros:]
        decimals = int(rng.choice([0, 1, 2, 3], p=[0.42, 0.38, 0.14, 0.06]))
        return whole[:-decimals] + "." + whole[-decimals:] if decimals else whole
    if family < 0.40:  # pump, balance: two or three decimals
        whole = str(int(10 ** rng.uniform(0, 3.1))) if rng.random() < 0.85 else "0"
        return whole + "." + _digits(rng, int(rng.choice([1, 2, 3], p=[0.1, 0.5, 0.4])))
    if family < 0.64:  # multimeter: three to five digits, the point anywhere, often a sign
        shown = _digits(rng, int(rng.choice([3, 4, 5], p=[0.25, 0.55, 0.2])))
        place = int(rng.integers(0, len(shown)))
        text = shown[: len(shown) - place] + ("." + shown[len(shown) - place :] if place else "")
        return ("-" if rng.random() < 0.4 else "") + text
    if family < 0.78:  # thermometer, controller: one decimal, may be negative
        whole = str(int(10 ** rng.uniform(0, 2.6))) if rng.random() < 0.9 else "0"
        text = whole + ("." + _digits(rng, 1) if rng.random() < 0.75 else "")
        return ("-" if rng.random() < 0.25 else "") + text
    if family < 0.91:  # a bare count
        text = _digits(rng, int(rng.choice([1, 2, 3, 4, 5], p=[0.1, 0.3, 0.25, 0.25, 0.1])))
        return ("-" if rng.random() < 0.1 else "") + text
    if family < 0.95:  # clock
        return f"{rng.integers(0, 24)}:{rng.integers(0, 60):02d}"
    return str(rng.choice(STATES)).replace(" ", "")


def annunciator(rng: np.random.Generator) -> tuple[str, bool]:
    """A small text beside the digits, and whether it is a unit."""
    if rng.random() < 0.6:
        return str(rng.choice(UNITS)), True
    return str(rng.choice(STATES_SHOWN)), False


def caption(rng: np.random.Generator) -> str:
    """Printed text on an instrument's body: never a reading, whatever digits it holds."""
    if rng.random() < 0.55:
        return str(rng.choice(CAPTIONS))
    letters = list("ABCDEFGHKLMNPRSTUVXYZ")
    kind = rng.random()
    if kind < 0.4:
        return (
            "".join(rng.choice(letters, int(rng.integers(2, 5))))
            + "-"
            + _digits(rng, int(rng.integers(1, 6)))
        )
    if kind < 0.7:
        return _digits(rng, int(rng.integers(2, 9)))
    return moment(rng)


def moment(rng: np.random.Generator) -> str:
    """A date and time as stamped on labels and pictures."""
    year, month, day = rng.integers(10, 40), rng.integers(1, 13), rng.integers(1, 29)
    return f"20{year}-{month:02d}-{day:02d} {rng.integers(0, 24)}:{rng.integers(0, 60):02d}"
