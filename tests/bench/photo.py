"""Method by set: how often displays are read right, accepted, and wrong though accepted.

    python -m tests.bench.photo FOLDER [--methods nets,segments,tesseract,ssocr,rapidocr]

FOLDER holds labelled photos (labels.csv, see `photo_sets.real`); without it only drawn pictures are
read. Peers that are not installed are left out and named: tesseract (Debian tesseract-ocr), ssocr
(Debian ssocr), rapidocr (PyPI). Peers have no threshold of their own that means anything for
displays, so they are given the score, measured on the same pictures, that suits them best.
"""

from __future__ import annotations

import argparse
import logging
import os
import re
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import cv2
import numpy as np
from rich.console import Console
from rich.progress import track
from rich.table import Table
from scipy.stats import beta

from fieldnote.photo.looking import look_at, reader_named
from fieldnote.photo.picture import Pixels
from tests.bench.photo_calibration import upper_bound
from tests.bench.photo_sets import Labelled, halves, real, rendered

Answer = tuple[str, float, bool]
"""What was read, how surely, and whether it is taken without asking."""
Method = Callable[[Pixels, bool], Answer]


def ours(name: str) -> Method:
    reader = reader_named(name)

    def read(pixels: Pixels, whole: bool) -> Answer:
        displays = look_at(pixels, reader)
        if not displays:
            return "", 0.0, False
        first = displays[0]
        return first.value or first.characters, first.confidence, first.kind != "unclear"

    return read


def _plain(text: str) -> str:
    """What a peer's text says as a number, by the kindest rules."""
    text = re.sub(r"[^0-9.\-]", "", text.replace(",", ".").replace("−", "-"))
    return re.sub(r"\.+", ".", text).strip(".")


def _black_on_white(pixels: Pixels, height: int) -> Pixels:
    grey = cv2.cvtColor(pixels, cv2.COLOR_BGR2GRAY)
    scale = height / grey.shape[0]
    grey = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    flat = grey.astype(np.float32) - cv2.GaussianBlur(grey, (0, 0), height * 0.6)
    level = cv2.normalize(flat, None, 0, 255, cv2.NORM_MINMAX).astype(np.uint8)
    binary = cv2.threshold(level, 0, 255, cv2.THRESH_OTSU)[1]
    binary = binary if binary.mean() > 127 else 255 - binary
    return cv2.copyMakeBorder(binary, 16, 16, 16, 16, cv2.BORDER_CONSTANT, value=255)


def tesseract() -> Method:
    import pytesseract

    os.environ["OMP_THREAD_LIMIT"] = "1"

    def read(pixels: Pixels, whole: bool) -> Answer:
        picture = pixels if whole else _black_on_white(pixels, 64)
        config = f"--psm {11 if whole else 7} -c tessedit_char_whitelist=0123456789.-"
        data = pytesseract.image_to_data(picture, config=config, output_type="dict")
        words = [(data["height"][i], data["text"][i], float(data["conf"][i]) / 100)
                 for i in range(len(data["text"])) if data["text"][i].strip()]  # fmt: skip
        if not words:
            return "", 0.0, False
        if whole:
            _, text, score = max(words)
            return _plain(text), score, False
        return _plain("".join(t for _, t, _ in words)), min(c for *_, c in words), False

    return read


def ssocr() -> Method:
    def read(pixels: Pixels, whole: bool) -> Answer:
        with tempfile.NamedTemporaryFile(suffix=".png") as file:
            cv2.imwrite(file.name, _black_on_white(pixels, 100))
            run = subprocess.run(
                ["ssocr", "-d", "-1", "-c", "decimal", "-t", "50", file.name],
                capture_output=True, text=True, timeout=30, check=False,
            )  # fmt: skip
        return _plain(run.stdout), 1.0 if run.returncode == 0 else 0.0, False

    return read


def rapidocr() -> Method:
    logging.disable(logging.WARNING)
    from rapidocr import RapidOCR

    engine = RapidOCR(params={"EngineConfig.onnxruntime.intra_op_num_threads": 1})

    def read(pixels: Pixels, whole: bool) -> Answer:
        if not whole:
            out = engine(pixels, use_det=False, use_cls=False, use_rec=True)
            return (
                (_plain(out.txts[0]), float(out.scores[0]), False) if out.txts else ("", 0, False)
            )
        out = engine(pixels)
        if out.boxes is None or not out.txts:
            return "", 0.0, False
        found = [
            (float(np.linalg.norm(np.array(box[3]) - np.array(box[0]))), _plain(text), float(score))
            for box, text, score in zip(out.boxes, out.txts, out.scores, strict=True)
            if sum(c.isdigit() for c in text) >= max(2, len(text.strip()) / 2)
        ]
        return (*max(found)[1:], False) if found else ("", 0.0, False)

    return read


