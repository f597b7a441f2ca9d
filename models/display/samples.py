"""Training samples: labelled crops for the reader, whole scenes with quads for the finder."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from models.display import camera, text
from models.display.panel import Marked, Panel, body_colour, colour, paint, panel, printed, swell

READER_HEIGHT, READER_WIDTH = 48, 320
FINDER_SIZE = 384
LONGEST = 12
"""Characters a reader sample holds at most."""
MOST_QUADS = 16
GREY = 114


@dataclass(slots=True)
class Crop:
    """picture: uint8 (h, w, 3) RGB as shot. xs, tops, bottoms: per character, as shares of width
    and height."""

    picture: np.ndarray
    text: str
    xs: np.ndarray
    tops: np.ndarray
    bottoms: np.ndarray


@dataclass(slots=True)
class Scene:
    """picture: uint8 (FINDER_SIZE, FINDER_SIZE, 3) RGB. quads: (n, 4, 2) px; kinds: 1 reading, 2
    unit, 3 ignore."""

    picture: np.ndarray
    quads: np.ndarray
    kinds: np.ndarray


def fit(picture: np.ndarray) -> tuple[np.ndarray, int]:
    """A crop scaled for the reader: uint8 (48, 320, 3), zero at the right of the width that is
    returned with it."""
    h, w = picture.shape[:2]
    width = int(min(READER_WIDTH, max(16, round(w * READER_HEIGHT / h))))
    shrinks = width * READER_HEIGHT < w * h
    scaled = cv2.resize(
        picture,
        (width, READER_HEIGHT),
        interpolation=cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR,
    )
    out = np.zeros((READER_HEIGHT, READER_WIDTH, 3), np.uint8)
    out[:, :width] = scaled
    return out, width


def normalise(fitted: np.ndarray, width: int) -> np.ndarray:
    """float32 (3, 48, 320) network input of a fitted crop."""
    part = fitted[:, :width].astype(np.float32).transpose(2, 0, 1)
    part -= part.mean((1, 2), keepdims=True)
    out = np.zeros((3, READER_HEIGHT, READER_WIDTH), np.float32)
    out[:, :, :width] = part / (part.std() + 4.0)
    return out


def _rotation(angle: float) -> np.ndarray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s], [s, c]])


def _window(
    rng: np.random.Generator, shown: Panel, target: Marked
) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of what the crop shows of the panel."""
    (left, top), (right, bottom) = target.quad[0], target.quad[2]
    h = bottom - top
    style = rng.random()
    if style < 0.62:  # as a finder or a careful hand cuts it
        x0, x1 = left - h * rng.uniform(-0.06, 0.7), right + h * rng.uniform(-0.06, 0.7)
        y0, y1 = top - h * rng.uniform(-0.04, 0.35), bottom + h * rng.uniform(-0.04, 0.35)
    elif style < 0.9:  # generous
        x0, x1 = left - h * rng.uniform(0.1, 3.0), right + h * rng.uniform(0.1, 1.8)
        y0, y1 = top - h * rng.uniform(0.0, 0.6), bottom + h * rng.uniform(0.0, 0.6)
    else:  # the glass as it is, as far as it holds one line
        x0, y0, x1, y1 = shown.glass
        y0, y1 = max(y0, top - h * 0.7), min(y1, bottom + h * 0.7)
        x0, x1 = max(x0, left - 4 * h), min(x1, right + 3 * h)
    for other in shown.readings:  # never two readings of one row in one crop
        o0, o1 = other.quad[0], other.quad[2]
        if other is target or min(o1[1], y1) - max(o0[1], y0) < 0.3 * min(h, o1[1] - o0[1]):
            continue
        if min(o1[1], bottom) - max(o0[1], top) < 0.3 * min(h, o1[1] - o0[1]):
            continue
        if o0[0] >= right:
            x1 = min(x1, o0[0] + 0.15 * h)
        elif o1[0] <= left:
            x0 = max(x0, o1[0] - 0.15 * h)
    return x0, y0, x1, y1


