"""A picture that shows what was read where, and how surely."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from fieldnote.errors import BadInputError, StoreError
from fieldnote.photo.display import Display
from fieldnote.photo.geometry import Place, cut, place_of_box
from fieldnote.photo.picture import Picture, Pixels, read_picture

_WIDTH = 900
_ROW = 110
_WRITTEN = (".png", ".jpg", ".jpeg", ".webp", ".tiff", ".bmp", ".pdf")
_TAKEN, _ASKED = (20, 130, 40), (190, 60, 20)


def explain(path: Path | str, displays: Sequence[Display], out: Path) -> Path:
    """Writes a picture with every display's box, its rectified cut, what was read and how sure.

    Raises:
        BadInputError: `path` is no picture, or `out` is not named like one.
        StoreError: `out` cannot be written.
    """
    if out.suffix.lower() not in _WRITTEN:
        known = ", ".join(_WRITTEN)
        raise BadInputError(
            f"{out}: no picture can be written under this name.", f"End it in one of {known}."
        )
    picture = read_picture(path)
    height, width = picture.pixels.shape[:2]
    shrink = _WIDTH / width
    shown = cv2.resize(picture.pixels, (_WIDTH, max(1, round(height * shrink))))
    sheet = Image.new("RGB", (_WIDTH, shown.shape[0] + _ROW * max(1, len(displays))), "white")
    sheet.paste(Image.fromarray(cv2.cvtColor(shown, cv2.COLOR_BGR2RGB)), (0, 0))
    draw = ImageDraw.Draw(sheet)
    large, small = ImageFont.load_default(24), ImageFont.load_default(16)
    if not displays:
        draw.text((12, shown.shape[0] + 30), "No display was found.", _ASKED, large)
    for i, display in enumerate(displays):
        colour = _ASKED if display.kind == "unclear" else _TAKEN
        corners = [(x / picture.scale * shrink, y / picture.scale * shrink) for x, y in display.box]
        draw.line([*corners, corners[0]], colour, 3)
        draw.text((corners[0][0], corners[0][1] - 22), str(i + 1), colour, small)
        top = shown.shape[0] + i * _ROW
        crop = _upright(picture, display, 72, 380)
        sheet.paste(Image.fromarray(cv2.cvtColor(crop, cv2.COLOR_BGR2RGB)), (12, top + 12))
        title = f"{i + 1}: {display.characters} {display.unit or ''}  {display.kind}"
        draw.text((410, top + 8), title, colour, large)
        sure = f"confidence {display.confidence:.3f}, reader {display.reader}"
        draw.text((410, top + 42), sure, "black", small)
        others = ", ".join(f"{text} ({p:.2f})" for text, p in display.alternatives[:4])
        draw.text((410, top + 64), f"else: {others}" if others else "", "black", small)
        draw.text((12, top + 88), display.reason or "", colour, small)
    try:
        sheet.save(out)
    except (OSError, ValueError) as error:
        raise StoreError(f"{out}: the picture cannot be written ({error}).") from None
    return out


def crop_bytes(path: Path | str, display: Display) -> bytes:
    """JPEG of the rectified display with a small margin; no EXIF goes with it.

    Raises:
        BadInputError: `path` is no picture that can be read.
    """
    crop = _upright(read_picture(path), display, 160, 1200)
    return bytes(cv2.imencode(".jpg", crop, [cv2.IMWRITE_JPEG_QUALITY, 90])[1])


def _upright(picture: Picture, display: Display, height: int, most: int) -> Pixels:
    place = place_of_box(display.box)
    place = Place(
        place.x / picture.scale, place.y / picture.scale, place.width / picture.scale,
        place.height / picture.scale, place.angle,
    ).widened(0.35, 0.35, 0.2, 0.2)  # fmt: skip
    width = max(8, min(most, round(place.width / place.height * height)))
    return np.asarray(cut(picture.pixels, place, width, height), np.uint8)
