"""An invented job on an invented workboat, written into a real log with real sound and pictures.

Machine, people, numbers and limits are made up and say nothing about any real machine.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import numpy as np
import soundfile
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from fieldnote.acceptance import Quantity, Verdict, Window, judge
from fieldnote.acceptance.travel import TravelLimits, TravelPoint, check_travel
from fieldnote.joblog import JobLog, Record

REF = "rudder-01"
START = datetime(2031, 3, 4, 9, 12, 5, tzinfo=timezone(timedelta(hours=1)))
BOX = ((228.0, 186.0), (616.0, 170.0), (624.0, 318.0), (236.0, 334.0))  # px, of the drawn display

FACTS: dict[str, Any] = {
    "asset": "Harbour workboat “Example”, rudder-angle sender",
    "serial": "EX-0417",
    "hours": "3120.5",
    "complaint": "Rudder indicator jumps between midships and 10° to port",
    "technician": "A. Example",
    "customer": "Example Harbour Company (invented)",
    "site": "Quay 2",
    "meter": {
        "id": "dmm-1",
        "name": "Digital multimeter, bench 1",
        "serial": "INV-22",
        "calibrated": "2030-11-18",
        "due": "2031-11-18",
        "certificate": "C-1180 (invented)",
        "accuracy": "0.5 % of reading + 2 digits",
    },
    "procedure": {
        "name": "rudder-angle-sender",
        "title": "Rudder-angle sender, resistance over travel",
        "version": "1",
        "digest": "9b1f0c5d2a7e44c38d1c7b2d0f6a95e17cd1b0aa3f6e2b2f4f7d9d1e6c5b4a39",
        "cautions": [
            "The rudder moves without warning when the steering pump runs. Isolate and lock it "
            "before reaching into the steering flat.",
            "Disconnect the supply before measuring resistance.",
        ],
    },
}


def tone(seconds: float = 1.4, pitch: float = 220.0) -> bytes:
    """A WAV of a falling tone: something that plays, and is no speech."""
    time = np.arange(int(16000 * seconds)) / 16000
    wave = 0.3 * np.sin(2 * np.pi * pitch * time) * np.exp(-2 * time)
    out = io.BytesIO()
    soundfile.write(out, wave, 16000, format="WAV", subtype="PCM_16")
    return out.getvalue()


def photo(characters: str = "10.82") -> bytes:
    """A JPEG of a drawn meter, its display standing askew inside ``BOX``."""
    image = Image.new("RGB", (900, 640), "#5d6a62")
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((170, 60, 690, 620), 40, fill="#2b2f33", outline="#15181a", width=6)
    draw.polygon(BOX, fill="#b9c4a4", outline="#1a1d1a")
    font = ImageFont.load_default(120)
    draw.text((260, 180), characters, font=font, fill="#20261e")
    draw.ellipse((360, 400, 500, 540), fill="#3b4146", outline="#101214", width=5)
    out = io.BytesIO()
    image.filter(ImageFilter.GaussianBlur(0.8)).save(out, "JPEG", quality=88)
    return out.getvalue()


def entry(kind: str = "reading", **fields: Any) -> dict[str, Any]:
    """An entry as the language writes it; fields that are not named are empty."""
    empty: dict[str, Any] = {
        "kind": kind, "value": None, "unit": None, "values": [], "label": None, "pins": [],
        "colour": None, "command": None, "text": "", "reason": None, "alternatives": [],
        "unit_from": None, "current": None, "position": None, "state": None, "hedge": None,
        "corrected": None,
    }  # fmt: skip
    return {**empty, **fields}


def body(
    said: Mapping[str, Any],
    how: str = "voice",
    window: Window | None = None,
    uncertainty: str | None = None,
    step: str | None = None,
    **source: Any,
) -> dict[str, Any]:
    """A record's body, judged by the real acceptance part."""
    verdict = None
    if said["kind"] == "reading":
        quantity = Quantity(said["value"], said["unit"])
        verdict = judge(
            quantity, window, None if uncertainty is None else Decimal(uncertainty)
        ).to_json()
    return {
        "entry": dict(said),
        "step": step,
        "source": {"how": how, **source},
        "window": window.to_json() if window else None,
        "verdict": verdict,
        "meter": "dmm-1",
    }


def travel() -> dict[str, Any]:
    """A travel there and back with one jump on the way out, judged by the real acceptance part."""
    out = ["10.0", "44.2", "78.1", "131.9", "146.4", "180.3"]
    back = ["146.0", "112.2", "78.3", "44.1", "10.1"]
    places = [0, 9, 18, 27, 36, 45, 36, 27, 18, 9, 0]
    points = [
        TravelPoint(value, str(place)) for value, place in zip(out + back, places, strict=True)
    ]
    limits = TravelLimits("rising", largest_jump="40", both_ways=True)
    report = check_travel(points, "Ohm", limits)
    said = entry("series", value=" ".join(out + back), values=out + back, unit="Ohm")
    verdict = Verdict(report.result, None, "Ohm", "travel")
    told = {"verdict": verdict.to_json(), "travel": report.to_json(), "step": "travel-curve"}
    return {**body(said, "typed"), **told}


