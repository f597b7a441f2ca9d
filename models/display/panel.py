"""A display panel as it looks face on: lines of characters, annunciators, glass, bezel and a strip
of the body."""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np

from models.display import glyphs, text


@dataclass(slots=True)
class Marked:
    """A text on the panel. quad: (4, 2) corners in px, top-left first, clockwise as read.

    boxes: (n, 4) boxes of the characters, as in `glyphs.Line`; empty for units and words.
    """

    text: str
    quad: np.ndarray
    boxes: np.ndarray = field(default_factory=lambda: np.zeros((0, 4), np.float32))


@dataclass(slots=True)
class Panel:
    """picture: float32 (height, width, 3) RGB in 0..255. glass: left, top, right, bottom of the
    display in it."""

    picture: np.ndarray
    glass: tuple[int, int, int, int]
    readings: list[Marked]
    units: list[Marked]


@dataclass(slots=True)
class Ink:
    """Colours of one panel: background, lit parts and ghosts (float32 RGB), and whether it
    glows."""

    ground: np.ndarray
    lit: np.ndarray
    ghost: float
    glows: bool


def colour(rng: np.random.Generator, low: float = 0, high: float = 255) -> np.ndarray:
    return rng.uniform(low, high, 3).astype(np.float32)


def body_colour(rng: np.random.Generator) -> np.ndarray:
    """Colour of a housing or a wall: mostly greys, blacks and whites with a tint."""
    if rng.random() < 0.3:
        return colour(rng)
    return np.clip(
        rng.choice([rng.uniform(5, 70), rng.uniform(60, 190), rng.uniform(180, 250)])
        + rng.normal(0, 12, 3),
        0,
        255,
    ).astype(np.float32)


def swell(rng: np.random.Generator, height: int, width: int, cells: int = 4) -> np.ndarray:
    """A smooth random field (height, width), about unit variance: light, stains, shadows."""
    coarse = rng.normal(
        size=(int(rng.integers(2, cells + 1)), int(rng.integers(2, cells + 2)))
    ).astype(np.float32)
    return cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)


LCD_GROUNDS = np.array(
    [
        (120, 130, 110),
        (150, 160, 130),
        (190, 200, 190),
        (225, 228, 225),
        (160, 190, 90),
        (90, 200, 60),
        (30, 190, 50),
        (20, 150, 60),
        (240, 150, 40),
        (220, 120, 30),
        (200, 100, 60),
        (100, 220, 200),
        (60, 200, 230),
        (150, 190, 240),
        (90, 110, 220),
        (110, 110, 105),
        (70, 75, 70),
        (180, 170, 140),
        (255, 240, 190),
        (140, 70, 45),
    ],
    np.float32,
)
LED_COLOURS = np.array(
    [
        (255, 30, 20),
        (255, 60, 50),
        (60, 255, 60),
        (130, 255, 40),
        (255, 170, 40),
        (255, 120, 20),
        (60, 120, 255),
        (230, 240, 255),
        (60, 230, 255),
        (255, 255, 255),
    ],
    np.float32,
)


