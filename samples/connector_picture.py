"""Draws the invented sender with its three-way connector, open or fitted, for the demo."""

from __future__ import annotations

import cv2
import numpy as np

from meter_picture import Picture

WIRES = ((60, 50, 190), (30, 30, 30), (225, 228, 230))  # red, black, white, as BGR
BLUE = (180, 110, 40)


def connector(open_: bool) -> Picture:
    """The sender's housing and its connector; BGR, 900 x 1300."""
    face = np.full((1300, 900, 3), (92, 96, 98), np.uint8)
    cv2.circle(face, (450, 420), 300, (58, 62, 66), -1, cv2.LINE_AA)
    cv2.circle(face, (450, 420), 300, (36, 38, 40), 10, cv2.LINE_AA)
    cv2.circle(face, (450, 420), 90, (150, 156, 160), -1, cv2.LINE_AA)
    cv2.rectangle(face, (430, 130), (470, 420), (150, 156, 160), -1)
    for angle in (30, 150, 270):
        x, y = 450 + 255 * np.cos(np.radians(angle)), 420 + 255 * np.sin(np.radians(angle))
        cv2.circle(face, (int(x), int(y)), 24, (176, 180, 184), -1, cv2.LINE_AA)
        cv2.line(face, (int(x) - 14, int(y)), (int(x) + 14, int(y)), (60, 60, 60), 5)
    if open_:
        cv2.rectangle(face, (250, 820), (650, 960), (24, 24, 26), -1)
        for index, colour in enumerate(WIRES):
            x = 330 + 120 * index
            cv2.circle(face, (x, 890), 36, (70, 76, 80), -1, cv2.LINE_AA)
            cv2.circle(face, (x, 890), 14, (150, 170, 176), -1, cv2.LINE_AA)
            cv2.line(face, (x, 960), (x + 30 * (index - 1), 1290), colour, 34, cv2.LINE_AA)
            cv2.putText(face, str(index + 1), (x - 14, 860), cv2.FONT_HERSHEY_SIMPLEX, 0.9,
                        (220, 220, 220), 2, cv2.LINE_AA)  # fmt: skip
        cv2.line(face, (570, 970), (600, 1285), BLUE, 8, cv2.LINE_AA)
    else:
        cv2.rectangle(face, (300, 700), (600, 900), (24, 24, 26), -1)
        cv2.rectangle(face, (360, 900), (540, 1290), (30, 30, 32), -1)
        cv2.rectangle(face, (330, 730), (570, 770), (50, 120, 200), -1)
    return face