def _fault(rng: np.random.Generator, shown: Panel, target: Marked) -> None:
    """What makes single characters hard: glare over an end one, specks that are no point."""
    (left, top), (right, bottom) = target.quad[0], target.quad[2]
    h, w = bottom - top, shown.picture.shape[1]
    if rng.random() < 0.12:  # bright from one end on, up to a soft edge within the first digits
        first = rng.random() < 0.65
        edge = left + h * rng.uniform(-0.3, 0.75) if first else right - h * rng.uniform(-0.3, 0.75)
        soft = h * rng.uniform(0.05, 0.6)
        x = (np.arange(w, dtype=np.float32) - edge) / soft
        lean = rng.uniform(-0.6, 0.6) * (np.arange(len(shown.picture)) - top)[:, None] / soft
        cover = np.clip(0.5 - (x if first else -x)[None] + lean, 0, 1).astype(np.float32)
        tone = np.full(3, rng.uniform(190, 275), np.float32)
        shown.picture += (cover * rng.uniform(0.25, 0.75))[..., None] * (tone - shown.picture)
    if rng.random() < 0.06:  # specks: of any tone between the lines' ends, not where a point stands
        for _ in range(int(rng.integers(1, 4))):
            at = (rng.uniform(left, right), top + h * rng.uniform(-0.1, 0.82))
            size, tone = h * rng.uniform(0.02, 0.07), [float(v) for v in colour(rng)]
            cv2.circle(
                shown.picture, (int(at[0]), int(at[1])), max(1, int(size)), tone, -1, cv2.LINE_AA
            )


def _lost(picture: np.ndarray, ends: np.ndarray, shown: str) -> bool:
    """Whether a character can't be seen at all: its label would teach guessing."""
    grey = cv2.GaussianBlur(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), (0, 0), len(picture) / 40)
    high = float(np.median(ends[:, 1, 1] - ends[:, 0, 1]))
    for (above, below), char in zip(ends, shown, strict=True):
        middle, half = (above + below) / 2, high * (0.13 if char in ".:" else 0.28)
        y0, y1 = min(above[1], middle[1] - half), max(below[1], middle[1] + half)
        rows = slice(max(0, int(y0)), max(1, int(y1) + 1))
        columns = slice(max(0, int(middle[0] - half)), max(1, int(middle[0] + half) + 1))
        patch = grey[rows, columns]
        if patch.size and int(patch.max()) - int(patch.min()) < 9:
            return True
    return False


def _word(rng: np.random.Generator) -> str:
    """A word that can't be taken for digits or for a state such as Lo."""
    words = [word for word in text.UNITS + text.STATES_SHOWN if set(word) & set("MWKVNATPUR%k")]
    letters = list("ACDKMNPRTUVWXY")
    if rng.random() < 0.5:
        return str(rng.choice(words))
    return str(rng.choice(list("KMNVWX"))) + "".join(rng.choice(letters, int(rng.integers(1, 5))))


def _nothing(rng: np.random.Generator, severity: float) -> Crop:
    """A crop without a reading: a surface, or printed words."""
    h = int(np.exp(rng.uniform(np.log(18), np.log(84))))
    w = int(h * rng.uniform(1.2, 6.5))
    picture = _backdrop(rng, h, w)
    if rng.random() < 0.6:
        words = str(rng.choice([word for word in text.CAPTIONS if word.replace(" ", "").isalpha()]))
        mask = printed(rng, words, h * rng.uniform(0.4, 0.8))
        paint(picture, mask, w * rng.uniform(-0.1, 0.15), h * rng.uniform(0.1, 0.3), colour(rng))
    shot = camera.shoot(rng, picture, h / 44, severity)
    return Crop(shot, "", np.zeros(0), np.zeros(0), np.zeros(0))


