"""Bar codes and QR codes in a picture: serial and part numbers that need not be said."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

_WIDTHS = (1600, 1000, 640, 400)
"""px of the longer side at which the picture is tried: OpenCV's bar code finder wants bars of a few
px and misses the same code larger or smaller."""


def read_codes(path: Path) -> tuple[str, ...]:
    """Texts of the QR codes and the EAN or UPC bar codes, each once.

    A QR code corrects its own errors. A bar code has but one check digit, which one misreading in
    ten passes, so it counts only when two tries at different sizes agree and none differs.

    Raises:
        BadInputError: no such file, or no picture.
    """
    from fieldnote.photo import read_picture

    bars: Counter[str] = Counter()
    for picture in _sizes(read_picture(path).pixels):
        squares = tuple(filter(None, _qr(picture)))
        if squares:
            return tuple(dict.fromkeys(squares))
        bars.update(set(filter(None, _bars(picture))))
    agreed = tuple(text for text, tries in bars.items() if tries >= 2)
    return agreed if len(agreed) == len(bars) else ()


def _sizes(pixels: Any) -> Iterator[Any]:
    import cv2

    longer = max(pixels.shape[:2])
    for width in (longer, *(each for each in _WIDTHS if each < longer)):
        scale = width / longer
        picture = cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        yield picture
        # Rendered or very sharp edges alias in the finder; a light blur is what a lens does anyway.
        yield cv2.GaussianBlur(picture, (5, 5), 0)


def _qr(picture: Any) -> tuple[str, ...]:
    import cv2

    _, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(picture)
    return tuple(texts)


def _bars(picture: Any) -> tuple[str, ...]:
    import cv2

    _, texts, _, _ = cv2.barcode.BarcodeDetector().detectAndDecodeWithType(picture)
    return tuple(texts)