def ink(rng: np.random.Generator, lcd: bool = False) -> Ink:
    """Colours of an LCD (dark on light, or light on dark), an LED or a TFT panel."""
    kind = 0.0 if lcd else rng.random()
    if kind < 0.66:
        ground = LCD_GROUNDS[rng.integers(len(LCD_GROUNDS))] * rng.uniform(0.45, 1.1) + rng.normal(
            0, 14, 3
        )
        if lcd and rng.random() < 0.55:  # a coloured light behind it, as utility meters have
            backlight = np.float32([[[rng.uniform(0, 360), rng.uniform(0.45, 1), 255]]])
            ground = cv2.cvtColor(backlight, cv2.COLOR_HSV2RGB)[0, 0] * rng.uniform(0.6, 1.1)
        ground = np.clip(ground, 8, 255).astype(np.float32)
        contrast = rng.uniform(0.16, 0.45) if rng.random() < 0.34 else rng.uniform(0.45, 0.97)
        tint = colour(rng, -14, 20)
        lit = np.clip(
            ground * (1 - contrast) + tint * (1 - contrast) + rng.choice([0, 1]) * tint, 0, 255
        )
        ghost = float(
            rng.choice(
                [0.0, rng.uniform(0.02, 0.14), rng.uniform(0.12, 0.42)], p=[0.35, 0.42, 0.23]
            )
        )
        return Ink(ground, lit, ghost, False)
    if kind < 0.74:  # light on dark glass
        ground = colour(rng, 0, 60) + rng.choice([0.0, 1.0]) * np.array(
            [0, 20, rng.uniform(40, 160)], np.float32
        )
        lit = np.clip(ground + rng.uniform(70, 220) + colour(rng, -20, 20), 0, 255)
        return Ink(
            ground.astype(np.float32), lit, float(rng.choice([0.0, rng.uniform(0.02, 0.3)])), False
        )
    if kind < 0.94:
        lit = np.clip(
            LED_COLOURS[rng.integers(len(LED_COLOURS))] * rng.uniform(0.7, 1.0)
            + rng.uniform(0, 50),
            0,
            255,
        )
        ground = colour(rng, 2, 34) + (lit * rng.uniform(0.05, 0.32) if rng.random() < 0.3 else 0)
        ghost = float(
            rng.choice([0.0, rng.uniform(0.03, 0.2), rng.uniform(0.2, 0.5)], p=[0.4, 0.3, 0.3])
        )
        return Ink(ground.astype(np.float32), lit, ghost, True)
    ground = colour(rng)
    lit = colour(rng)
    while abs(float(lit.mean() - ground.mean())) < 50:
        lit = colour(rng)
    return Ink(ground, lit, 0.0, False)


def _stamp(canvas: np.ndarray, mask: np.ndarray, x: int, y: int, gain: float = 1.0) -> None:
    """Lay a mask on a canvas at (x, y), the brighter of both, cut at the edges."""
    h, w = mask.shape
    x0, y0, x1, y1 = max(0, x), max(0, y), min(canvas.shape[1], x + w), min(canvas.shape[0], y + h)
    if x1 > x0 and y1 > y0:
        view = canvas[y0:y1, x0:x1]
        np.maximum(view, mask[y0 - y : y1 - y, x0 - x : x1 - x] * gain, out=view)


def paint(
    picture: np.ndarray,
    mask: np.ndarray,
    x: float,
    y: float,
    paint_colour: np.ndarray,
    strength: float = 1.0,
) -> None:
    """Blend a mask in one colour onto an RGB picture at (x, y), cut at the edges."""
    h, w = mask.shape
    x, y = int(x), int(y)
    x0, y0, x1, y1 = (
        max(0, x),
        max(0, y),
        min(picture.shape[1], x + w),
        min(picture.shape[0], y + h),
    )
    if x1 > x0 and y1 > y0:
        alpha = mask[y0 - y : y1 - y, x0 - x : x1 - x, None] * strength
        view = picture[y0:y1, x0:x1]
        view += alpha * (paint_colour - view)


def printed(rng: np.random.Generator, words: str, height: float) -> np.ndarray:
    fonts = glyphs.print_fonts()
    return glyphs.text_mask(fonts[int(rng.integers(len(fonts)))], words, height)


def _quad(left: float, top: float, right: float, bottom: float) -> np.ndarray:
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)], np.float32)


