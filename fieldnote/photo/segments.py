"""Decodes a line of seven-segment characters by looking at where the seven segments lie.

The segments are named a to g as is usual in the trade: a on top, then clockwise b to f, g in the
middle. Needs nothing but OpenCV, so it is there when no net is.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from fieldnote.photo.picture import Pixels

Mask = npt.NDArray[np.bool_]

_HEIGHT = 80
"""px to which a line is brought before it is decoded."""

CHARACTERS = {
    "abcdef": "0", "bc": "1", "abdeg": "2", "abcdg": "3", "bcfg": "4", "acdfg": "5",
    "acdefg": "6", "cdefg": "6", "abc": "7", "abcf": "7", "abcdefg": "8", "abcdfg": "9",
    "abcfg": "9", "def": "L", "g": "-",
}  # fmt: skip
"""Lit segments to the character. A zero and the O of "OL" are the same segments."""

# Where each segment is sampled: (top, bottom, left, right) as fractions of the character's cell.
_SAMPLES = {
    "a": (0.00, 0.18, 0.30, 0.70), "b": (0.17, 0.42, 0.70, 1.00), "c": (0.58, 0.83, 0.70, 1.00),
    "d": (0.82, 1.00, 0.30, 0.70), "e": (0.58, 0.83, 0.00, 0.30), "f": (0.17, 0.42, 0.00, 0.30),
    "g": (0.41, 0.59, 0.30, 0.70),
}  # fmt: skip
_LIT_SHARE = 0.45
_SLANTS = (0.0, 0.06, 0.12, 0.18, 0.24)


@dataclass(frozen=True, slots=True)
class SegmentReading:
    """What the segments say.

    characters: digits, one point, sign, "OL" or dashes; "" where nothing was decoded.
    score: in [0, 1], how clear-cut the segments are; not calibrated.
    left, right: where the characters begin and end, as fractions of the line's width.
    """

    characters: str
    score: float
    left: float = 0.0
    right: float = 1.0


def decode_segments(line: Pixels) -> SegmentReading:
    """Decodes an upright line of characters that fills most of the height of `line`."""
    grey = cv2.cvtColor(line, cv2.COLOR_BGR2GRAY) if line.ndim == 3 else line
    scale = _HEIGHT / grey.shape[0]
    width = max(16, round(grey.shape[1] * scale))
    interpolation = cv2.INTER_AREA if scale < 1 else cv2.INTER_CUBIC
    grey = np.asarray(cv2.resize(grey, (width, _HEIGHT), interpolation=interpolation), np.uint8)
    best, most = SegmentReading("", 0.0), 0.0
    for dark in (True, False):
        lit = _lit(grey, dark)
        reading = _decode(lit)
        # The holes of two 8s look like an 8 of the other polarity, but a smaller one.
        top, bottom = _band(lit) or (0, _HEIGHT // 2)
        weight = reading.score * ((bottom - top) / _HEIGHT) ** 2
        if weight > most:
            best, most = reading, weight
    return best


def _lit(grey: Pixels, dark: bool) -> Mask:
    """Strokes that stand out from what is behind them; unlit segments are left out."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (35, 35))
    operation = cv2.MORPH_BLACKHAT if dark else cv2.MORPH_TOPHAT
    padded = cv2.copyMakeBorder(grey, 20, 20, 20, 20, cv2.BORDER_REPLICATE)
    strokes = cv2.morphologyEx(cv2.GaussianBlur(padded, (0, 0), 1.0), operation, kernel)
    strokes = strokes[20:-20, 20:-20]
    strong = float(np.percentile(strokes, 96))
    if strong < 14:
        return np.zeros(grey.shape, np.bool_)
    return np.asarray(strokes > 0.5 * strong, np.bool_)


def _decode(lit: Mask) -> SegmentReading:
    band = _band(lit)
    if band is None:
        return _dashes(lit)
    top, bottom = band
    height = bottom - top
    # Points hang on the base line and would bridge the gaps between characters: look above it.
    upright, slant = max(
        ((_unslanted(lit, slant), slant) for slant in _SLANTS),
        key=lambda pair: _sharpness(pair[0][top : top + int(0.82 * height)]),
    )
    rows = upright[top:bottom]
    runs = [r for r in _runs(rows[: int(0.82 * height)]) if r[1] - r[0] > 0.05 * height]
    wide = [b - a for a, b in runs if 0.35 * height < b - a < 1.1 * height]
    cell = float(np.median(wide)) if wide else 0.55 * height
    characters, score, used = "", 1.0, []
    for left, right in runs:
        character, clear, right = _character(rows, left, right, cell)
        if not character:
            continue
        characters += character
        score *= clear
        used.append((left, right))
    if not used:
        return _dashes(lit)
    characters, score = _with_points(rows, used, characters, score)
    shown = _as_shown(characters)
    shift = slant * (lit.shape[0] / 2 - (top + bottom) / 2)
    left, right = ((v - shift) / lit.shape[1] for v in (used[0][0], used[-1][1]))
    return SegmentReading(shown, score if shown else 0.0, max(0.0, left), min(1.0, right))


def _band(lit: Mask) -> tuple[int, int] | None:
    """Top and bottom of the characters, from the shapes that are tall enough to be some."""
    closed = cv2.morphologyEx(lit.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((9, 3), np.uint8))
    _, _, stats, _ = cv2.connectedComponentsWithStats(closed)
    tall = [(int(y), int(y + h)) for _, y, w, h, _ in stats[1:] if h > 0.45 * _HEIGHT and w > 3]
    if not tall:
        return None
    top = int(np.median([t for t, _ in tall]))
    bottom = int(np.median([b for _, b in tall]))
    return top, bottom


