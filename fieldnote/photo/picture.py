"""Opens a picture as a phone, a camera or a screen made it, and refuses clearly what is none.

Only pixels go on from here: no EXIF field, and so no location, is ever passed on.
"""

from __future__ import annotations

import contextlib
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageOps, UnidentifiedImageError

from fieldnote.errors import BadInputError, MissingPartError

Pixels = npt.NDArray[np.uint8]
"""(height, width, 3), blue-green-red as OpenCV has it, or (height, width) grey."""

MOST_PIXELS = 120_000_000
"""A 108-megapixel phone still passes; beyond it a small file could fill the memory."""

LEAST_SIDE = 12
"""px; below this no digit can be told from another."""

WORKING_SIDE = 2048
"""px of the longer side that are kept: digits that the finder can see are then still 30 px tall."""

_CAMERA = 0x010F
"""EXIF 2.3, tag Make: who made the camera; a program that draws a screen has none to give."""

_VIDEO_SUFFIXES = {".mp4", ".mov", ".avi", ".mkv", ".webm", ".m4v", ".3gp"}
_HEIF_BRANDS = {b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif"}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture the right way up.

    pixels: shape (height, width, 3), blue-green-red, longer side at most `WORKING_SIDE`.
    scale: px of the picture as taken to one px of `pixels` (1.0 where it was not reduced).
    screenshot: whether it was most likely drawn by a program, not taken by a camera.
    """

    pixels: Pixels
    scale: float = 1.0
    screenshot: bool = False


def read_picture(path: Path | str) -> Picture:
    """Decodes `path` with its EXIF orientation applied, reduced to the working size.

    Raises:
        BadInputError: no such file, no picture, cut short, too small, or more than `MOST_PIXELS`.
        MissingPartError: a HEIC picture where pillow-heif is not installed.
    """
    path = Path(path)
    _refuse_what_is_no_file(path)
    try:
        with warnings.catch_warnings():
            # Pillow warns at 89 megapixels, which is checked here before anything is decoded, and
            # of damaged EXIF, of which only the orientation is wanted.
            warnings.simplefilter("ignore")
            if _is_heif(path):
                _add_heif()
            with Image.open(path) as image:
                return _decode(image, path)
    except UnidentifiedImageError:
        if path.suffix.lower() in _VIDEO_SUFFIXES:
            raise BadInputError(
                f"{path}: this is a video, not a picture.", "Give it to the burst reader."
            ) from None
        raise BadInputError(
            f"{path}: this is not a picture that can be read.",
            "Give a JPEG, PNG, HEIC, WebP or TIFF file.",
        ) from None
    except Image.DecompressionBombError:
        raise _too_large(path) from None
    except MemoryError:
        raise BadInputError(
            f"{path}: the picture does not fit in the memory of this machine.",
            "Take it at a lower resolution, or crop it to the display.",
        ) from None
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, TypeError) as error:
        # Pillow's decoders raise all of these on damaged files.
        raise BadInputError(
            f"{path}: the picture is damaged or cut short ({error}).",
            "Copy it again from the phone or camera, or take it again.",
        ) from None


def _refuse_what_is_no_file(path: Path) -> None:
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        raise BadInputError(f"{path}: there is no such file.", "Check the name.") from None
    except (OSError, ValueError) as error:
        raise BadInputError(f"{path}: the file cannot be read ({error}).") from None
    if path.is_dir():
        raise BadInputError(f"{path}: this is a folder.", "Name the pictures in it.")
    if size == 0:
        raise BadInputError(f"{path}: the file is empty.", "Copy it again or take it again.")


def _is_heif(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(12)
    return head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS


def _add_heif() -> None:
    try:
        import pillow_heif
    except ImportError:
        raise MissingPartError(
            "HEIC pictures need the package pillow-heif.", "Install it: pip install pillow-heif"
        ) from None
    pillow_heif.register_heif_opener()


def _too_large(path: Path) -> BadInputError:
    return BadInputError(
        f"{path}: the picture has more than {MOST_PIXELS // 1_000_000} million pixels.",
        "Crop it to the display or take it at a lower resolution.",
    )


def _decode(image: Image.Image, path: Path) -> Picture:
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise _too_large(path)
    if min(width, height) < LEAST_SIDE:
        raise BadInputError(
            f"{path}: the picture is only {width} × {height} px, too small to show a display.",
            "Take it closer.",
        )
    # A JPEG can be decoded at an eighth to a half of its size in a fraction of the time.
    image.draft("RGB", (WORKING_SIDE, WORKING_SIDE))
    image.load()
    # Where the EXIF block is damaged the picture itself may still be good.
    with contextlib.suppress(OSError, ValueError, SyntaxError, KeyError, TypeError, struct.error):
        ImageOps.exif_transpose(image, in_place=True)
    pixels = cv2.cvtColor(np.asarray(_plain(image), np.uint8), cv2.COLOR_RGB2BGR)
    longest = max(pixels.shape[:2])
    if longest > WORKING_SIDE:
        shrink = WORKING_SIDE / longest
        size = (round(pixels.shape[1] * shrink), round(pixels.shape[0] * shrink))
        pixels = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    scale = max(width, height) / max(pixels.shape[:2])
    kept = np.asarray(pixels, np.uint8)
    return Picture(kept, scale, _is_screenshot(image, kept))


def _is_screenshot(image: Image.Image, pixels: Pixels) -> bool:
    """Whether most neighbouring pixels are equal, as no camera's noise leaves them.

    JPEG makes neighbours equal by itself, so it takes more of them there.
    """
    with contextlib.suppress(OSError, ValueError, SyntaxError, KeyError, TypeError, struct.error):
        if image.getexif().get(_CAMERA):
            return False
    equal = (pixels[:, 1:] == pixels[:, :-1]).all(axis=2)
    lit = (pixels[:, 1:] > 5).any(axis=2) & (pixels[:, 1:] < 250).any(axis=2)
    if lit.mean() < 0.05:
        return False
    return float(equal[lit].mean()) > (0.85 if image.format in {"JPEG", "MPO", "HEIF"} else 0.6)


def _plain(image: Image.Image) -> Image.Image:
    """RGB, with transparent parts on white and 16-bit greys brought to 8 bits."""
    if image.mode.startswith(("I", "F")):
        grey = np.asarray(image, np.float64)
        top = 65535.0 if grey.max() > 255 else 255.0
        return Image.fromarray(np.clip(grey * 255.0 / top, 0, 255).astype(np.uint8)).convert("RGB")
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        layered = image.convert("RGBA")
        plain = Image.new("RGB", image.size, "white")
        plain.paste(layered, mask=layered.getchannel("A"))
        return plain
    return image.convert("RGB")
