"""Frames a second of a filmed, changing display, with tesseract on the same frames as the peer.

python -m tests.bench.photo_burst
"""

from __future__ import annotations

import os
import shutil
import time

import cv2
import numpy as np

from fieldnote.photo import read_burst
from fieldnote.photo.frames import Frame
from tests.bench.photo import tesseract
from tests.photo.panels import meter, photograph


def main() -> None:
    values = [f"{12.4 + 0.13 * i:.2f}" for i in range(40)]
    r, at = np.random.default_rng(3), np.zeros(2)
    film = []
    for i, value in enumerate(values):
        at = 0.9 * at + r.normal(0, 5, 2)  # px: a hand that shakes
        held = np.float32([[1, 0, at[0]], [0, 1, at[1]]])
        still = photograph(meter(value), 40, (1280, 720))
        moved = cv2.warpAffine(still, held, (1280, 720), borderMode=cv2.BORDER_REPLICATE)
        film.append(Frame(i, i / 10, np.asarray(moved, np.uint8)))
    cv2.setNumThreads(2)
    read_burst(film[:1])  # loads the nets
    wall, cpu = time.perf_counter(), time.process_time()
    burst = read_burst(film)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    pairs = list(zip(burst.readings, values, strict=True))
    wrong = sum(r.value is not None and r.value != v for r, v in pairs)
    busy = ", the machine was busy" if os.getloadavg()[0] > 1 else ""
    print(f"ours: {len(film) / wall:.1f} frames a second on the clock{busy},")
    print(f"  {cpu / len(film) * 1000:.0f} ms of processor time a frame;")
    print(f"  {burst.unread} unread, {wrong} wrong of {len(film)}")
    if shutil.which("tesseract") is None:
        print("tesseract: not installed")
        return
    method, wall, right = tesseract(), time.perf_counter(), 0
    for frame, value in zip(film[:10], values[:10], strict=True):
        right += method(frame.pixels, True)[0] == value
    rate = 10 / (time.perf_counter() - wall)
    print(f"tesseract: {rate:.1f} frames a second; {10 - right} of 10 unread or wrong")


if __name__ == "__main__":
    main()
