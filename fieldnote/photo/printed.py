"""The reader "print": printed and dot-matrix characters, by tesseract."""

from __future__ import annotations

import os
import re
import shutil
from dataclasses import dataclass, replace

import cv2
import numpy as np

from fieldnote.errors import MissingPartError
from fieldnote.photo.geometry import Place
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.reading import Reading
from fieldnote.photo.symbols import unit_of

INSTALL = "apt-get install tesseract-ocr"
_NUMBER = re.compile(r"[-−–]?\d+(?:[.,]\d+)?")
_OPEN = re.compile(r"[O0]\.?L|-{3,}")
_TALLEST = 44
"""px of text height that tesseract reads best; larger print is reduced to it."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word: its text, tesseract's confidence in [0, 1], its place and its line."""

    text: str
    confidence: float
    place: Place
    line: tuple[int, ...]


def tesseract_present() -> bool:
    """Whether the tesseract program is on the path."""
    return shutil.which("tesseract") is not None


def words(grey: Pixels, layout: int = 11) -> list[Word]:
    """Words in a grey picture, dark on light; `layout` is tesseract's page segmentation mode.

    Raises:
        MissingPartError: tesseract is not installed.
    """
    if not tesseract_present():
        raise MissingPartError("Printed text is read by tesseract, which is missing.", INSTALL)
    from pytesseract import pytesseract as tesseract

    os.environ.setdefault("OMP_THREAD_LIMIT", "1")  # its threads cost more than they bring
    data = tesseract.image_to_data(  # type: ignore[no-untyped-call]
        grey, config=f"--oem 1 --psm {layout}", output_type=tesseract.Output.DICT
    )
    found = []
    for i, text in enumerate(data["text"]):
        if not text.strip():
            continue
        x, y, w, h = (float(data[key][i]) for key in ("left", "top", "width", "height"))
        line = tuple(int(data[key][i]) for key in ("block_num", "par_num", "line_num"))
        place = Place(x + w / 2, y + h / 2, w, h)
        found.append(Word(text.strip(), max(0.0, float(data["conf"][i])) / 100, place, line))
    return found


class PrintReader:
    """Numbers in print: paper, dot-matrix and graphic displays."""

    name = calibration = "print"

    def read(self, pixels: Pixels, profile: DisplayProfile | None) -> list[Reading]:
        grey = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY), np.uint8)
        # One line that fills the picture, and a whole page: each at the size tesseract likes.
        height, width = grey.shape
        plans = [(11, min(2.0, 1400 / max(height, width)))]
        if width > 1.7 * height:
            plans.insert(0, (7, min(3.0, _TALLEST * 2 / height)))
        best: list[Reading] = []
        for layout, scale in plans:
            small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
            for view in (small, 255 - small):
                level = cv2.normalize(view, np.zeros_like(view), 0, 255, cv2.NORM_MINMAX)
                framed = cv2.copyMakeBorder(level, 16, 16, 16, 16, cv2.BORDER_REPLICATE)
                found = _numbers(words(np.asarray(framed, np.uint8), layout), scale)
                if profile is not None:
                    found = [r for r in found if profile.allows(r.characters, r.unit)]
                if sum(r.rank for r in found[:1]) > sum(r.rank for r in best[:1]):
                    best = found
            if best and best[0].score > 0.8:
                break
        return best

    def read_at(
        self, pixels: Pixels, place: Place, profile: DisplayProfile | None
    ) -> Reading | None:
        readings = self.read(pixels, profile)
        return next((r for r in readings if r.place.overlap(place) > 0.3), None)


def _numbers(words: list[Word], scale: float) -> list[Reading]:
    """Numbers among the words, with the unit that follows on the same line."""
    readings = []
    for i, word in enumerate(words):
        match = _NUMBER.match(word.text) or _OPEN.match(word.text)
        if match is None:
            continue
        shown, rest = match.group(), word.text[match.end() :]
        if rest and unit_of(rest) is None:
            continue
        following = words[i + 1] if i + 1 < len(words) and words[i + 1].line == word.line else None
        unit = unit_of(rest) if rest else (unit_of(following.text) if following else None)
        p = word.place
        place = replace(
            p, x=(p.x - 16) / scale, y=(p.y - 16) / scale, width=p.width / scale,
            height=p.height / scale,
        )  # fmt: skip
        characters = re.sub("[−–]", "-", shown).replace(",", ".").replace("0L", "OL")
        rank = word.confidence * p.height
        readings.append(Reading(characters, word.confidence, place, unit=unit, rank=rank))
    return sorted(readings, key=lambda r: -r.rank)
