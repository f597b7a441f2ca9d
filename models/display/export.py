"""Write reader.onnx, reader2.onnx and finder.onnx from checkpoints: `python -m
models.display.export FOLDER [--to FOLDER]`."""

from __future__ import annotations

import argparse
from pathlib import Path

import torch

from models.display.nets import READERS, Finder, export
from models.display.samples import FINDER_SIZE, READER_HEIGHT, READER_WIDTH
from models.display.train_common import resume


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, help="where the checkpoints are")
    parser.add_argument("--to", type=Path, default=Path(__file__).parent)
    options = parser.parse_args()
    line = torch.zeros(1, 3, READER_HEIGHT, READER_WIDTH)
    for name, net, example, axes in (
        *((name, make(), line, {}) for name, make in READERS.items()),
        ("finder", Finder(), torch.zeros(1, 3, FINDER_SIZE, FINDER_SIZE), {2: "h", 3: "w"}),
    ):
        source = options.folder / f"{name}.pt"
        if not source.is_file():
            print(f"{source} is not there: {name}.onnx left as it is.")
            continue
        resume(net, source)
        export(net, example, str(options.to / f"{name}.onnx"), axes)
        print(f"{options.to / name}.onnx written")


if __name__ == "__main__":
    main()