def write(
    log: JobLog, ref: str = REF, voice: bytes | None = None, start: datetime = START
) -> dict[str, Record]:
    """The job, with one of everything that a review has to show; records by a name for tests."""
    seconds = (95, 140, 190, 260, 262, 300, 345, 400, 420, 470, 520, 560, 610, 640, 700, 760, 790)
    clock = iter(start + timedelta(seconds=s) for s in seconds)
    log.start_job(FACTS, at=start, ref=ref)
    clip = log.keep(voice or tone(), ".wav")
    picture = log.keep(photo(), ".jpg")
    lone = log.keep(photo("------"), ".jpg")
    window = Window.plus_minus("10", "1.8", "Ohm")
    end_window = Window.plus_minus("180", "5", "Ohm")
    insulation = Window.at_least("1", "MOhm")
    made: dict[str, Record] = {}

    def add(
        name: str, kind: str, what: Mapping[str, Any], evidence: Any = (), refers_to: Any = None
    ) -> None:
        made[name] = log.append(
            ref, kind, what, at=next(clock), evidence=evidence, refers_to=refers_to
        )

    heard = {
        "engine": "phones",
        "confidence": "0.97",
        "start": "1.20",
        "end": "2.60",
        "file": "s.wav",
    }
    add(
        "good",
        "reading",
        body(
            entry(
                value="10.60",
                unit="Ohm",
                label="sender at midships",
                text="ten point six zero ohms",
            ),
            window=window,
            uncertainty="0.04",
            step="midships",
            **heard,
        ),
        [clip],
    )
    add(
        "photo",
        "reading",
        body(
            entry(
                value="10.82", unit="Ohm", label="sender at midships", state="warm", text="10.82"
            ),
            how="photo",
            window=window,
            uncertainty="0.04",
            step="midships",
            reader="segments",
            confidence="0.93",
            file="m.jpg",
            box=[[str(x) for x in corner] for corner in BOX],
        ),
        [picture],
    )
    add(
        "fail",
        "reading",
        body(
            entry(
                value="14.7",
                unit="Ohm",
                label="sender at full port",
                text="fourteen point seven ohms",
            ),
            window=window,
            uncertainty="0.05",
            step="full-port",
            **heard,
        ),
        [clip],
    )
    add(
        "wrong",
        "reading",
        body(
            entry(
                value="18.1",
                unit="Ohm",
                label="sender at full starboard",
                text="eighteen point one",
            ),
            window=end_window,
            step="full-starboard",
            **heard,
        ),
        [clip],
    )
    add(
        "corrected",
        "correction",
        {
            **body(
                entry(
                    value="181",
                    unit="Ohm",
                    label="sender at full starboard",
                    text="one hundred eighty one",
                    corrected="18.1",
                ),
                window=end_window,
                uncertainty="0.6",
                step="full-starboard",
                **heard,
            ),
            "why": "misheard: “scratch that, one hundred eighty-one”",
        },
        [clip],
        made["wrong"],
    )
    add(
        "doubt",
        "reading",
        body(
            entry(
                value="11.78",
                unit="Ohm",
                label="sender at 10° to port",
                text="eleven point seven eight ohms",
            ),
            window=window,
            uncertainty="0.04",
            step="ten-port",
            **heard,
        ),
        [clip],
    )
    add(
        "typed",
        "reading",
        body(
            entry(
                value="2.2",
                unit="MOhm",
                label="wiper to housing",
                text="2.2 megohm wiper to housing",
            ),
            how="typed",
            window=insulation,
            step="insulation",
        ),
    )
    add(
        "free",
        "reading",
        body(
            entry(
                value="12.61",
                unit="V",
                label="battery",
                current="DC",
                text="battery twelve point six one volts",
            ),
            **heard,
        ),
        [clip],
    )
    add(
        "wire",
        "wire",
        body(entry("wire", colour="BK/BN", pins=["4"], text="pin four black brown"), **heard),
        [clip],
    )
    add(
        "remark",
        "remark",
        body(
            entry(
                "remark", text="Connector at the sender green with corrosion, locking tab broken."
            ),
            **heard,
        ),
        [clip],
    )
    add(
        "gone",
        "reading",
        body(
            entry(value="0.3", unit="Ohm", label="ground", text="zero point three ohms ground"),
            window=Window.at_most("0.5", "Ohm"),
            **heard,
        ),
        [clip],
    )
    add("withdrawal", "withdrawal", {"why": "probe had slipped off the stud"}, (), made["gone"])
    add(
        "question",
        "question",
        body(
            entry(
                "unclear",
                value="15",
                unit="Ohm",
                alternatives=["50"],
                text="fif… ohms",
                reason="“fifteen” and “fifty” sounded alike",
            ),
            step="full-port",
            **heard,
        ),
        [clip],
    )
    add(
        "picture",
        "photo",
        {
            "step": None,
            "source": {"how": "photo", "file": "c.jpg"},
            "caption": "Corroded connector at the sender",
        },
        [lone],
    )
    add(
        "again",
        "reading",
        body(
            entry(
                value="11.1",
                unit="Ohm",
                label="sender at 10° to port",
                text="eleven point one ohms",
            ),
            window=window,
            uncertainty="0.05",
            step="ten-port",
            **heard,
        ),
        [clip],
    )
    add("travel", "reading", travel())
    add("skip", "step", {"step": "travel-curve", "move": "skip", "why": "steering pump locked out"})
    log.close_job(
        ref,
        {
            "found": "Resistance at full port far above its window; connector corroded.",
            "done": "Connector cleaned and measured again; sender to be replaced.",
            "parts": ["1 sender, resistive (invented part)"],
        },
        at=start + timedelta(seconds=900),
    )
    return made
