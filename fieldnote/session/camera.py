"""A camera at the bench: "take a picture" without touching anything."""

from __future__ import annotations

from pathlib import Path

import cv2

from fieldnote.errors import BadInputError, MissingPartError

_SETTLING = 5
"""Frames let pass before the one that is kept: a camera that was just opened is dark."""


class Camera:
    """A camera of this machine by its number ("0"), or a video file or stream by its name.

    It is open only while a picture is taken, so that its lamp tells when it looks.
    """

    def __init__(self, source: str) -> None:
        self._source = source

    def __call__(self, folder: Path) -> Path:
        """A picture taken now, as a JPEG file in `folder`.

        Raises:
            MissingPartError: no such camera, or it gives no picture.
            BadInputError: the picture cannot be written there.
        """
        number = self._source.isdecimal()
        device = cv2.VideoCapture(int(self._source) if number else self._source)
        try:
            frame = None
            for _ in range(1 + _SETTLING):
                good, seen = device.read()
                if not good:
                    break
                frame = seen
        finally:
            device.release()
        if frame is None:
            raise MissingPartError(
                f"The camera “{self._source}” gives no picture.",
                "Plug it in, or name another: --camera 1. Meanwhile use the phone page.",
            )
        path = folder / "camera.jpg"
        if not cv2.imwrite(str(path), frame):
            raise BadInputError(f"The picture cannot be written to {folder}.", "Is the disk full?")
        return path