METHODS: dict[str, tuple[Callable[[], Method], Callable[[], bool]]] = {
    "nets": (lambda: ours("nets"), lambda: True),
    "segments": (lambda: ours("segments"), lambda: True),
    "tesseract": (tesseract, lambda: shutil.which("tesseract") is not None),
    "ssocr": (ssocr, lambda: shutil.which("ssocr") is not None),
    "rapidocr": (rapidocr, lambda: _importable("rapidocr")),
}


def _importable(name: str) -> bool:
    from importlib.util import find_spec

    return find_spec(name) is not None


def _digits(text: str) -> str:
    return text.replace(".", "").replace("-", "")


def row(name: str, items: Iterable[Labelled], method: Method) -> list[str]:
    """Figures of one method on one set."""
    answers, spent = [], []
    for item in items:
        started = time.process_time() + _children()
        text, score, taken = method(item.pixels, item.whole)
        spent.append(time.process_time() + _children() - started)
        right = text in item.right
        near = _digits(text) in {_digits(r) for r in item.right}
        answers.append((right, near, taken, score))
        if taken and not right:
            Console(stderr=True).print(f"{name}: {item.name} taken as {text}, is {item.right[0]}")
    count = max(1, len(answers))
    exact = sum(a[0] for a in answers) / count
    nearly = sum(a[1] for a in answers) / count
    if any(a[2] for a in answers):
        accepted = [a for a in answers if a[2]]
        wrong = sum(not a[0] for a in accepted)
        most = upper_bound(wrong, len(accepted))
        taken_ = f"{len(accepted) / count:.1%}", f"{wrong} of {len(accepted)} (≤ {most:.1%})"
    else:
        taken_ = _best_threshold(answers)
    low, high = interval(sum(a[0] for a in answers), len(answers))
    return [
        name, f"{exact:.1%} ({low:.0%} to {high:.0%})", f"{nearly:.1%}", *taken_,
        f"{np.median(spent) * 1000:.0f}",
    ]  # fmt: skip


def interval(hits: int, count: int) -> tuple[float, float]:
    """95 % confidence interval of a share (Clopper and Pearson 1934)."""
    low = beta.ppf(0.025, hits, count - hits + 1) if hits else 0.0
    high = beta.ppf(0.975, hits + 1, count - hits) if hits < count else 1.0
    return float(low), float(high)


def _best_threshold(answers: list[tuple[bool, bool, bool, float]]) -> tuple[str, str]:
    """The most that could be accepted with at most 0.5 % wrong, had the threshold been known."""
    best, wrong = 0, 0
    for i, answer in enumerate(sorted(answers, key=lambda a: -a[3]), start=1):
        wrong += not answer[0]
        if wrong <= 0.005 * i:
            best = i
    return f"({best / max(1, len(answers)):.1%})", "(fitted)"


def _children() -> float:
    times = os.times()
    return times.children_user + times.children_system


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--methods", default=",".join(METHODS))
    parser.add_argument("--drawn", type=int, default=60)
    parser.add_argument("--leave-out", default="", help="files whose labels are known to be wrong")
    given = parser.parse_args()
    left_out = set(given.leave_out.split(","))
    cv2.setNumThreads(1)
    sets: dict[str, list[Labelled]] = {"drawn, whole": rendered(given.drawn)}
    if given.folder is not None:
        items = real(given.folder)
        calibrating, reporting = halves(items)
        for half, name in ((calibrating, "calibration half"), (reporting, "report half")):
            for whole, view in ((False, "crops"), (True, "whole")):
                named = sorted({i.source for i in half if i.whole == whole})
                title = f"{name}, {view} ({', '.join(named)})"
                sets[title] = [i for i in half if i.whole == whole and i.name not in left_out]
    console = Console(width=130)
    for title, members in sets.items():
        if not members:
            continue
        table = Table(title=f"{title}: {len(members)} pictures")
        for heading in (
            "method",
            "exact (95 % interval)",
            "point aside",
            "accepted",
            "wrong (95 % bound)",
            "ms, one core",
        ):
            table.add_column(heading, justify="left" if heading == "method" else "right")
        for name in given.methods.split(","):
            make, present = METHODS[name]
            if not present():
                table.add_row(name, "not installed", "", "", "", "")
                continue
            shown = track(members, f"{name} on {title}", console=Console(stderr=True))
            table.add_row(*row(name, shown, make()))
        console.print(table)


if __name__ == "__main__":
    main()
