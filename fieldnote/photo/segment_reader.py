"""The reader "segments": lines of digits found and decoded by OpenCV alone. Always available."""

from __future__ import annotations

from dataclasses import replace

from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.lines import find_lines, turn_back, turned_picture
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.reading import Reading
from fieldnote.photo.segments import decode_segments

_HEIGHT = 80
_READ = 0.15
"""A score at which no other way of holding the picture is tried."""


class SegmentReader:
    """Seven-segment displays, level within 20 degrees, or on their side or head."""

    name = calibration = "segments"

    def read(self, pixels: Pixels, profile: DisplayProfile | None) -> list[Reading]:
        height, width = pixels.shape[:2]
        readings = _read_upright(pixels, profile)
        if readings and readings[0].score >= _READ:
            return readings
        # Turned pictures are full of false 8s and 1s: they are tried only where nothing else reads.
        for quarters in (2, 1, 3) if width < 2.5 * height else (2,):
            for reading in _read_upright(turned_picture(pixels, quarters), profile):
                place = turn_back(reading.place, quarters, pixels.shape)
                if len(reading.characters) < 3 or set(reading.characters) <= set("180"):
                    continue
                # Digits on their head still make digits: a turned picture has to be clearer.
                readings.append(replace(reading, place=place, score=reading.score * 0.8,
                                        rank=reading.rank * 0.8))  # fmt: skip
        return sorted(readings, key=lambda r: -r.rank)

    def read_at(
        self, pixels: Pixels, place: Place, profile: DisplayProfile | None
    ) -> Reading | None:
        reading = read_line(pixels, place)
        if reading is None or (profile is not None and not profile.allows(reading.characters)):
            return None
        return reading


def read_line(pixels: Pixels, place: Place) -> Reading | None:
    """Decodes the characters at `place`, looking a little to its left for a sign."""
    wide = place.widened(1.0, 0.8, 0.12, 0.12)
    width = round(wide.width / wide.height * _HEIGHT)
    found = decode_segments(cut(pixels, wide, max(16, min(width, 1600)), _HEIGHT))
    if not found.characters:
        return None
    tight = wide.part(found.left, found.right).widened(0, 0, -0.1, -0.1)
    rank = found.score * place.height * _worth(found.characters)
    return Reading(found.characters, found.score, tight, (), _doubts(found.characters), rank=rank)


def _read_upright(pixels: Pixels, profile: DisplayProfile | None) -> list[Reading]:
    readings = [
        reading for place in find_lines(pixels) if (reading := read_line(pixels, place)) is not None
    ]
    height, width = pixels.shape[:2]
    if width > 1.7 * height:  # perhaps cropped to the display
        line = decode_segments(pixels)
        if line.characters:
            place = Place.whole(pixels).part(line.left, line.right)
            readings.append(
                Reading(
                    line.characters,
                    line.score,
                    place,
                    rank=line.score * height * _worth(line.characters),
                )
            )
    if profile is not None:
        readings = [r for r in readings if profile.allows(r.characters)]
    kept: list[Reading] = []
    for reading in sorted(readings, key=lambda r: -r.rank):
        if all(reading.place.overlap(other.place) < 0.5 for other in kept):
            kept.append(reading)
    return kept


def _doubts(characters: str) -> tuple[str, ...]:
    lone = len(characters.strip("-.")) < 2
    return ("whether this is a display: only one digit was found",) if lone else ()


def _worth(characters: str) -> float:
    """A lone digit is mostly a key, a mark or a part of something; four are a display."""
    if characters == "OL":
        return 1.0
    return float(min(1.0, (len(characters.strip("-.")) / 4) ** 1.5))
