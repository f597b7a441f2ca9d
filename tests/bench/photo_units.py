"""Units and annunciators on drawn meters: our net and tesseract on the same surroundings.

    python -m tests.bench.photo_units [--count 60]

Half of the meters are lettered in a font that the net was not trained on.
"""

from __future__ import annotations

import argparse
import time

import cv2
import numpy as np

from fieldnote.photo.annunciators import Surroundings, read_surroundings
from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.net_reader import NetReader
from fieldnote.photo.picture import Pixels
from fieldnote.photo.printed import tesseract_present, words
from fieldnote.photo.symbols import UNITS, unit_of
from tests.photo import panels
from tests.photo.panels import BACKLIT, BOLD_FONT, LCD, LED_GREEN_GHOST, LED_RED, meter, photograph

APART = "/usr/share/fonts/opentype/urw-base35/NimbusSans-Bold.otf"
STATES = ("AC", "DC", "HOLD", "AUTO", "MIN", "MAX", "REL")


def by_tesseract(pixels: Pixels, place: Place) -> Surroundings:
    """The same surroundings, dark on light, in tesseract's mode for sparse text."""
    wide = place.widened(0.5, 3.0, 1.2, 0.8)
    scale = 110 / place.height
    view = cut(pixels, wide, round(wide.width * scale), round(wide.height * scale))
    grey = cv2.cvtColor(view, cv2.COLOR_BGR2GRAY)
    grey = np.asarray(grey if np.median(grey) > grey.mean() else 255 - grey, np.uint8)
    found = [w.text for w in words(grey) if w.confidence > 0.5]
    units = {u for w in found if (u := unit_of(w)) is not None}
    states = [w for w in found if w in STATES]
    return Surroundings(
        units.pop() if len(units) == 1 else None,
        next((s for s in states if s in {"AC", "DC"}), None),
        tuple(s for s in states if s not in {"AC", "DC"}),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    given = parser.parse_args()
    methods = {"our net": lambda p, place: read_surroundings(p, place)}
    if tesseract_present():
        methods["tesseract"] = by_tesseract
    tally = {name: [0] * 5 + [0.0] for name in methods}
    r, reader, units = np.random.default_rng(7), NetReader(), list(UNITS)
    for i in range(given.count):
        unit, state = units[i % len(units)], str(r.choice(STATES))
        panels.write.__defaults__ = (APART if i % 2 else BOLD_FONT,)
        face = (LCD, LED_RED, LED_GREEN_GHOST, BACKLIT)[int(r.integers(4))]
        panel = meter(f"{r.integers(100, 9999) / 100:.2f}", unit, (state,), face=face)
        picture = photograph(panel, i, angle=r.uniform(-10, 10), fill=r.uniform(0.35, 0.6))
        readings = reader.read(picture, None)
        if not readings:
            continue
        for name, method in methods.items():
            started = time.perf_counter()
            seen = method(picture, readings[0].place)
            spent = time.perf_counter() - started
            shown = {seen.current, *seen.states} - {None}
            counts = (1, seen.unit == UNITS[unit], seen.unit not in {None, UNITS[unit]},
                      shown == {state}, bool(shown - {state}), spent)  # fmt: skip
            tally[name] = [a + b for a, b in zip(tally[name], counts, strict=True)]
    for name, (count, right, wrong, state_right, state_wrong, spent) in tally.items():
        print(f"{name}: of {count} units {right} right, {wrong} wrong;")
        print(f"  of {count} states {state_right} right, {state_wrong} wrong;")
        print(f"  {spent / max(1, count) * 1000:.0f} ms each")


if __name__ == "__main__":
    main()