def crop(rng: np.random.Generator, severity: float = 1.0) -> Crop:
    """One display line as a photographed crop with its characters' places."""
    if rng.random() < 0.02:
        return _nothing(rng, severity)
    meter = rng.random() < 0.2
    word = _word(rng) if not meter and rng.random() < 0.025 else None
    while True:
        out_height = int(np.exp(rng.uniform(np.log(18), np.log(84))))
        if meter:
            out_height = int(rng.uniform(24, 48))
        digit = max(12.0, out_height * rng.uniform(0.62, 0.95))
        shown = panel(rng, digit, float(rng.choice([0.3, 1.0])), meter, word)
        target = shown.readings[
            0 if word or rng.random() < 0.7 else int(rng.integers(len(shown.readings)))
        ]
        if len(target.text) > LONGEST or target.quad[2, 1] - target.quad[0, 1] < 9:
            continue
        if rng.random() < 0.03 and shown.units:  # no reading here: letters only
            unit = shown.units[int(rng.integers(len(shown.units)))]
            if (
                unit.text.isalpha()
                and unit.quad[2, 1] - unit.quad[0, 1] > 8
                and not set(unit.text) & set("OLErHioFIlbdPABCSZ")
            ):
                picture = _shoot_window(rng, shown.picture, _around(unit), out_height, severity)[0]
                return Crop(picture, "", np.zeros(0), np.zeros(0), np.zeros(0))
        _fault(rng, shown, target)
        picture, matrix = _shoot_window(
            rng,
            shown.picture,
            _window(rng, shown, target),
            out_height,
            severity,
            float(rng.uniform(5.2, 7.6)) if meter and rng.random() < 0.75 else None,
        )
        if word:
            return Crop(picture, "", np.zeros(0), np.zeros(0), np.zeros(0))
        h, w = picture.shape[:2]
        middle = (target.boxes[:, 0] + target.boxes[:, 2]) / 2
        ends = np.stack(
            [np.stack([middle, target.boxes[:, 1]], 1), np.stack([middle, target.boxes[:, 3]], 1)],
            1,
        )
        placed = cv2.perspectiveTransform(ends.astype(np.float32), matrix)
        xs = placed[:, :, 0].mean(1) / w
        if (xs <= 0.004).any() or (xs >= 0.996).any():
            continue
        if _lost(picture, placed, target.text) and rng.random() < 0.95:
            continue
        return Crop(picture, target.text, xs, placed[:, 0, 1] / h, placed[:, 1, 1] / h)


def _around(marked: Marked) -> tuple[float, float, float, float]:
    (left, top), (right, bottom) = marked.quad[0], marked.quad[2]
    margin = (bottom - top) * 0.2
    return left - margin, top - margin, right + margin, bottom + margin


