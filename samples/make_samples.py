"""Makes all samples anew: spoken sessions (WAV) and drawn pictures (JPEG). Same input, same files.

    .venv/bin/python samples/make_samples.py

Needs Debian's flite for the voices. Everything in the samples is invented; see samples/README.md.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import soundfile

from connector_picture import connector
from meter_picture import meter, photograph
from spoken_session import RATE, session

HERE = Path(__file__).parent

SPOKEN = {
    "1-before-taking-apart.wav": (
        "rms",
        ["confirmed", "one"],
    ),
    "2-wires.wav": (
        "rms",
        ["pin one red", "pin two black", "pin three white with blue tracer"],
    ),
    "3-resistance.wav": (
        "rms",
        [
            "port twenty seven point four ohms",
            "starboard one hundred and fifty point five ohms",
            "scratch that",
            "starboard one hundred and eighty one point zero ohms",
            "bracket twenty one inch pounds",
        ],
    ),
}

METERS = {
    "supply.jpg": ("24.6", "V", ("AUTO", "DC")),
    "insulation.jpg": ("11.50", "MΩ", ("AUTO",)),
    "midships.jpg": ("103.2", "Ω", ("AUTO",)),
}


def main() -> None:
    for seed, (name, (voice, said)) in enumerate(SPOKEN.items()):
        soundfile.write(HERE / name, session(said, voice, seed), RATE, subtype="PCM_16")
        print(f"{name}: {len(said)} utterances")
    for seed, (name, (text, unit, notes)) in enumerate(METERS.items()):
        picture = photograph(meter(text, unit, notes), seed)
        cv2.imwrite(str(HERE / name), picture, [cv2.IMWRITE_JPEG_QUALITY, 85])
        print(f"{name}: {text} {unit}")
    for seed, name in enumerate(("connector-open.jpg", "sender-fitted.jpg")):
        picture = photograph(connector(open_=name.startswith("connector")), 7 + seed)
        cv2.imwrite(str(HERE / name), picture, [cv2.IMWRITE_JPEG_QUALITY, 80])
        print(name)


if __name__ == "__main__":
    main()
