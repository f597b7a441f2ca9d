"""One line of a display drawn as masks: lit parts, everything that could light, and each
character's box."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

CARRIED_FONTS = Path(__file__).parents[1] / "work" / "fonts"
SYSTEM_FONTS = Path("/usr/share/fonts/truetype")

SEGMENTS = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd",
    "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg", "-": "g", " ": "", "L": "fed",
    "E": "afged", "r": "eg", "H": "fegbc", "i": "c", "o": "gedc", "F": "afge", "C": "afed",
    "c": "ged", "A": "abcefg", "P": "abfge", "d": "bcdeg", "n": "ceg", "t": "fged", "U": "bcdef",
    "b": "cdefg",
}  # fmt: skip
DOTS = {
    "0": "0E11131519110E", "1": "040C040404040E", "2": "0E11010204081F", "3": "1F02040201110E",
    "4": "02060A121F0202", "5": "1F101E0101110E", "6": "0608101E11110E", "7": "1F010204080808",
    "8": "0E11110E11110E", "9": "0E11110F01020C", "-": "0000001F000000", "L": "1010101010101F",
    "E": "1F10101E10101F", "r": "00001619101010", "H": "1111111F111111", "i": "04000C0404040E",
    "o": "00000E1111110E", "F": "1F10101E101010", " ": "00000000000000",
}  # fmt: skip
"""Five by seven dot characters, a hexadecimal pair a row, the leftmost dot in bit 4."""


@dataclass(slots=True)
class Line:
    """A line of characters. Masks are float32 in [0, 1], shape (height, width).

    boxes: (n, 4) left, top, right, bottom of each character of `text` in px of the masks; top and
    bottom are the digit cell's, whatever the character's own ink, except for the point.
    extent: left, top, right, bottom of the whole: ink sideways, cells up and down.
    """

    text: str
    lit: np.ndarray
    ghost: np.ndarray
    boxes: np.ndarray
    extent: np.ndarray


def _fonts() -> Path:
    return CARRIED_FONTS if CARRIED_FONTS.is_dir() else SYSTEM_FONTS


@functools.cache
def segment_fonts(kind: str) -> tuple[str, ...]:
    """Paths of the DSEG fonts of a kind ("DSEG7" or "DSEG14"), the ones with digits only."""
    found = sorted(
        str(path) for path in _fonts().rglob(f"{kind}*.ttf") if "SEGGCHAN" not in path.name
    )
    if not found:
        raise FileNotFoundError(f"No {kind} fonts under {_fonts()}: install Debian's fonts-dseg.")
    return tuple(found)


@functools.cache
def print_fonts() -> tuple[str, ...]:
    """Paths of Latin text fonts for captions, annunciators and TFT panels."""
    families = (
        "DejaVuSans",
        "DejaVuSansMono",
        "DejaVuSansCondensed",
        "LiberationSans",
        "LiberationMono",
        "LiberationSansNarrow",
        "NotoSans",
        "NotoSansMono",
    )
    found = []
    for path in sorted(_fonts().rglob("*.ttf")):
        family, _, weight = path.stem.partition("-")
        if family in families and weight in (
            "",
            "Regular",
            "Bold",
            "Oblique",
            "BoldOblique",
            "Italic",
        ):
            found.append(str(path))
    if not found:
        raise FileNotFoundError(f"No text fonts under {_fonts()}: install Debian's fonts-dejavu.")
    return tuple(found)


@functools.lru_cache(maxsize=4096)
def font(path: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(path, size)


def text_mask(path: str, text: str, height: float) -> np.ndarray:
    """Printed text as a tight float32 mask whose capitals are `height` px high."""
    face = font(path, max(6, int(height * 1.38)))
    left, top, right, bottom = face.getbbox(text)
    picture = Image.new("L", (max(1, int(right - left) + 2), max(1, int(bottom - top) + 2)), 0)
    ImageDraw.Draw(picture).text((1 - left, 1 - top), text, 255, font=face)
    return np.asarray(picture, np.float32) / 255


def _segment_shapes(rng: np.random.Generator, w: float, h: float) -> dict[str, np.ndarray]:
    """The seven segments of a cell w × h px as polygons."""
    t = h * rng.uniform(0.065, 0.2)  # stroke of the horizontals; the verticals may differ
    s = t * rng.uniform(0.75, 1.3)
    t, s = min(t, h * 0.19), min(s, w * 0.27)
    g = min(t, s) * rng.choice([rng.uniform(0.02, 0.12), rng.uniform(0.1, 0.4)])
    m = h / 2 + h * rng.uniform(-0.02, 0.02)
    style = rng.random()
    if style < 0.45:  # mitred corners, as on most glass displays
        e = rng.uniform(0.5, 1.0)
        return {
            "a": np.array([(g, 0), (w - g, 0), (w - s - g, t), (s + g, t)]),
            "d": np.array([(s + g, h - t), (w - s - g, h - t), (w - g, h), (g, h)]),
            "g": np.array(
                [
                    (s * 0.5 + g, m),
                    (s + g, m - t / 2),
                    (w - s - g, m - t / 2),
                    (w - s * 0.5 - g, m),
                    (w - s - g, m + t / 2),
                    (s + g, m + t / 2),
                ]
            ),
            "f": np.array(
                [
                    (0, g),
                    (s, t + g),
                    (s, m - t / 2 - g * e),
                    (s * 0.5, m - g),
                    (0, m - g - t * (1 - e) / 2),
                ]
            ),
            "e": np.array(
                [
                    (0, m + g + t * (1 - e) / 2),
                    (s * 0.5, m + g),
                    (s, m + t / 2 + g * e),
                    (s, h - t - g),
                    (0, h - g),
                ]
            ),
            "b": np.array(
                [
                    (w, g),
                    (w - s, t + g),
                    (w - s, m - t / 2 - g * e),
                    (w - s * 0.5, m - g),
                    (w, m - g - t * (1 - e) / 2),
                ]
            ),
            "c": np.array(
                [
                    (w, m + g + t * (1 - e) / 2),
                    (w - s * 0.5, m + g),
                    (w - s, m + t / 2 + g * e),
                    (w - s, h - t - g),
                    (w, h - g),
                ]
            ),
        }
    point = 0.5 if style < 0.8 else rng.uniform(0.0, 0.2)  # pointed ends, or nearly blunt bars
    inset = s * (0.5 if style < 0.8 else rng.uniform(0.5, 1.0))

    def across(y: float) -> np.ndarray:
        x0, x1, d = inset + g, w - inset - g, s * point
        return np.array(
            [
                (x0, y),
                (x0 + d, y - t / 2),
                (x1 - d, y - t / 2),
                (x1, y),
                (x1 - d, y + t / 2),
                (x0 + d, y + t / 2),
            ]
        )

    def down(x: float, y0: float, y1: float) -> np.ndarray:
        y0, y1, d = y0 + g, y1 - g, t * point
        return np.array(
            [
                (x, y0),
                (x + s / 2, y0 + d),
                (x + s / 2, y1 - d),
                (x, y1),
                (x - s / 2, y1 - d),
                (x - s / 2, y0 + d),
            ]
        )

    top, low = t / 2, h - t / 2
    return {
        "a": across(top),
        "g": across(m),
        "d": across(low),
        "f": down(s / 2, top, m),
        "e": down(s / 2, m, low),
        "b": down(w - s / 2, top, m),
        "c": down(w - s / 2, m, low),
    }


def _fill(mask: np.ndarray, polygon: np.ndarray, value: float) -> None:
    cv2.fillPoly(
        mask, [np.round(polygon * 16).astype(np.int32)], float(value), lineType=cv2.LINE_AA, shift=4
    )


def _dot(
    mask: np.ndarray, shape: str, x: float, y: float, size: float, slant: float, value: float
) -> None:
    r = size / 2
    if shape == "round":
        cv2.circle(mask, (int(x * 16), int(y * 16)), int(r * 16), float(value), -1, cv2.LINE_AA, 4)
        return
    corners = np.array(
        [(-r + slant * r, -r), (r + slant * r, -r), (r - slant * r, r), (-r - slant * r, r)]
    )
    if shape == "comma":
        corners = np.array(
            [(-r, -r), (r, -r), (r * 0.8, r * 0.6), (-r * 0.8, r * 2.4), (-r * 0.1, r * 0.6)]
        )
    _fill(mask, corners + np.array((x, y)), value)


def drawn_segments(rng: np.random.Generator, text: str, height: float) -> Line:
    """Seven-segment characters drawn in a style of their own."""
    h = height
    w = h * rng.uniform(0.4, 0.72)
    shapes = _segment_shapes(rng, w, h)
    gap = h * (rng.uniform(0.07, 0.34) if rng.random() < 0.82 else rng.uniform(0.3, 0.62))
    slant = float(
        rng.choice([0.0, rng.uniform(0.02, 0.12), rng.uniform(0.1, 0.24)], p=[0.45, 0.35, 0.2])
    )
    dot, shape = (
        h * (rng.uniform(0.07, 0.19) if rng.random() < 0.85 else rng.uniform(0.045, 0.08)),
        str(rng.choice(["round", "square", "comma"], p=[0.42, 0.48, 0.1])),
    )
    slot = (
        0.0 if rng.random() < 0.6 else h * rng.uniform(0.02, 0.26)
    )  # room of its own for the point
    sink = h * rng.choice([0.0, rng.uniform(0.0, 0.09)])
    if slot == 0.0 and rng.random() < 0.7:
        dot = min(dot, gap * 0.85)
    tails = {
        "6": "fgedc" if rng.random() < 0.1 else SEGMENTS["6"],
        "9": "abcfg" if rng.random() < 0.12 else SEGMENTS["9"],
        "7": "abcf" if rng.random() < 0.15 else SEGMENTS["7"],
    }
    table = SEGMENTS | tails
    small = (
        rng.uniform(0.4, 0.85) if "." in text and rng.random() < 0.34 else 1.0
    )  # smaller decimals
    raised = rng.random() < 0.25
    leading = int(rng.choice([0, 1, 2, 3], p=[0.62, 0.2, 0.12, 0.06]))
    uneven = rng.random() < 0.2
    gains = _gains(rng, text)
    blanks = _blanks(rng, text)
    bar = rng.uniform(0.55, 1.0)
    width = int(
        (len(text) + leading + blanks + 1) * (w + gap) + text.count(".") * slot + slant * h + h
    )
    lit, ghost = (
        np.zeros((int(h * 1.5) + 4, width), np.float32),
        np.zeros((int(h * 1.5) + 4, width), np.float32),
    )
    x, y0, boxes, tail = h * 0.3, h * 0.22, [], False
    ghost_dots = rng.random() < 0.5
    shown = " " * leading + text[: 1 if blanks else 0] + " " * blanks + text[1 if blanks else 0 :]
    at = -1  # the character of `text` that is drawn
    for char in shown:
        at += char != " "
        gain = gains[at] if char != " " else 1.0
        k = small if tail else 1.0
        top = y0 + (0.0 if raised else h * (1 - k))
        foot = top + h * k
        if char == ".":
            cx, cy = x - gap / 2 + slot / 2, y0 + h - dot / 2 + sink
            _dot(lit, shape, cx, cy, dot, slant, gain)
            _dot(ghost, shape, cx, cy, dot, slant, 1.0)
            boxes.append((cx - dot / 2, cy - dot / 2, cx + dot / 2, cy + dot / 2))
            x += slot
            tail = True
            continue
        if char == ":":
            for part in (0.3, 0.7):
                cx = x + dot / 2 + slant * h * (1 - part)
                _dot(
                    lit, "round" if shape == "comma" else shape, cx, y0 + h * part, dot, slant, 1.0
                )
                _dot(
                    ghost,
                    "round" if shape == "comma" else shape,
                    cx,
                    y0 + h * part,
                    dot,
                    slant,
                    1.0,
                )
            boxes.append((x, y0, x + dot + slant * h * 0.5, y0 + h))
            x += dot + gap
            continue
        lean = np.array([[1, 0], [-slant, 1]]) * k  # row vectors: (px, py) -> (px - slant * py, py)
        place = np.array([x + slant * h * k, top])
        for name, polygon in shapes.items():
            poly = polygon
            if char == "-" and name == "g" and bar < 0.95:
                poly = (polygon - (w / 2, 0)) * (bar, 1) + (w / 2, 0)
            poly = poly @ lean + place
            _fill(ghost, poly, 1.0)
            if name in table[char]:
                weak = (
                    rng.uniform(0.45, 1.0) if uneven and gain == 1 and rng.random() < 0.3 else 1.0
                )
                _fill(lit, poly, weak * gain)
        if ghost_dots:
            _dot(ghost, shape, x + w * k + gap / 2, y0 + h - dot / 2 + sink, dot, slant, 1.0)
        if char != " ":
            boxes.append((x + slant * h * k * 0.3, top, x + w * k + slant * h * k * 0.7, foot))
        x += (w + gap) * k
    return _finish(text, lit, ghost, boxes, y0, y0 + h)


def _gains(rng: np.random.Generator, text: str) -> list[float]:
    """How strongly each character is lit: now and then an end one or the point hardly is."""
    gains = [1.0] * len(text)
    if rng.random() < 0.08:
        gains[0] = float(rng.uniform(0.4, 0.85))
    if rng.random() < 0.08:
        gains[-1] = float(rng.uniform(0.4, 0.85))
    if "." in text and rng.random() < 0.15:
        gains[text.index(".")] = float(rng.uniform(0.4, 0.9))
    return gains


def _blanks(rng: np.random.Generator, text: str) -> int:
    """Unlit cells between a sign and its digits: the sign often has a place of its own."""
    return (
        int(rng.integers(1, 4))
        if text[:1] == "-" and text[1:2] != "-" and rng.random() < 0.3
        else 0
    )


def _finish(
    text: str,
    lit: np.ndarray,
    ghost: np.ndarray,
    boxes: list[tuple[float, float, float, float]],
    top: float,
    foot: float,
) -> Line:
    columns = np.flatnonzero((lit > 0.25).any(0))
    left, right = (columns[0], columns[-1] + 1) if columns.size else (0, lit.shape[1])
    return Line(
        text,
        lit,
        ghost,
        np.array(boxes, np.float32).reshape(-1, 4),
        np.array([left, top, right, foot], np.float32),
    )


def font_line(
    rng: np.random.Generator, text: str, height: float, path: str, segmented: bool
) -> Line:
    """A line set in a font: the DSEG ones (with every segment as its ghost) or a text font, as on a
    TFT."""
    face = font(path, max(8, int(height * (1.0 if segmented else 1.37))))
    shown = text.replace("i", "1") if segmented and "DSEG7" in path else text
    _, top, _, foot = face.getbbox("8")
    leading = "!" * int(rng.choice([0, 1, 2, 3], p=[0.6, 0.2, 0.12, 0.08])) if segmented else ""
    pad, extra = int(height * 0.3), float(rng.choice([0.0, height * rng.uniform(0, 0.15)]))
    gap = _blanks(rng, text) * face.getlength("8") if segmented else 0.0
    width = int(
        face.getlength(leading + shown) + gap + 2 * pad + height * 0.5 + extra * (len(text) + 1)
    )
    size = (max(8, width), int(foot - top + 2 * pad + height * 0.15))
    lit, ghost = Image.new("L", size, 0), Image.new("L", size, 0)
    pen, pen_ghost = ImageDraw.Draw(lit), ImageDraw.Draw(ghost)
    start = pad + face.getlength(leading)
    if segmented and leading:
        pen_ghost.text((pad, pad - top), "8" * len(leading), 255, font=face)
    boxes = []
    for index, char in enumerate(shown):
        x = start + face.getlength(shown[:index]) + extra * len(shown[:index].replace(".", ""))
        x += gap if index else 0.0
        if char == "." and segmented and index:
            x -= extra  # the font's point belongs to the digit before it
        pen.text((x, pad - top), char, 255, font=face)
        if segmented:
            pen_ghost.text((x, pad - top), char if char in ".:" else "8", 255, font=face)
        left, high, right, low = face.getbbox(char)
        if char == ".":
            boxes.append((x + left, pad - top + high, x + right, pad - top + low))
        else:
            advance = face.getlength(char)
            boxes.append(
                (x + min(left, advance * 0.1), pad, x + max(right, advance * 0.9), pad + foot - top)
            )
    masks = [np.asarray(mask, np.float32) / 255 for mask in (lit, ghost)]
    return _finish(text, masks[0], masks[1], boxes, pad, pad + foot - top)


def dot_matrix(rng: np.random.Generator, text: str, height: float) -> Line:
    """Five by seven dot characters; the ghost is the full raster."""
    pitch = height / 7
    fill = rng.uniform(0.7, 0.98)
    wide = pitch * rng.uniform(0.8, 1.1)
    gap = wide * rng.choice([1.0, 2.0])
    width = int((len(text) + 1) * (5 * wide + gap) + height)
    lit, ghost = (
        np.zeros((int(height * 1.5), width), np.float32),
        np.zeros((int(height * 1.5), width), np.float32),
    )
    x, y0, boxes = height * 0.3, height * 0.2, []
    round_dots = rng.random() < 0.3
    for char in text:
        columns = 5
        if char in ".:":
            columns = int(rng.choice([2, 5]))
            rows_on = [(6, columns // 2)] if char == "." else [(2, columns // 2), (5, columns // 2)]
        else:
            table = DOTS[char].replace(" ", "")
            rows_on = [
                (row, bit)
                for row in range(7)
                for bit in range(5)
                if int(table[2 * row : 2 * row + 2], 16) >> (4 - bit) & 1
            ]
        on = set(rows_on)
        for row in range(7):
            for column in range(columns):
                px, py = x + column * wide, y0 + row * pitch
                for mask in (ghost, lit) if (row, column) in on else (ghost,):
                    if round_dots:
                        _dot(
                            mask,
                            "round",
                            px + wide / 2,
                            py + pitch / 2,
                            min(wide, pitch) * fill,
                            0,
                            1.0,
                        )
                    else:
                        _fill(
                            mask,
                            np.array(
                                [
                                    (px, py),
                                    (px + wide * fill, py),
                                    (px + wide * fill, py + pitch * fill),
                                    (px, py + pitch * fill),
                                ]
                            ),
                            1.0,
                        )
        middle = x + (columns // 2 + 0.5) * wide
        if char == ".":
            boxes.append((middle - wide / 2, y0 + 6 * pitch, middle + wide / 2, y0 + 7 * pitch))
        else:
            boxes.append((x, y0, x + columns * wide, y0 + height))
        x += columns * wide + gap
    return _finish(text, lit, ghost, boxes, y0, y0 + height)


def line(rng: np.random.Generator, text: str, height: float) -> Line:
    """A line in a random make: drawn segments, the DSEG fonts, dots, or a text font."""
    make = rng.random()
    if make < 0.60:
        return drawn_segments(rng, text, height)
    if make < 0.75:
        return font_line(rng, text, height, str(rng.choice(segment_fonts("DSEG7"))), segmented=True)
    if make < 0.82:
        return font_line(
            rng, text, height, str(rng.choice(segment_fonts("DSEG14"))), segmented=True
        )
    if make < 0.90:
        return dot_matrix(rng, text, height)
    return font_line(rng, text, height, str(rng.choice(print_fonts())), segmented=False)


def word(rng: np.random.Generator, text: str, height: float) -> Line:
    """Letters on the display itself (a label line): segmented or printed."""
    if rng.random() < 0.5:
        return font_line(
            rng,
            "".join(c for c in text.upper() if c.isalnum()) or "RUN",
            height,
            str(rng.choice(segment_fonts("DSEG14"))),
            segmented=True,
        )
    return font_line(rng, text, height, str(rng.choice(print_fonts())), segmented=False)
