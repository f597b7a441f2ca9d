"""From a picture to displays: read, calibrated, judged clear or unclear."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from fieldnote.errors import BadInputError
from fieldnote.photo.annunciators import Surroundings, read_surroundings
from fieldnote.photo.calibration import CALIBRATIONS, Calibration
from fieldnote.photo.display import Box, Display
from fieldnote.photo.gauge import read_gauge
from fieldnote.photo.geometry import Place
from fieldnote.photo.net_reader import NetReader
from fieldnote.photo.nets import FINDER, READER, nets_present
from fieldnote.photo.picture import Pixels, read_picture
from fieldnote.photo.printed import INSTALL, PrintReader, tesseract_present
from fieldnote.photo.profile import DisplayProfile, GaugeScale
from fieldnote.photo.quality import faults
from fieldnote.photo.reading import Reader, ReaderStatus, Reading
from fieldnote.photo.segment_reader import SegmentReader
from fieldnote.weights import VARIABLE, weights

_NUMBER = re.compile(r"-?\d*\.?\d+\.?")
_OPEN = re.compile(r"-?OL|-{2,}")
_MOST_DISPLAYS = 6
_MOST_RIVALS = 2


def readers() -> list[ReaderStatus]:
    """What can read displays here, the preferred one first."""
    nets, print_ = nets_present(), tesseract_present()
    mend = f"Set {VARIABLE} to the folder that holds display/reader.onnx and display/finder.onnx."
    return [
        ReaderStatus("nets", nets, "digits of any display, by trained nets", "" if nets else mend),
        ReaderStatus("segments", True, "seven-segment digits, by their segments"),
        ReaderStatus("print", print_, "printed digits, by tesseract", "" if print_ else INSTALL),
    ]


def reader_named(name: str | None, profile: DisplayProfile | None = None) -> Reader:
    """The named reader, or the best one here for the profile's face.

    Raises:
        BadInputError: no reader has this name.
        MissingPartError: the named reader's net or program is not installed.
    """
    if name is None:
        if profile is not None and profile.printed:
            name = "print"
        else:
            name = "nets" if nets_present() else "segments"
    match name:
        case "nets":
            weights(READER), weights(FINDER)  # told now, not at the first picture
            return NetReader()
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
    notes = ("this is a screenshot, not a photo of the display",) if picture.screenshot else ()
    return [replace(d, box=_scaled(d.box, picture.scale), notes=notes) for d in displays]


def advice(path: Path | str) -> tuple[str, ...]:
    """What is wrong with a picture in which no display was found, each with its mend.

    Raises:
        BadInputError: no picture that can be read.
    """
    return faults(read_picture(path).pixels)


def look_at(
    pixels: Pixels,
    reader: Reader,
    profile: DisplayProfile | None = None,
    at: Place | None = None,
) -> list[Display]:
    """As `look`, on a picture in memory; boxes are in its px.

    at: where the display was in the picture before; only its digits are then read, not its unit.
    """
    if profile is not None and profile.gauge is not None:
        return [_of_gauge(pixels, profile.gauge)]
    if at is not None:
        reading = reader.read_at(pixels, at, profile)
        readings = [] if reading is None else [reading]
    else:
        readings = reader.read(pixels, profile)[:_MOST_DISPLAYS]
    displays = []
    for i, reading in enumerate(readings):
        # Units are looked for at the main display only.
        main = i == 0 and at is None
        around = read_surroundings(pixels, reading.place, profile) if main else Surroundings()
        displays.append(_judged(pixels, reading, around, reader))
    return displays


def _judged(pixels: Pixels, reading: Reading, around: Surroundings, reader: Reader) -> Display:
    calibration = CALIBRATIONS[reader.calibration]
    confidence = calibration.confidence(reading.score)
    unit = reading.unit or around.unit
    display = Display(
        characters=reading.characters,
        confidence=confidence,
        box=reading.place.box(),
        reader=reader.name,
        unit=unit,
        current=around.current,
        annunciators=around.states,
        alternatives=_rivals(reading, calibration),
        value=_value(reading.characters),
    )
    reasons = [f"uncertain: {doubt}" for doubt in (*reading.doubts, *around.doubts)]
    if confidence < calibration.threshold:
        reasons.append("not sure enough of the characters")
    if not reasons and display.value is None and not _OPEN.fullmatch(reading.characters):
        reasons.append(f"it shows {reading.characters}, which is no number")
    if reasons:
        advice = faults(pixels, reading.place)
        return replace(display, kind="unclear", reason="; ".join((*reasons, *advice)))
    if display.value is None:
        return replace(display, kind="open")
    return replace(display, kind="reading" if unit is not None else "bare")


def _rivals(reading: Reading, calibration: Calibration) -> tuple[tuple[str, float], ...]:
    """The likeliest other readings: a person chooses among three, not among six."""
    rivals: dict[str, float] = {}
    for text, score in reading.alternatives:
        value = text.rstrip(".")
        if value and value != reading.characters.rstrip("."):
            rivals.setdefault(value, calibration.confidence(score))
    return tuple(rivals.items())[:_MOST_RIVALS]


def _of_gauge(pixels: Pixels, scale: GaugeScale) -> Display:
    reading = read_gauge(pixels, scale)
    display = Display(
        characters=f"{reading.value} ± {reading.uncertainty}",
        confidence=reading.score,
        box=reading.place.box(),
        reader="gauge",
        kind="reading" if scale.unit is not None else "bare",
        value=reading.value,
        unit=scale.unit,
        uncertainty=reading.uncertainty,
    )
    if reading.reason is None:
        return display
    advice = "; ".join((reading.reason, *faults(pixels)))
    return replace(display, kind="unclear", reason=advice)


def _value(characters: str) -> str | None:
    return characters.rstrip(".") if _NUMBER.fullmatch(characters) else None


def _scaled(box: Box, scale: float) -> Box:
    a, b, c, d = ((x * scale, y * scale) for x, y in box)
    return (a, b, c, d)
