"""How a cut-out word is brought to the annunciator net's input; training uses the same."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.picture import Pixels

HEIGHT, WIDTH = 24, 64


def prepared(grey: Pixels) -> npt.NDArray[np.float32]:
    """(24, 64): the word at the left, its proportions kept, lit parts positive.

    Args:
        grey: (height, width), cut tight round the word with a little margin.
    """
    height, width = grey.shape
    wanted = min(WIDTH, max(4, round(width * HEIGHT / height)))
    resized = cv2.resize(
        grey,
        (wanted, HEIGHT),
        interpolation=cv2.INTER_AREA if height > HEIGHT else cv2.INTER_LINEAR,
    ).astype(np.float32)
    edge = np.concatenate([resized[0], resized[-1], resized[:, 0], resized[:, -1]])
    resized -= np.median(edge)
    if abs(resized.min()) > resized.max():
        resized = -resized
    out = np.zeros((HEIGHT, WIDTH), np.float32)
    out[:, :wanted] = resized / (resized.std() + 4.0)
    return out
