"""Pictures made small enough for a page: the whole photo, and the display cut out of it."""

from __future__ import annotations

import base64
import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pillow_heif
from PIL import Image, ImageOps

SUFFIXES = frozenset({".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".bmp", ".tif", ".tiff"})
WHOLE = (1280, 1280)  # px, longest sides of a photo on a page
CROP = (480, 240)  # px, of a display cut out
MARGIN = 0.18  # of the display's size, left around it so that the eye finds its place

pillow_heif.register_heif_opener()

Corners = Sequence[Sequence[float | str]]
"""Four points, as numbers or as the log's strings."""


@dataclass(frozen=True, slots=True)
class Picture:
    """JPEG data with its size in px."""

    data: bytes
    width: int
    height: int

    @property
    def uri(self) -> str:
        return "data:image/jpeg;base64," + base64.b64encode(self.data).decode("ascii")


def whole(path: Path, bounds: tuple[int, int] = WHOLE) -> Picture | None:
    """The photo the right way up and within ``bounds`` px; None where it cannot be read."""
    image = _open(path)
    return None if image is None else _small(image, bounds)


def crop(path: Path, corners: Corners) -> Picture | None:
    """The display inside ``corners`` (px of the upright photo), turned level, with a margin.

    The first two corners run along the top of the reading (see ``photo.Display.box``), so a display
    photographed askew or upside down comes out level. None where the photo cannot be read.
    """
    image, quad = _open(path), _widened(corners)
    if image is None or quad is None:
        return None
    width = max(_distance(quad[0], quad[1]), _distance(quad[3], quad[2]))
    height = max(_distance(quad[0], quad[3]), _distance(quad[1], quad[2]))
    if width < 2 or height < 2:
        return None
    scale = min(1.0, CROP[0] / width, CROP[1] / height)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    # Pillow wants the corners from the upper left and then against the clock.
    order = (quad[0], quad[3], quad[2], quad[1])
    flat = tuple(coordinate for corner in order for coordinate in corner)
    cut = image.transform(size, Image.Transform.QUAD, flat, Image.Resampling.BICUBIC)
    return _small(cut, CROP)


def _open(path: Path) -> Image.Image | None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path) as image:
                upright = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, ValueError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return None
    return upright


def _small(image: Image.Image, bounds: tuple[int, int]) -> Picture:
    image = image.copy()
    image.thumbnail(bounds, Image.Resampling.LANCZOS)
    encoded = io.BytesIO()
    image.save(encoded, "JPEG", quality=82, optimize=True)
    return Picture(encoded.getvalue(), *image.size)


def _widened(corners: Corners) -> list[tuple[float, float]] | None:
    try:
        points = [(float(x), float(y)) for x, y in corners]
    except (TypeError, ValueError):
        return None
    if len(points) != 4:
        return None
    middle_x, middle_y = (sum(values) / 4 for values in zip(*points, strict=True))
    grow = 1 + MARGIN
    return [(middle_x + (x - middle_x) * grow, middle_y + (y - middle_y) * grow) for x, y in points]


def _distance(one: tuple[float, float], other: tuple[float, float]) -> float:
    return float(((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5)
