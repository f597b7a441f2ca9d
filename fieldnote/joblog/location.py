"""Where a picture was taken, removed from copies that leave the machine.

The picture itself is not touched: only what cameras write beside it (Exif, XMP, IPTC). Segment
layout: ITU-T T.81 annex B (JPEG), Exif 2.3 section 4.5 (APP1), W3C PNG specification section 5.
"""

from __future__ import annotations

import struct
import zlib

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_TEXT = {b"eXIf", b"tEXt", b"zTXt", b"iTXt"}
_ORIENTATION, _GPS = 0x0112, 0x8825

NO_LOCATION = frozenset({".wav", ".flac", ".txt", ".json", ".csv"})
"""Kinds of evidence that carry no place, or nothing but plain text."""


class CannotStripError(ValueError):
    """The format may carry a place, and this module cannot take it out."""


def without_location(data: bytes, suffix: str) -> bytes:
    """``data`` as it is when it carries no place, else with the camera's notes removed.

    The orientation is kept, so that the copy is shown upright.

    Raises:
        CannotStripError: for formats other than JPEG and PNG, and for broken files.
    """
    if suffix in NO_LOCATION:
        return data
    try:
        if suffix in (".jpg", ".jpeg") and data.startswith(b"\xff\xd8"):
            return _jpeg(data)
        if suffix == ".png" and data.startswith(_PNG):
            return _png(data)
    except (IndexError, struct.error) as error:
        raise CannotStripError(f"the {suffix[1:]} file is broken") from error
    raise CannotStripError(f"a place cannot be taken out of {suffix[1:]} files")


def _jpeg(data: bytes) -> bytes:
    kept: list[bytes] = [b"\xff\xd8"]
    orientation, carries = 1, False
    at = 2
    while True:
        while data[at + 1] == 0xFF:  # fill bytes before a marker
            at += 1
        if data[at] != 0xFF:
            raise CannotStripError("the jpg file is broken")
        marker = data[at + 1]
        if marker == 0xD9:  # end of the picture; what phones hang behind it is left out
            carries = carries or bool(data[at + 2 :].strip(b"\0"))
            kept.append(data[at : at + 2])
            break
        (length,) = struct.unpack_from(">H", data, at + 2)
        segment = data[at : at + 2 + length]
        if len(segment) != 2 + length or length < 2:
            raise CannotStripError("the jpg file is broken")
        at += len(segment)
        if marker == 0xE1 and segment[4:10] == b"Exif\0\0":
            orientation, has_place = _exif(segment[10:])
            carries = carries or has_place
        elif marker in (0xE1, 0xED, 0xFE):  # XMP, IPTC, comments
            carries = True
        else:
            kept.append(segment)
        if marker == 0xDA:  # the coded picture runs on to the next real marker
            end = at
            while data[end] != 0xFF or data[end + 1] == 0 or 0xD0 <= data[end + 1] <= 0xD7:
                end += 1
            kept.append(data[at:end])
            at = end
    if not carries:
        return data
    if orientation != 1:
        kept.insert(1, _exif_with_orientation(orientation))
    return b"".join(kept)


def _exif(tiff: bytes) -> tuple[int, bool]:
    """(orientation, whether a place is in it) of an Exif block."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return 1, True  # unreadable: treat it as if it held one
    (first,) = struct.unpack_from(order + "I", tiff, 4)
    (count,) = struct.unpack_from(order + "H", tiff, first)
    orientation, place = 1, False
    for entry in range(count):
        tag, kind, _, value = struct.unpack_from(order + "HHIH", tiff, first + 2 + 12 * entry)
        if tag == _ORIENTATION and kind == 3 and 1 <= value <= 8:
            orientation = value
        place = place or tag == _GPS
    return orientation, place


def _exif_with_orientation(orientation: int) -> bytes:
    tiff = b"MM\0*" + struct.pack(">IHHHIHHI", 8, 1, _ORIENTATION, 3, 1, orientation, 0, 0)
    return b"\xff\xe1" + struct.pack(">H", 8 + len(tiff)) + b"Exif\0\0" + tiff


def _png(data: bytes) -> bytes:
    kept: list[bytes] = [_PNG]
    orientation, carries = 1, False
    at = len(_PNG)
    while True:
        length, name = struct.unpack_from(">I4s", data, at)
        chunk = data[at : at + 12 + length]
        if len(chunk) != 12 + length:
            raise CannotStripError("the png file is broken")
        at += len(chunk)
        if name == b"eXIf":
            orientation, has_place = _exif(chunk[8:-4])
            carries = carries or has_place
        elif name in _PNG_TEXT:
            carries = True
        else:
            kept.append(chunk)
        if name == b"IEND":
            break
    if not carries and not data[at:]:
        return data
    if orientation != 1:
        body = b"eXIf" + _exif_with_orientation(orientation)[10:]
        kept.insert(
            2, struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
        )
    return b"".join(kept)
