"""Runs a small net: by onnxruntime where it is installed (half the time), else by OpenCV."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

Batch = npt.NDArray[np.float32]


def run(path: Path, batch: Batch) -> Batch:
    """The one output of the net at `path` for its one input."""
    return _net(path, cv2.getNumThreads())(batch)


@cache
def _net(path: Path, threads: int) -> Callable[[Batch], Batch]:
    if find_spec("onnxruntime") is None:
        return by_opencv(path)
    onnxruntime: Any = import_module("onnxruntime")
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = max(1, threads)
    # Waiting threads would else burn the time of the ear, which works at the same moment.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    session = onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    name = session.get_inputs()[0].name
    return lambda batch: np.asarray(session.run(None, {name: batch})[0], np.float32)


def by_opencv(path: Path) -> Callable[[Batch], Batch]:
    """The same net run by OpenCV."""
    net = cv2.dnn.readNetFromONNX(str(path))

    def forward(batch: Batch) -> Batch:
        net.setInput(batch)
        return np.array(net.forward(), np.float32)

    return forward