def _unslanted(lit: Mask, slant: float) -> Mask:
    if slant == 0:
        return lit
    height, width = lit.shape
    matrix = np.array([[1, slant, -slant * height / 2], [0, 1, 0]], np.float64)
    warped = cv2.warpAffine(lit.astype(np.uint8), matrix, (width, height), flags=cv2.INTER_NEAREST)
    return np.asarray(warped > 0, np.bool_)


def _sharpness(rows: Mask) -> float:
    """Largest where the upright segments stand upright and the gaps between digits are free."""
    columns = rows.sum(axis=0).astype(np.float64)
    return float((columns**2).sum()) * (1.0 + float((columns == 0).mean()))


def _runs(rows: Mask) -> list[tuple[int, int]]:
    """Stretches of columns that hold something, as (first, last + 1)."""
    columns = np.concatenate([[False], rows.sum(axis=0) > 1, [False]])
    edges = np.flatnonzero(columns[1:] != columns[:-1])
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _character(rows: Mask, left: int, right: int, cell: float) -> tuple[str, float, int]:
    """The character in a run of columns, how clear-cut it is, and where it ends.

    "" is something beside the characters, "?" a character whose segments make none.
    """
    height = rows.shape[0]
    filled = np.flatnonzero(rows[:, left:right].any(axis=1))
    if filled.size == 0:
        return "", 1.0, right
    first, last = int(filled[0]), int(filled[-1]) + 1
    if last - first < 0.3 * height:
        halfway = abs((first + last) / 2 - height / 2) < 0.15 * height
        long_enough = right - left > 0.22 * height
        return ("-", 0.95, right) if halfway and long_enough else ("", 1.0, right)
    if last - first < 0.62 * height:
        return "", 1.0, right  # a unit or an annunciator: smaller than the digits
    if right - left < 0.5 * cell:
        reach = right + int(0.6 * cell)
        foot = rows[int(0.84 * height) :, right:reach].any(axis=0)
        above = rows[: int(0.8 * height), right:reach].any()
        if foot.size > 3 and foot.mean() > 0.75 and not above:
            return "L", 0.9, reach
        # The two halves of a 1 leave a small gap at most.
        upright = rows[:, left:right].any(axis=1)
        return "1", min(1.0, float(upright.mean()) + 0.08), right
    if right - left > 1.35 * cell:
        return "?", 0.02, right
    if right - left < 0.9 * cell:
        left = max(0, right - round(cell))  # a 7 or a slim 3: its cell reaches further left
    shares = {}
    for name, (y0, y1, x0, x1) in _SAMPLES.items():
        width = right - left
        part = rows[int(y0 * height) : max(int(np.ceil(y1 * height)), int(y0 * height) + 1)]
        part = part[:, left + int(x0 * width) : left + max(int(np.ceil(x1 * width)), 1)]
        # A segment is lit where it runs through its sample lengthwise, however thin it is.
        lengthwise = part.any(axis=0) if name in "adg" else part.any(axis=1)
        shares[name] = float(lengthwise.mean())
    names = "".join(n for n in "abcdefg" if shares[n] > _LIT_SHARE)
    character = CHARACTERS.get(names, "?")
    if character == "?":
        return "?", 0.02, right
    clear = min(1.0, 0.25 + 2.0 * min(abs(v - _LIT_SHARE) for v in shares.values()))
    return character, clear * (1.0 - min(0.5, 0.5 * abs(right - left - cell) / cell)), right


def _with_points(
    rows: Mask, used: list[tuple[int, int]], characters: str, score: float
) -> tuple[str, float]:
    """Puts a point in where the base line between two characters holds one."""
    height = rows.shape[0]
    out = characters[0]
    for (_, left), (right, _), character in zip(used, used[1:], characters[1:], strict=False):
        base = rows[int(0.8 * height) :, left : max(left + 1, right)]
        columns = int(base.any(axis=0).sum())
        above = rows[: int(0.7 * height), left:right].mean() > 0.02 if right > left else True
        if columns >= 0.06 * height and not above:
            out += "."
            # Between a clear point and a speck lies doubt.
            score *= min(1.0, columns / (0.1 * height))
        elif columns >= 0.03 * height:
            score *= 0.6
        out += character
    return out, score


def _dashes(lit: Mask) -> SegmentReading:
    """Three or more dashes in a row and nothing else: over range."""
    _, _, stats, _ = cv2.connectedComponentsWithStats(lit.astype(np.uint8))
    shapes = sorted(tuple(int(v) for v in s[:4]) for s in stats[1:] if s[4] > 12)
    dashes = [(x, w) for x, _, w, h in shapes if w > 1.5 * h and w > 0.12 * _HEIGHT]
    levels = [y + h / 2 for _, y, _, h in shapes]
    if len(dashes) < 3 or len(dashes) < len(shapes) or np.ptp(levels) > 0.3 * _HEIGHT:
        return SegmentReading("", 0.0)
    width = lit.shape[1]
    (left, _), (x, w) = dashes[0], dashes[-1]
    return SegmentReading("-" * len(dashes), 0.5, left / width, (x + w) / width)


def _as_shown(characters: str) -> str:
    """Keeps what a display can show: "0L" is over-limit, a number has one point and no holes."""
    body = characters.replace(".", "").lstrip("-")
    if body == "0L" and characters.count(".") <= 1:
        return "OL"
    if "?" in characters or "L" in characters or "-" in characters[1:]:
        return ""
    if characters.count(".") > 1 or not body:
        return ""
    return characters
