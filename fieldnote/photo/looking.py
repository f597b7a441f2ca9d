"""From a picture to displays: read, calibrated, judged clear or unclear."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from fieldnote.errors import BadInputError
from fieldnote.photo.annunciators import Surroundings, read_surroundings
from fieldnote.photo.calibration import CALIBRATIONS
from fieldnote.photo.display import Box, Display
from fieldnote.photo.picture import Pixels, read_picture
from fieldnote.photo.printed import INSTALL, PrintReader, tesseract_present
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.quality import faults
from fieldnote.photo.reading import Reader, ReaderStatus, Reading
from fieldnote.photo.segment_reader import SegmentReader

NUMBER = re.compile(r"-?\d*\.?\d+\.?")
_OPEN = re.compile(r"OL|-{2,}")
_MOST_DISPLAYS = 6


def readers() -> list[ReaderStatus]:
    """What can read displays here, the preferred one first."""
    return [
        ReaderStatus("segments", True, "seven-segment digits, by their segments"),
        ReaderStatus(
            "print", tesseract_present(), "printed and dot-matrix digits, by tesseract",
            "" if tesseract_present() else INSTALL,
        ),
    ]  # fmt: skip


def reader_named(name: str | None, profile: DisplayProfile | None = None) -> Reader:
    """The named reader, or the best one here for the profile's face.

    Raises:
        BadInputError: no reader has this name.
        MissingPartError: the named reader's net is not installed.
    """
    if name is None:
        name = "print" if profile is not None and profile.printed else "segments"
    match name:
        case "segments":
            return SegmentReader()
        case "print":
            return PrintReader()
    known = ", ".join(status.name for status in readers())
    raise BadInputError(f"There is no reader {name!r}.", f"Known are: {known}.")


def look(
    path: Path | str, profile: DisplayProfile | None = None, reader: str | None = None
) -> list[Display]:
    """Reads the displays in a picture, likeliest first; empty where none was found.

    profile: what is known of the instrument. reader: name of one reader, else the best there is.

    Raises:
        BadInputError: no picture that can be read, or no such reader.
        MissingPartError: a needed net or program is not installed.
    """
    chosen = reader_named(reader, profile)
    picture = read_picture(path)
    displays = look_at(picture.pixels, chosen, profile)
    return [replace(d, box=_scaled(d.box, picture.scale)) for d in displays]


def look_at(pixels: Pixels, reader: Reader, profile: DisplayProfile | None = None) -> list[Display]:
    """As `look`, on a picture in memory; boxes are in its px."""
    readings = reader.read(pixels, profile)[:_MOST_DISPLAYS]
    displays = []
    for place, reading in enumerate(readings):
        # Units are looked for at the main display only: each look takes a tenth of a second.
        around = read_surroundings(pixels, reading.place, profile) if place == 0 else Surroundings()
        displays.append(_judged(pixels, reading, around, reader.name, profile))
    return displays


def _judged(
    pixels: Pixels,
    reading: Reading,
    around: Surroundings,
    reader: str,
    profile: DisplayProfile | None,
) -> Display:
    calibration = CALIBRATIONS[reader]
    confidence = calibration.confidence(reading.score)
    unit = reading.unit or around.unit
    faulty = faults(pixels, reading.place)
    display = Display(
        characters=reading.characters,
        confidence=confidence,
        box=reading.place.box(),
        reader=reader,
        unit=unit,
        current=around.current,
        annunciators=around.states,
        alternatives=tuple((t, calibration.confidence(s)) for t, s in reading.alternatives),
        value=_value(reading.characters),
    )
    reasons = [f"uncertain: {doubt}" for doubt in (*reading.doubts, *around.doubts)]
    if confidence < calibration.threshold:
        reasons.append("not sure enough of the characters")
    if reasons:
        return replace(display, kind="unclear", reason="; ".join((*reasons, *faulty)))
    if _OPEN.fullmatch(reading.characters):
        return replace(display, kind="open")
    if display.value is None:
        return replace(display, kind="unclear", reason=f"it shows {reading.characters}, no number")
    return replace(display, kind="reading" if unit is not None else "bare")


def _value(characters: str) -> str | None:
    return characters.rstrip(".") if NUMBER.fullmatch(characters) else None


def _scaled(box: Box, scale: float) -> Box:
    a, b, c, d = ((x * scale, y * scale) for x, y in box)
    return (a, b, c, d)