def _symbol(rng: np.random.Generator, size: int) -> np.ndarray:
    """A battery, an arrow, a bolt, a bar graph: signs on displays that are neither digits nor
    letters."""
    mask = np.zeros((size + 2, size * 4 + 2), np.float32)
    kind = int(rng.integers(5))
    s = float(size)
    if kind == 0:
        cv2.rectangle(
            mask, (1, int(s * 0.25)), (int(s * 1.3), int(s * 0.85)), 1.0, max(1, size // 9)
        )
        cv2.rectangle(mask, (int(s * 1.3), int(s * 0.4)), (int(s * 1.45), int(s * 0.7)), 1.0, -1)
        cv2.rectangle(
            mask, (3, int(s * 0.35)), (int(s * rng.uniform(0.3, 1.2)), int(s * 0.75)), 1.0, -1
        )
    elif kind == 1:
        points = np.array([(0.1, 0.2), (0.9, 0.5), (0.1, 0.8)]) * s
        cv2.fillPoly(mask, [np.int32(points)], 1.0, cv2.LINE_AA)
    elif kind == 2:
        points = (
            np.array(
                [
                    (0.5, 0.0),
                    (0.2, 0.55),
                    (0.45, 0.55),
                    (0.3, 1.0),
                    (0.8, 0.4),
                    (0.5, 0.4),
                    (0.7, 0.0),
                ]
            )
            * s
        )
        cv2.fillPoly(mask, [np.int32(points)], 1.0, cv2.LINE_AA)
    elif kind == 3:
        bars, on = int(rng.integers(6, 24)), int(rng.integers(1, 24))
        step = s * 4 / bars
        for bar in range(bars):
            if bar < on or bar % 5 == 0:
                tall = 1.0 if bar < on else 0.5
                cv2.rectangle(
                    mask,
                    (int(bar * step), int(s * (1 - 0.8 * tall))),
                    (int(bar * step + step * 0.6), size),
                    1.0,
                    -1,
                )
    else:
        cv2.circle(
            mask,
            (size // 2, size // 2),
            max(2, size // 2 - 1),
            1.0,
            -1 if rng.random() < 0.4 else max(1, size // 10),
            cv2.LINE_AA,
        )
    return mask


class _Layout:
    """Lines and signs laid out round the main line, in px with the main line's cell at the
    origin."""

    def __init__(self, rng: np.random.Generator, height: float) -> None:
        self.rng, self.height = rng, height
        self.items: list[tuple[np.ndarray, np.ndarray | None, int, int, float]] = []
        self.readings: list[Marked] = []
        self.units: list[Marked] = []
        self.x0 = self.y0 = np.inf
        self.x1 = self.y1 = -np.inf

    def place(
        self,
        line: glyphs.Line,
        x: float,
        y: float,
        reading: bool,
        unit: bool = False,
        gain: float = 1.0,
    ) -> None:
        """Put a line's ink box with its top left at (x, y)."""
        ox, oy = round(x - line.extent[0]), round(y - line.extent[1])
        self.items.append((line.lit, line.ghost, ox, oy, gain))
        left, top, right, bottom = line.extent + np.array((ox, oy, ox, oy))
        self._grow(left, top, right, bottom)
        marked = Marked(
            line.text, _quad(left, top, right, bottom), line.boxes + np.array((ox, oy, ox, oy))
        )
        if reading:
            self.readings.append(marked)
        elif unit:
            self.units.append(marked)

    def sign(
        self, mask: np.ndarray, x: float, y: float, words: str | None, gain: float = 1.0
    ) -> None:
        ox, oy = round(x), round(y)
        self.items.append((mask, None, ox, oy, gain))
        h, w = mask.shape
        self._grow(ox, oy, ox + w, oy + h)
        if words:
            self.units.append(Marked(words, _quad(ox, oy, ox + w, oy + h)))

    def _grow(self, left: float, top: float, right: float, bottom: float) -> None:
        self.x0, self.y0 = min(self.x0, left), min(self.y0, top)
        self.x1, self.y1 = max(self.x1, right), max(self.y1, bottom)


def _beside(rng: np.random.Generator, layout: _Layout, main: Marked, h: float) -> None:
    """A unit at the right of the line: printed letters, or segments of the display's own."""
    words, _ = text.annunciator(rng)
    size = h * rng.uniform(0.16, 0.62)
    right, top, bottom = main.quad[1, 0], main.quad[0, 1], main.quad[3, 1]
    x = right + h * rng.uniform(0.06, 0.5)
    y = float(rng.choice([top, (top + bottom - size) / 2, bottom - size])) + h * rng.uniform(
        -0.06, 0.06
    )
    tail = main.boxes[-1] if len(main.boxes) else None
    if (
        tail is not None
        and tail[3] - tail[1] < 0.75 * h
        and tail[1] > top + 0.2 * h
        and rng.random() < 0.6
    ):
        size = min(size, (tail[1] - top) * rng.uniform(0.6, 0.95))  # over the small decimals
        mask = printed(rng, words, size)
        layout.sign(
            mask, tail[0] + h * rng.uniform(-0.1, 0.3), top + h * rng.uniform(-0.06, 0.06), words
        )
        return
    if rng.random() < 0.25:  # a degree sign and a letter in segments
        letter = glyphs.drawn_segments(
            rng, str(rng.choice(["C", "F", "c", "H", "A", "P", "n", "b"])), size * 1.2
        )
        if rng.random() < 0.6:
            ring = np.zeros((int(size * 0.5) + 3, int(size * 0.5) + 3), np.float32)
            cv2.circle(
                ring,
                (ring.shape[1] // 2, ring.shape[0] // 2),
                int(size * 0.2),
                1.0,
                max(1, int(size * 0.09)),
                cv2.LINE_AA,
            )
            layout.sign(ring, x, y, None)
            x += ring.shape[1]
        layout.place(letter, x, y, reading=False, unit=True)
        return
    layout.sign(printed(rng, words, size), x, y, words)


def panel(
    rng: np.random.Generator,
    height: float = 56,
    surround: float = 1.0,
    meter: bool = False,
    word: str | None = None,
) -> Panel:
    """A panel whose main line has digits `height` px tall; `surround` scales how much bezel and
    body comes along. A `meter` is a utility meter's LCD. A `word` stands in the main
    line's place, if given."""
    h = height
    if not (meter or word) and rng.random() < 0.035:
        return drums(rng, h, surround)
    layout = _Layout(rng, h)
    main_text = text.meter(rng) if meter else text.reading(rng)
    if word:
        main_line = glyphs.word(rng, word, h)
    elif meter:
        main_line = glyphs.drawn_segments(rng, main_text, h)
    else:
        main_line = glyphs.line(rng, main_text, h)
    layout.place(main_line, 0, 0, reading=True)
    main = layout.readings[0]
    wide = main.quad[1, 0]
    if rng.random() < 0.6:
        _beside(rng, layout, main, h)
    for below in (True, False):
        if rng.random() > (0.36 if below else 0.2):
            continue
        size = h * float(
            rng.choice([rng.uniform(0.3, 0.8), rng.uniform(0.85, 1.1)], p=[0.55, 0.45])
        )
        gap = h * rng.uniform(0.1, 0.7)
        if rng.random() < 0.75:
            second = glyphs.line(rng, text.reading(rng), size)
            reading = True
        else:
            second = glyphs.word(rng, str(rng.choice(text.UNITS + text.STATES_SHOWN)), size * 0.8)
            reading = False
        length = second.extent[2] - second.extent[0]
        x = float(rng.choice([0.0, wide - length, (wide - length) * rng.uniform(-0.2, 1.2)]))
        y = h + gap if below else -gap - (second.extent[3] - second.extent[1])
        layout.place(second, x, y, reading=reading, unit=not reading)
        if reading and rng.random() < 0.35:
            _beside(rng, layout, layout.readings[-1], size)
        if reading and rng.random() < 0.25:  # two groups in one row, as clock and humidity
            third = glyphs.line(rng, text.reading(rng), size * rng.uniform(0.5, 1.0))
            layout.place(
                third,
                x - (third.extent[2] - third.extent[0]) - h * rng.uniform(0.4, 0.9),
                y,
                reading=True,
            )
    for _ in range(int(rng.choice([0, 1, 2, 3, 5], p=[0.34, 0.28, 0.18, 0.12, 0.08]))):
        size = h * rng.uniform(0.12, 0.34)
        over = rng.random() < 0.55
        y = (
            layout.y0 - size * rng.uniform(1.2, 2.0)
            if over
            else layout.y1 + size * rng.uniform(0.2, 1.0)
        )
        x = rng.uniform(-0.1, 1.0) * wide
        gain = rng.choice(
            [1.0, rng.uniform(0.05, 0.4)], p=[0.8, 0.2]
        )  # a faint one is an unlit annunciator
        if rng.random() < 0.3:
            layout.sign(_symbol(rng, max(5, int(size))), x, y, None, gain)
        else:
            words, _ = text.annunciator(rng)
            layout.sign(printed(rng, words, size), x, y, words if gain == 1.0 else None, gain)
    if rng.random() < 0.06:  # a minus or low-battery sign in front, on its own
        layout.sign(_symbol(rng, max(5, int(h * 0.3))), -h * rng.uniform(1.4, 2.2), h * 0.3, None)
    return _compose(rng, layout, h, surround, ink(rng, meter))


def drums(rng: np.random.Generator, height: float, surround: float) -> Panel:
    """A counter of rolling drums behind windows, its decimals often red."""
    h = height
    shown = text.meter(rng)
    whole, _, decimals = shown.partition(".")
    fonts = glyphs.print_fonts()
    font = fonts[int(rng.integers(len(fonts)))]
    cell_w, cell_h = h * rng.uniform(0.72, 1.05), h * rng.uniform(1.15, 1.7)
    gap = cell_w * rng.choice([0.0, rng.uniform(0.02, 0.3)])
    point = h * rng.uniform(0.12, 0.3) if decimals else 0.0
    rim = [h * (0.15 + surround * value) for value in rng.gamma(1.4, 0.3, 4)]
    count = len(whole) + len(decimals)
    width, tall = (
        int(rim[0] + rim[2] + count * (cell_w + gap) + point + h * 0.2),
        int(rim[1] + rim[3] + cell_h),
    )
    picture = np.empty((tall, width, 3), np.float32)
    picture[:] = body_colour(rng)
    dark = np.full(3, rng.uniform(5, 70), np.float32) + colour(rng, 0, 14)
    light = np.full(3, rng.uniform(170, 250), np.float32) + colour(rng, -14, 14)
    red = np.array([rng.uniform(150, 230), rng.uniform(10, 60), rng.uniform(10, 60)], np.float32)
    ground, lit = (dark, light) if rng.random() < 0.75 else (light, dark)
    red_drum = rng.random() < 0.5
    roll = rng.uniform(-0.22, 0.22) if rng.random() < 0.5 else 0.0
    x, top, boxes = rim[0], rim[1], []
    for index, digit in enumerate(whole + decimals):
        if decimals and index == len(whole):
            size = max(2, int(point * 0.6))
            spot = np.zeros((size * 2, size + 2), np.float32)
            cv2.circle(
                spot, (size // 2 + 1, size // 2 + 1), max(1, size // 2), 1.0, -1, cv2.LINE_AA
            )
            y, middle = top + cell_h - size * 1.3, x + (point - gap) / 2
            shade = light if picture[0, 0].mean() < 120 else dark
            paint(picture, spot, middle - size / 2 - 1, y, shade)
            boxes.append((middle - size / 2, y, middle + size / 2, y + size))
            x += point
        drum, figure = ground, lit
        if decimals and index >= len(whole):
            drum, figure = (red, light) if red_drum else (ground, red)
        window = np.ones((int(cell_h), int(cell_w), 1), np.float32) * drum
        turned = roll if index == count - 1 else 0.0
        for step in (-1, 0, 1):
            mask = glyphs.text_mask(font, str((int(digit) + step) % 10), h)
            y = (cell_h - h) / 2 + (step + turned) * cell_h * 0.95
            paint(window, mask, (cell_w - mask.shape[1]) / 2, y, figure)
        if rng.random() < 0.6:  # the drum's curve
            arc = np.sin(np.linspace(0.25, np.pi - 0.25, window.shape[0]))
            window *= (0.45 + 0.55 * arc)[:, None, None].astype(np.float32)
        picture[int(top) : int(top) + window.shape[0], int(x) : int(x) + window.shape[1]] = window
        y = top + (cell_h - h) / 2
        boxes.append((x + cell_w * 0.1, y, x + cell_w * 0.9, y + h))
        x += cell_w + gap
    foot = top + (cell_h + h) / 2
    marked = Marked(shown, _quad(rim[0], foot - h, x - gap, foot), np.array(boxes, np.float32))
    units = []
    words = str(rng.choice(["m³", "kWh", "l", "m"]))
    sign = printed(rng, words, h * rng.uniform(0.3, 0.6))
    if x + sign.shape[1] < width:
        paint(picture, sign, x, foot - sign.shape[0], light if picture[0, 0].mean() < 120 else dark)
        units.append(Marked(words, _quad(x, foot - sign.shape[0], x + sign.shape[1], foot)))
    glass = (int(rim[0] - h * 0.1), int(top), int(x + h * 0.1), int(top + cell_h))
    _captions(rng, picture, glass, h, np.ones(picture.shape[:2], np.float32), 2)
    return Panel(picture, glass, [marked], units)


def _compose(
    rng: np.random.Generator, layout: _Layout, h: float, surround: float, inks: Ink
) -> Panel:
    pad = [
        int(h * value) for value in rng.gamma(1.5, 0.22, 4) + 0.06
    ]  # left, top, right, bottom, glass
    if rng.random() < 0.3:
        pad[0] += int(h * rng.uniform(0.3, 2.5))
    rim = [int(h * surround * value) for value in rng.gamma(1.4, 0.3, 4)]
    ox = pad[0] + rim[0] - int(layout.x0)
    oy = pad[1] + rim[1] - int(layout.y0)
    width = ox + int(layout.x1) + pad[2] + rim[2]
    height = oy + int(layout.y1) + pad[3] + rim[3]
    lit, ghost = np.zeros((height, width), np.float32), np.zeros((height, width), np.float32)
    for mask, shadow, x, y, gain in layout.items:
        _stamp(lit, mask, ox + x, oy + y, gain)
        _stamp(ghost, mask if shadow is None else shadow, ox + x, oy + y)
    glass = (rim[0], rim[1], width - rim[2], height - rim[3])
    picture = _coloured(rng, lit, ghost, inks, h)
    _frame(rng, picture, glass, h)
    shift = np.array([ox, oy], np.float32)
    for marked in layout.readings + layout.units:
        marked.quad = marked.quad + shift
        marked.boxes = marked.boxes + np.tile(shift, 2)
    return Panel(picture, glass, layout.readings, layout.units)


def _coloured(
    rng: np.random.Generator, lit: np.ndarray, ghost: np.ndarray, inks: Ink, h: float
) -> np.ndarray:
    height, width = lit.shape
    picture = np.empty((height, width, 3), np.float32)
    picture[:] = inks.ground
    if rng.random() < 0.35:  # uneven backlight
        picture *= (1 + rng.uniform(0.05, 0.35) * swell(rng, height, width, 3))[..., None]
    step = inks.lit - inks.ground
    if inks.ghost > 0:
        picture += (ghost * inks.ghost)[..., None] * step
    if not inks.glows and rng.random() < 0.3:  # the segments' shadow on the reflector behind them
        away = cv2.warpAffine(
            lit,
            np.float32([[1, 0, rng.uniform(-0.09, 0.09) * h], [0, 1, rng.uniform(0.01, 0.09) * h]]),
            (width, height),
        )
        picture *= (
            1
            - rng.uniform(0.08, 0.35) * cv2.GaussianBlur(away, (0, 0), h * rng.uniform(0.01, 0.05))
        )[..., None]
    if rng.random() < 0.2:  # viewing angle or multiplex: some columns or rows weaker
        along = (
            np.linspace(1, rng.uniform(0.2, 1), width)
            if rng.random() < 0.6
            else np.linspace(1, rng.uniform(0.5, 1), height)[:, None]
        )
        lit = lit * (
            along if rng.random() < 0.5 else along[::-1] if along.ndim == 2 else along[None, ::-1]
        ).astype(np.float32)
    if (
        inks.glows and rng.random() < 0.15
    ):  # rolling multiplex: a band of the picture caught between refreshes
        position, deep = rng.uniform(0, width), rng.uniform(0.3, 0.75)
        dim = 1 - deep * np.exp(
            -(((np.arange(width) - position) / (h * rng.uniform(0.2, 1.2))) ** 2)
        )
        lit = lit * dim.astype(np.float32)
    picture += lit[..., None] * (inks.lit - picture if not inks.glows else step)
    if inks.glows and rng.random() < 0.85:
        halo = cv2.GaussianBlur(lit, (0, 0), h * rng.uniform(0.05, 0.2))
        picture += halo[..., None] * inks.lit * rng.uniform(0.15, 0.9)
        if rng.random() < 0.45:  # burnt-out cores
            core = cv2.GaussianBlur(lit, (0, 0), h * 0.02)
            picture += (core * core * core)[..., None] * rng.uniform(40, 255)
    return picture


def _frame(
    rng: np.random.Generator, picture: np.ndarray, glass: tuple[int, int, int, int], h: float
) -> None:
    """Bezel and body round the glass, with captions on them."""
    height, width = picture.shape[:2]
    left, top, right, bottom = glass
    outside = np.ones((height, width), np.float32)
    cv2.rectangle(outside, (left, top), (right - 1, bottom - 1), 0.0, -1)
    if rng.random() < 0.4:  # rounded corners
        inside = cv2.GaussianBlur(1 - outside, (0, 0), max(0.5, h * rng.uniform(0.03, 0.12)))
        outside = np.clip((0.5 - inside) * 8 + 0.5, 0, 1).astype(np.float32)
    body = body_colour(rng)
    picture += outside[..., None] * (body - picture)
    if rng.random() < 0.5:  # a rim of another colour, or the bezel's shadow on the glass
        thick = max(1, int(h * rng.uniform(0.02, 0.16)))
        rim_colour = [
            float(value)
            for value in (colour(rng) if rng.random() < 0.5 else np.full(3, rng.uniform(0, 90)))
        ]
        cv2.rectangle(picture, (left, top), (right - 1, bottom - 1), rim_colour, thick)
    if rng.random() < 0.3:
        deep = max(2, int(h * rng.uniform(0.05, 0.4)))
        picture[top : top + deep, left:right] *= np.linspace(rng.uniform(0.4, 0.9), 1, deep)[
            : max(0, min(deep, height - top)), None, None
        ]
    _captions(
        rng, picture, glass, h, outside, int(rng.choice([0, 1, 2, 3], p=[0.35, 0.3, 0.2, 0.15]))
    )


def _captions(
    rng: np.random.Generator,
    picture: np.ndarray,
    glass: tuple[int, int, int, int],
    h: float,
    outside: np.ndarray,
    count: int,
) -> None:
    """Printed captions above and below the glass, where `outside` is 1."""
    width, body = picture.shape[1], picture[0, 0].mean()
    _, top, _, bottom = glass
    for _ in range(count):
        words = text.caption(rng)
        mask = printed(
            rng, words, h * (rng.uniform(0.2, 0.7) if rng.random() < 0.8 else rng.uniform(0.6, 1.1))
        )
        spare = bottom + h * 0.1 if rng.random() < 0.6 else top - mask.shape[0] - h * 0.1
        x, y = int(rng.uniform(0, max(1, width - mask.shape[1]))), int(spare)
        shade = (
            np.full(3, 235 if body < 120 else 20, np.float32) if rng.random() < 0.7 else colour(rng)
        )
        rows, columns = slice(max(0, y), max(0, y + mask.shape[0])), slice(x, x + mask.shape[1])
        kept = outside[rows, columns]
        clear = mask[max(0, -y) : max(0, -y) + kept.shape[0], : kept.shape[1]] * kept
        paint(picture, clear, x, max(0, y), shade)