def _shoot_window(
    rng: np.random.Generator,
    picture: np.ndarray,
    window: tuple[float, float, float, float],
    out_height: int,
    severity: float,
    aspect: float | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """The window of a panel, tilted and photographed; with the matrix from panel to crop px. With
    an `aspect` it is stretched to that, whatever it was: some archives of pictures do so."""
    x0, y0, x1, y1 = window
    stretch = float(
        np.exp(np.clip(rng.normal(0.05, 0.2), -0.5, 0.6))
        if rng.random() < 0.7
        else rng.uniform(1.2, 2.7)
    )
    if aspect is not None:
        stretch = float(np.clip(aspect * (y1 - y0) / (x1 - x0), 0.6, 2.8))
    w, h = int(np.clip(out_height * (x1 - x0) / (y1 - y0) * stretch, 14, 640)), out_height
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], np.float32)
    tilt = np.deg2rad(rng.normal(0, 2.2) if rng.random() < 0.85 else rng.uniform(-8, 8))
    centre = corners.mean(0)
    moved = (corners - centre) @ _rotation(tilt).T + centre
    moved += rng.normal(0, 0.03 * (y1 - y0), (4, 2))
    if rng.random() < 0.25:  # seen from the side: sheared
        moved[:2, 0] += rng.normal(0, 0.12) * (y1 - y0)
    matrix = cv2.getPerspectiveTransform(
        moved.astype(np.float32), np.float32([(0, 0), (w, 0), (w, h), (0, h)])
    )
    seen = cv2.warpPerspective(
        np.clip(picture, 0, 300),
        matrix,
        (w, h),
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return camera.shoot(rng, seen, h / 44, severity), matrix.astype(np.float32)


def _backdrop(rng: np.random.Generator, h: int, w: int) -> np.ndarray:
    """Workshop-like ground: walls, wood, mesh, clutter."""
    picture = np.empty((h, w, 3), np.float32)
    picture[:] = body_colour(rng)
    picture *= (1 + rng.uniform(0.05, 0.4) * swell(rng, h, w, 6))[..., None]
    kind = rng.random()
    if kind < 0.25:  # texture in several octaves
        for cells in (8, 24, 80):
            grain = rng.normal(size=(cells, cells)).astype(np.float32)
            picture += (
                cv2.resize(grain, (w, h), interpolation=cv2.INTER_CUBIC) * rng.uniform(2, 22)
            )[..., None]
    elif kind < 0.38:  # wood, brushed metal
        grain = cv2.resize(
            rng.normal(size=(int(rng.integers(20, 120)), 4)).astype(np.float32),
            (w, h),
            interpolation=cv2.INTER_CUBIC,
        )
        picture += (grain * rng.uniform(4, 30))[..., None] * colour(rng, 0.5, 1)
    elif kind < 0.5:  # mesh, vents, tiles
        step, thick = int(rng.integers(6, 48)), int(rng.integers(1, 5))
        tone = [float(v) for v in colour(rng)]
        for x in range(0, w, step):
            cv2.line(picture, (x, 0), (x, h), tone, thick)
        if rng.random() < 0.6:
            for y in range(0, h, step):
                cv2.line(picture, (0, y), (w, y), tone, thick)
    for _ in range(int(rng.integers(0, 10))):
        _clutter(rng, picture)
    if rng.random() < 0.5:
        picture = cv2.GaussianBlur(picture, (0, 0), rng.uniform(0.5, 5))
    return picture


def _clutter(rng: np.random.Generator, picture: np.ndarray) -> None:
    h, w = picture.shape[:2]
    tone = [float(v) for v in colour(rng)]
    x, y = int(rng.uniform(-0.1, 1) * w), int(rng.uniform(-0.1, 1) * h)
    kind = int(rng.integers(7))
    if kind == 0:
        cv2.rectangle(
            picture,
            (x, y),
            (x + int(rng.uniform(0.02, 0.5) * w), y + int(rng.uniform(0.02, 0.5) * h)),
            tone,
            -1 if rng.random() < 0.7 else 2,
        )
    elif kind == 1:
        cv2.circle(
            picture,
            (x, y),
            int(rng.uniform(0.01, 0.2) * w) + 1,
            tone,
            -1 if rng.random() < 0.6 else 2,
            cv2.LINE_AA,
        )
    elif kind == 2:  # cables
        path = np.cumsum(rng.normal(size=(12, 2)) * (w * 0.05, h * 0.05), 0) + np.array((x, y))
        smooth = cv2.GaussianBlur(
            cv2.resize(path.astype(np.float32), (2, 60), interpolation=cv2.INTER_CUBIC), (1, 15), 3
        )
        cv2.polylines(
            picture, [np.int32(smooth)], False, tone, int(rng.integers(2, 12)), cv2.LINE_AA
        )
    elif kind == 3:
        cv2.line(
            picture,
            (x, y),
            (int(rng.uniform(0, w)), int(rng.uniform(0, h))),
            tone,
            int(rng.integers(1, 6)),
            cv2.LINE_AA,
        )
    elif kind == 4:  # a finger or a hand's edge
        skin = [float(v) for v in np.array([205, 150, 120]) * rng.uniform(0.35, 1.15)]
        cv2.ellipse(
            picture,
            (x, y),
            (int(rng.uniform(0.05, 0.2) * w), int(rng.uniform(0.03, 0.08) * w)),
            rng.uniform(0, 180),
            0,
            360,
            skin,
            -1,
            cv2.LINE_AA,
        )
    else:
        paint(picture, printed(rng, text.caption(rng), rng.uniform(5, 26)), x, y, np.float32(tone))


def _gauge(rng: np.random.Generator, picture: np.ndarray) -> None:
    """An analogue scale with numbers: reads like digits, is not a display."""
    h, w = picture.shape[:2]
    x, y, r = (
        rng.uniform(0.1, 0.9) * w,
        rng.uniform(0.1, 0.9) * h,
        rng.uniform(0.06, 0.3) * min(h, w),
    )
    face = [
        float(v) for v in (np.full(3, rng.uniform(200, 255)) if rng.random() < 0.7 else colour(rng))
    ]
    cv2.circle(
        picture, (int(x), int(y)), int(r * 1.08), [float(v) for v in colour(rng)], -1, cv2.LINE_AA
    )
    cv2.circle(picture, (int(x), int(y)), int(r), face, -1, cv2.LINE_AA)
    marks, first = int(rng.integers(5, 12)), int(rng.integers(0, 3))
    step = int(rng.choice([1, 2, 5, 10, 20, 50, 100]))
    for mark in range(marks):
        angle = np.deg2rad(135 + 270 * mark / (marks - 1))
        direction = np.array([np.cos(angle), np.sin(angle)])
        p, q = np.array([x, y]) + direction * r * 0.95, np.array([x, y]) + direction * r * 0.8
        cv2.line(
            picture,
            tuple(np.int32(p).tolist()),
            tuple(np.int32(q).tolist()),
            (20, 20, 20),
            max(1, int(r / 40)),
            cv2.LINE_AA,
        )
        number = printed(rng, str((mark + first) * step), max(5, r * 0.14))
        at = np.array([x, y]) + direction * r * 0.62 - np.array(number.shape[::-1]) / 2
        paint(picture, number, at[0], at[1], np.full(3, 25, np.float32))
    angle = rng.uniform(0, 2 * np.pi)
    tip = np.array([x, y]) + np.array([np.cos(angle), np.sin(angle)]) * r * 0.8
    cv2.line(
        picture,
        (int(x), int(y)),
        tuple(np.int32(tip).tolist()),
        [float(v) for v in colour(rng, 0, 120)],
        max(1, int(r / 25)),
        cv2.LINE_AA,
    )


def _keys(
    rng: np.random.Generator, picture: np.ndarray, area: tuple[float, float, float, float]
) -> None:
    """Buttons or a keypad in an area, with marks on them."""
    x0, y0, x1, y1 = area
    columns, rows = int(rng.integers(1, 6)), int(rng.integers(1, 5))
    wide, high = (x1 - x0) / columns, (y1 - y0) / rows
    if min(wide, high) < 6:
        return
    tone = [float(v) for v in colour(rng)]
    mark_tone = np.full(3, 240 if np.mean(tone) < 128 else 20, np.float32)
    digits = rng.random() < 0.4
    for row in range(rows):
        for column in range(columns):
            left, top = x0 + column * wide, y0 + row * high
            box = (
                (int(left + wide * 0.12), int(top + high * 0.15)),
                (int(left + wide * 0.88), int(top + high * 0.85)),
            )
            if columns * rows < 6 and rng.random() < 0.5:
                cv2.ellipse(
                    picture,
                    (int(left + wide / 2), int(top + high / 2)),
                    (int(wide * 0.4), int(high * 0.38)),
                    0,
                    0,
                    360,
                    tone,
                    -1,
                    cv2.LINE_AA,
                )
            else:
                cv2.rectangle(picture, *box, tone, -1)
            mark = (
                str((row * columns + column + 1) % 10)
                if digits
                else str(
                    rng.choice(
                        ["MODE", "SET", "OK", "▲", "▼", "F1", "HOLD", "C", "+", "-", "ON", "MAX"]
                    )
                )
            )
            mask = printed(rng, mark, max(5, high * 0.3))
            paint(
                picture,
                mask,
                left + (wide - mask.shape[1]) / 2,
                top + (high - mask.shape[0]) / 2,
                mark_tone,
            )


def _plate(rng: np.random.Generator, picture: np.ndarray, x: float, y: float) -> None:
    """A rating plate or a sticker: lines of print with numbers in them, bars; no display."""
    size = FINDER_SIZE
    w, h = int(size * rng.uniform(0.1, 0.4)), int(size * rng.uniform(0.05, 0.25))
    light = rng.random() < 0.75
    tone = np.full(3, rng.uniform(190, 250) if light else rng.uniform(10, 80), np.float32)
    label = np.ones((h, w, 1), np.float32) * (tone + colour(rng, -20, 5))
    shade = np.full(3, 25 if light else 225, np.float32) + colour(rng, -10, 10)
    row, lines = h * 0.06, int(rng.integers(1, 6))
    line_h = h / (lines + 0.3)
    for _ in range(lines):
        words = text.caption(rng)
        if rng.random() < 0.4:
            words += " " + str(rng.choice(["V", "No", "A", "Hz", "rev/kWh", "kPa", ":"]))
        if rng.random() < 0.1:
            bars = np.repeat(rng.random(w // 2) < 0.5, 2).astype(np.float32)
            mask = np.tile(bars, (max(2, int(line_h * 0.7)), 1))
        else:
            mask = printed(rng, words, line_h * rng.uniform(0.45, 0.75))
        paint(label, mask, w * rng.uniform(0.02, 0.2), row, shade)
        row += line_h
    x0, y0 = max(0, int(x)), max(0, int(y))
    room = picture[y0 : y0 + h, x0 : x0 + w]
    room[:] = label[: room.shape[0], : room.shape[1]]


def _shrunk(shown: Panel, w: int, h: int) -> Panel:
    """The panel made small enough for a scene of w × h px."""
    ph, pw = shown.picture.shape[:2]
    k = min(1.0, w * 1.02 / pw, h * 1.02 / ph)
    if k < 1:
        shown.picture = cv2.resize(
            shown.picture, (max(1, int(pw * k)), max(1, int(ph * k))), interpolation=cv2.INTER_AREA
        )
        for marked in shown.readings + shown.units:
            marked.quad = marked.quad * k
    return shown


def _upright(rng: np.random.Generator) -> tuple[np.ndarray, list[np.ndarray], list[int]]:
    """An upright scene (long side about FINDER_SIZE px) with the quads on it."""
    size = FINDER_SIZE
    if rng.random() < 0.2:  # the display fills the picture
        digit = float(np.exp(rng.uniform(np.log(36), np.log(130))))
        shown = panel(rng, digit, surround=float(rng.choice([0.15, 0.6, 1.5])))
        picture = shown.picture
        quads = [m.quad for m in shown.readings + shown.units]
        kinds = [1] * len(shown.readings) + [2] * len(shown.units)
        if rng.random() < 0.35:  # nothing but the digits
            corners = np.concatenate([m.quad for m in shown.readings])
            margin = digit * rng.uniform(0.02, 0.5, 4)
            x0, y0 = np.maximum(corners.min(0) - margin[:2], 0).astype(int)
            x1, y1 = (corners.max(0) + margin[2:]).astype(int)
            picture = np.ascontiguousarray(picture[y0:y1, x0:x1])
            quads = [quad - np.array((x0, y0), np.float32) for quad in quads]
        return picture, quads, kinds
    aspect = float(rng.choice([4 / 3, 3 / 4, 1.0, 16 / 9, 9 / 16], p=[0.35, 0.25, 0.15, 0.15, 0.1]))
    w, h = (size, int(size / aspect)) if aspect >= 1 else (int(size * aspect), size)
    picture = _backdrop(rng, h, w)
    if rng.random() < 0.12:
        _gauge(rng, picture)
    if rng.random() < 0.75:  # an instrument's body
        bw, bh = w * rng.uniform(0.3, 1.2), h * rng.uniform(0.3, 1.2)
        bx, by = w * rng.uniform(0.25, 0.75) - bw / 2, h * rng.uniform(0.25, 0.75) - bh / 2
        mask = np.zeros((h, w), np.float32)
        cv2.rectangle(mask, (int(bx), int(by)), (int(bx + bw), int(by + bh)), 1.0, -1)
        if rng.random() < 0.5:
            mask = np.clip(
                (cv2.GaussianBlur(mask, (0, 0), rng.uniform(1, 12)) - 0.5) * 6 + 0.5, 0, 1
            )
        tone = body_colour(rng)
        picture += mask[..., None] * (tone * (1 + 0.1 * swell(rng, h, w))[..., None] - picture)
        if rng.random() < 0.12:
            _gauge(rng, picture)
        for _ in range(int(rng.integers(0, 3))):
            kx, ky = rng.uniform(bx, bx + bw * 0.8), rng.uniform(by, by + bh * 0.8)
            _keys(
                rng,
                picture,
                (kx, ky, kx + bw * rng.uniform(0.1, 0.5), ky + bh * rng.uniform(0.06, 0.4)),
            )
        for _ in range(int(rng.integers(0, 7))):
            words = printed(rng, text.caption(rng), rng.uniform(4, 0.08 * size))
            paint(picture, words, rng.uniform(bx, bx + bw), rng.uniform(by, by + bh), colour(rng))
        for _ in range(int(rng.choice([0, 1, 2], p=[0.65, 0.25, 0.1]))):
            _plate(rng, picture, rng.uniform(bx, bx + bw), rng.uniform(by, by + bh))
        for _ in range(int(rng.integers(0, 5))):  # screws
            cv2.circle(
                picture,
                (int(rng.uniform(bx, bx + bw)), int(rng.uniform(by, by + bh))),
                int(rng.integers(2, 8)),
                [float(v) for v in colour(rng, 60, 200)],
                -1,
                cv2.LINE_AA,
            )
    quads: list[np.ndarray] = []
    kinds: list[int] = []
    glasses: list[tuple[float, float, float, float]] = []
    wanted = int(rng.choice([0, 1, 2, 3, 4], p=[0.05, 0.62, 0.2, 0.08, 0.05]))
    x_mid, y_mid = w * rng.uniform(0.3, 0.7), h * rng.uniform(0.3, 0.7)
    first = float(np.exp(rng.uniform(np.log(0.021), np.log(0.36)))) * size
    for index in range(wanted):
        digit = first if index == 0 else first * rng.uniform(0.35, 1.1)
        shown = _shrunk(
            panel(
                rng,
                max(9.0, digit),
                surround=float(rng.choice([0.1, 0.5, 1.2])),
                meter=rng.random() < 0.15,
            ),
            w,
            h,
        )
        ph, pw = shown.picture.shape[:2]
        for _ in range(6):
            px = int(
                np.clip(
                    rng.normal(x_mid, w * 0.14 * (1 + index)) - pw / 2,
                    min(-2, w - pw),
                    max(0, w - pw + 2),
                )
            )
            py = int(
                np.clip(
                    rng.normal(y_mid, h * 0.16 * (1 + index)) - ph / 2,
                    min(-2, h - ph),
                    max(0, h - ph + 2),
                )
            )
            box = (px, py, px + pw, py + ph)
            if all(
                box[0] >= g[2] or box[2] <= g[0] or box[1] >= g[3] or box[3] <= g[1]
                for g in glasses
            ):
                break
        else:
            continue
        glasses.append(box)
        x0, y0, x1, y1 = max(0, px), max(0, py), min(w, px + pw), min(h, py + ph)
        picture[y0:y1, x0:x1] = shown.picture[y0 - py : y1 - py, x0 - px : x1 - px]
        for marked, kind in [(m, 1) for m in shown.readings] + [(m, 2) for m in shown.units]:
            quads.append(marked.quad + np.array((px, py)))
            kinds.append(kind)
    if rng.random() < 0.08:  # a stamp of date and time over the picture
        stamp = printed(
            rng,
            text.moment(rng),
            rng.uniform(5, 12),
        )
        paint(picture, stamp, w - stamp.shape[1] - 4, h - stamp.shape[0] - 3, colour(rng, 180, 255))
    return picture, quads, kinds


def scene(rng: np.random.Generator, severity: float = 0.85) -> Scene:
    """A whole photo with zero or more displays, tilted, cut and photographed."""
    size = FINDER_SIZE
    picture, quads, kinds = _upright(rng)
    h, w = picture.shape[:2]
    turn = np.deg2rad(rng.normal(0, 4) if rng.random() < 0.8 else rng.uniform(-30, 30))
    frame = np.array([(0, 0), (w, 0), (w, h), (0, h)], np.float32)
    moved = (
        (frame - (w / 2, h / 2)) @ _rotation(turn).T
        + (w / 2, h / 2)
        + rng.normal(0, 0.025 * max(w, h), (4, 2))
    )
    if rng.random() < 0.3:  # a cut of the scene, or one with more around it
        zoom = rng.uniform(0.75, 1.35)
        moved = (moved - (w / 2, h / 2)) * zoom + (w / 2, h / 2) + rng.normal(0, 0.06, 2) * (w, h)
    k = size / max(w, h)
    out_w, out_h = round(w * k), round(h * k)
    matrix = cv2.getPerspectiveTransform(frame, (moved * k).astype(np.float32))
    border = (
        cv2.BORDER_REFLECT_101
        if rng.random() < 0.2
        else cv2.BORDER_CONSTANT
        if rng.random() < 0.4
        else cv2.BORDER_REPLICATE
    )
    if k < 0.7:
        picture = cv2.GaussianBlur(picture, (0, 0), 0.35 / k)
    tone = colour(rng, 0, 60) if rng.random() < 0.7 else colour(rng)
    seen = cv2.warpPerspective(
        picture, matrix, (out_w, out_h), borderMode=border, borderValue=[float(v) for v in tone]
    )
    placed = [cv2.perspectiveTransform(quad[None].astype(np.float32), matrix)[0] for quad in quads]
    smallest = min(
        (
            float(np.linalg.norm(q[3] - q[0]))
            for q, kind in zip(placed, kinds, strict=True)
            if kind == 1
        ),
        default=40.0,
    )
    shot = camera.shoot(rng, seen, float(np.clip(smallest / 36, 0.25, 1.2)), severity)
    out = np.full((size, size, 3), GREY, np.uint8)
    out[:out_h, :out_w] = shot
    kept, kept_kinds = [], []
    for quad, kind in zip(placed, kinds, strict=True):
        inside = np.clip(quad, 0, (out_w, out_h)).astype(np.float32)
        whole = max(1e-3, cv2.contourArea(quad))
        share, height = (
            cv2.contourArea(inside) / whole,
            float(np.linalg.norm(quad[3] - quad[0]) + np.linalg.norm(quad[2] - quad[1])) / 2,
        )
        if share < 0.05:
            continue
        kept.append(quad)
        kept_kinds.append(3 if share < 0.93 or height < 5 else kind)
    order = np.argsort(
        [0 if kind == 1 else 1 if kind == 3 else 2 for kind in kept_kinds], kind="stable"
    )[:MOST_QUADS]
    quads_out = np.zeros((MOST_QUADS, 4, 2), np.float32)
    kinds_out = np.zeros(MOST_QUADS, np.uint8)
    for slot, index in enumerate(order):
        quads_out[slot], kinds_out[slot] = kept[index], kept_kinds[index]
    return Scene(out, quads_out, kinds_out)
