"""The frames of a video or of a burst of photos, with their times."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
from PIL import Image

from fieldnote.errors import BadInputError
from fieldnote.photo.picture import WORKING_SIDE, Pixels, read_picture

PICTURES = {".jpg", ".jpeg", ".png", ".heic", ".heif", ".webp", ".tif", ".tiff", ".bmp"}
_DATE_TIME, _FRACTION, _EXIF = 0x9003, 0x9291, 0x8769


@dataclass(frozen=True, slots=True)
class Frame:
    """One frame. time: s since the first one; None for photos that do not say when they were taken.

    scale: px of the frame as taken to one px of `pixels`.
    """

    number: int
    time: float | None
    pixels: Pixels
    scale: float = 1.0


def frames(source: Path | str) -> Iterator[Frame]:
    """Frames of a video file, or of the photos in a folder in the order of their names.

    Raises:
        BadInputError: no such file, no video that can be read, or a folder without pictures.
    """
    source = Path(source)
    if source.is_dir():
        yield from _of_folder(source)
    else:
        yield from _of_video(source)


def _of_folder(folder: Path) -> Iterator[Frame]:
    paths = sorted(p for p in folder.iterdir() if p.suffix.lower() in PICTURES)
    if not paths:
        raise BadInputError(f"{folder}: there are no pictures in this folder.")
    first: datetime | None = None
    for number, path in enumerate(paths):
        taken = _taken(path)
        first = first or taken
        time = (taken - first).total_seconds() if taken and first else None
        picture = read_picture(path)
        yield Frame(number, time, picture.pixels, picture.scale)


def _taken(path: Path) -> datetime | None:
    """When the camera took the photo (EXIF DateTimeOriginal and SubSecTimeOriginal)."""
    try:
        with Image.open(path) as image:
            exif = image.getexif().get_ifd(_EXIF)
        taken = datetime.strptime(str(exif[_DATE_TIME]), "%Y:%m:%d %H:%M:%S")
        fraction = str(exif.get(_FRACTION, "0")).strip()[:6]
        return taken.replace(microsecond=int(fraction.ljust(6, "0")))
    except (OSError, KeyError, ValueError, SyntaxError):
        return None


def _of_video(path: Path) -> Iterator[Frame]:
    if not path.is_file():
        raise BadInputError(f"{path}: there is no such file.", "Check the name.")
    video = cv2.VideoCapture(str(path))
    try:
        number = 0
        while True:
            got, pixels = video.read()
            if not got:
                break
            time = float(video.get(cv2.CAP_PROP_POS_MSEC)) / 1000  # of the frame just read
            yield _reduced(number, time, np.asarray(pixels, np.uint8))
            number += 1
    finally:
        video.release()
    if number == 0:
        raise BadInputError(
            f"{path}: this is not a video that can be read.", "Give an MP4, MOV, MKV or AVI file."
        )


def _reduced(number: int, time: float, pixels: Pixels) -> Frame:
    longest = max(pixels.shape[:2])
    if longest <= WORKING_SIDE:
        return Frame(number, time, pixels)
    shrink = WORKING_SIDE / longest
    small = cv2.resize(pixels, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    return Frame(number, time, np.asarray(small, np.uint8), 1 / shrink)
