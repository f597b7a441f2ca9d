"""The reader "nets": finds displays, brings each upright, and reads it in several views."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan, degrees

import numpy as np

from fieldnote.photo.doubts import digits_of
from fieldnote.photo.geometry import Place, cut
from fieldnote.photo.margins import minus_before, stroke_before
from fieldnote.photo.nets import (
    FRAME,
    LINE_HEIGHT,
    LINE_WIDTH,
    Lines,
    find_displays,
    read_lines,
    reader_nets,
)
from fieldnote.photo.picture import Pixels
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.reading import Reading
from fieldnote.photo.strings import greedy, probabilities
from fieldnote.photo.tints import change_of_colour
from fieldnote.photo.weighing import showable, weighed, worth

FIRST_MARGINS = (0.4, 0.4, 0.15, 0.15)
"""Left, right, above, below, in heights of the characters, of the first look at a place."""

SECOND_MARGINS = (2.2, 2.2, 0.15, 0.15)
"""Of the second look: wide enough for a digit that the first one cut off."""


@dataclass(frozen=True, slots=True)
class View:
    """How a display is cut out: margins in heights of its characters, a turn, a squeeze.

    turn: degrees clockwise. squeeze: of the width, 1.0 for none.
    """

    margins: tuple[float, float, float, float]
    turn: float = 0.0
    squeeze: float = 1.0

    def cut(self, pixels: Pixels, place: Place) -> Pixels:
        """The line as the reader net wants it."""
        wide = place.widened(*self.margins)
        width = round(wide.width / wide.height * LINE_HEIGHT * self.squeeze)
        turned = replace(wide, angle=wide.angle + self.turn)
        return cut(pixels, turned, min(LINE_WIDTH, max(16, width)), LINE_HEIGHT)


VIEWS = (
    View((0.40, 0.40, 0.15, 0.15)),
    View((0.30, 0.70, 0.12, 0.22)),
    View((0.35, 0.35, 0.12, 0.12), turn=2.0),
    View(SECOND_MARGINS),
    View((0.40, 0.40, 0.15, 0.15), squeeze=0.85),
    View((0.20, 0.20, 0.06, 0.06)),
    View((0.70, 0.30, 0.22, 0.12)),
    View((0.45, 0.45, 0.30, 0.30)),
    View((0.35, 0.35, 0.12, 0.12), turn=-2.0),
)
"""A sure reading does not hang on any one of them."""
FEWER_VIEWS = VIEWS[:5]
"""For displays beside the main one, and for unsure frames of a film."""
TRACKING = View((1.0, 1.0, 0.18, 0.18))
"""For the frames of a film: a digit that comes up beside the others is seen whole."""

_SURE_AT_ONCE = 0.97
"""Score from which a single view of a film's frame is enough."""
_SIDES = (384, 768)
"""px of the finder's input, quick and close."""
_LARGE, _SURE_PLACE, _SURE_LOOK = 24, 0.8, 0.8
"""px of the quick input, the finder's score and the reader's probability of a plain case."""
_MOST_FIRST, _MOST_READ = 10, 3
_WORTH_READING = 0.15
"""Share of the best first look's rank below which a place is not read in all views."""
_READS_ON_HEAD = frozenset("0125689")
_UPRIGHT = 45
"""Degrees; a display turned further may as well stand on its head, where 16 reads 91."""
_SEEN_UPRIGHT = 0.3
"""Probability of letters and digits the other way up from which a display is not on its head."""
_ON_HEAD = 0.7
"""Share of a place's score that it keeps when read against the finder's direction."""
_UNREAD = 0.4
"""Probability below which places are also read standing on their heads."""
_SURE_ALONE, _STROKE = 0.95, 0.5
"""A reading less sure than this is doubted where strokes this strong stand before it."""


@dataclass(frozen=True, slots=True)
class _Look:
    """A first look: the place, brought tight round the characters, and how it read.

    seen: probability of the text. What no display shows, such as "E0", is seen and yet unlikely.
    """

    place: Place
    text: str
    seen: float

    @property
    def probability(self) -> float:
        return self.seen if showable(self.text) else 0.1 * self.seen

    @property
    def fullness(self) -> float:
        """How much of a display it saw: more characters count, if they are likely at all."""
        likely = min(1.0, self.probability / 0.3) * (0.7 + 0.3 * self.probability)
        return float(len(self.text) * likely * self.place.score**0.5)

    @property
    def rank(self) -> float:
        return self.place.score * self.place.height * (0.05 + self.probability) * worth(self.text)


class NetReader:
    """Seven-segment, fourteen-segment and dot-matrix displays, in any direction."""

    name = "nets"

    @property
    def calibration(self) -> str:
        return "nets, one reader" if len(reader_nets()) == 1 else "nets, two readers"

    def read(self, pixels: Pixels, profile: DisplayProfile | None) -> list[Reading]:
        looks = _found(pixels)
        looks = [k for k in looks[:_MOST_READ] if k.rank >= _WORTH_READING * looks[0].rank]
        readings = []
        for i, look in enumerate(_second_looks(pixels, looks)):
            views = VIEWS if i == 0 else FEWER_VIEWS
            reading = _read(pixels, look.place, profile, views)
            if reading is not None:
                readings.append(reading)
        ranked = sorted(readings, key=lambda r: -r.rank)
        # Beside a reading a lone digit is a key or a mark, and would only be asked about.
        ranked[1:] = [r for r in ranked[1:] if len(digits_of(r.characters)) > 1]
        if ranked and ranked[0] is not readings[0]:
            # Not the one that looked best at first: it is read in all views too.
            full = _read(pixels, ranked[0].place, profile, VIEWS)
            ranked[0] = full if full is not None else ranked[0]
        if ranked:
            first = _of_one_colour(pixels, _way_up(pixels, ranked[0]))
            ranked[0] = _nothing_before(pixels, first)
        return ranked

    def read_at(
        self, pixels: Pixels, place: Place, profile: DisplayProfile | None
    ) -> Reading | None:
        cut_out = TRACKING.cut(pixels, place)
        seen = [read_lines([cut_out], net) for net in reader_nets()]
        text, frames = greedy(seen[0].characters[0])
        if not text:
            return None
        where = tightened(place.widened(*TRACKING.margins), seen[0], 0, text, frames)
        quick = weighed(seen, where, profile)
        if quick is None or quick.score < _SURE_AT_ONCE or quick.doubts:
            quick = _read(pixels, where, profile, FEWER_VIEWS)
        return None if quick is None else _no_minus_before(pixels, quick)


def _found(pixels: Pixels) -> list[_Look]:
    """First looks at the displays in the picture, the likeliest first.

    The finder looks closer only where its first, quick look leaves room for doubt.
    """
    coarse, fine = _SIDES
    longest = max(pixels.shape[:2])
    places = find_displays(pixels, coarse)
    looks = _first_looks(pixels, _apart(pixels, places))
    if fine >= 1.3 * longest or _plain(looks, coarse / longest):
        return looks
    return _first_looks(pixels, _apart(pixels, places + find_displays(pixels, fine)))


def _plain(looks: list[_Look], scale: float) -> bool:
    """Whether the best of these is a large display that reads well: no smaller one is meant.

    What could be a number on its head is looked at again.
    """
    if not looks:
        return False
    best = looks[0]
    large = best.place.height * scale >= _LARGE and best.place.score >= _SURE_PLACE
    well = best.probability >= _SURE_LOOK and len(digits_of(best.text)) >= 3
    return large and well and not _READS_ON_HEAD.issuperset(best.text)


def _apart(pixels: Pixels, places: list[Place]) -> list[Place]:
    """The most likely places, each once."""
    height, width = pixels.shape[:2]
    kept: list[Place] = []
    for place in sorted(places, key=lambda p: -p.score * p.height):
        if all(place.overlap(o) < 0.7 or abs(place.angle - o.angle) > 45 for o in kept):
            kept.append(place)
    if width > 1.4 * height:
        # Perhaps cropped to the display: the whole picture is one line, with or without margins.
        whole = replace(Place.whole(pixels), score=0.5)
        kept[:0] = [whole.widened(-0.3, -0.3, -0.12, -0.12)]
    return kept[:_MOST_FIRST]


def _first_looks(pixels: Pixels, places: list[Place]) -> list[_Look]:
    """Reads every place once, and once more on its head where it may be standing on it.

    The best place always is; but there a level reading wins, unless the other is plainly fuller.
    """
    looks = _look_at(pixels, places)
    nothing = max((look.probability for look in looks), default=0.0) < _UNREAD
    best_place = max(looks, key=lambda k: k.rank).place if looks else None
    on_head = [p.turned(180) for p in places[:4] if nothing or abs(p.angle) > _UPRIGHT]
    if best_place is not None and not nothing and abs(best_place.angle) <= _UPRIGHT:
        head = best_place.turned(180)
        on_head.append(replace(head, score=_ON_HEAD * head.score))
    turned = _look_at(pixels, on_head)
    kept: list[_Look] = []
    # Of two looks at the same display the one that saw more of it comes first.
    for look in sorted([*looks, *turned], key=lambda k: -k.fullness):
        if look.text and all(look.place.overlap(other.place) < 0.5 for other in kept):
            kept.append(look)
    return sorted(kept, key=lambda k: -k.rank)


def _way_up(pixels: Pixels, reading: Reading) -> Reading:
    """Doubts a reading that makes as good a number the other way up.

    The net sees a point only the right way up, where it stands on the digits' foot. Without one a
    level display is taken to stand upright.
    """
    (other,) = _look_at(pixels, [reading.place.turned(180)])
    on_head = abs((reading.place.angle + 180) % 360 - 180) > 90
    if other.text.replace(".", "") == "0L" and other.seen >= _SEEN_UPRIGHT:
        # Far more meters show OL than stand on their heads and show 70.
        doubts = (*reading.doubts, "which way up it stands: 70 or OL")
        seventy, overload = (reading.characters, reading.score), ("OL", other.seen)
        if on_head:
            return replace(
                reading, characters="OL", place=other.place, doubts=doubts,
                alternatives=(seventy, *reading.alternatives),
            )  # fmt: skip
        return replace(reading, doubts=doubts, alternatives=(overload, *reading.alternatives))
    if on_head and len(other.text) >= len(reading.characters) and other.seen >= _SEEN_UPRIGHT:
        return replace(reading, doubts=(*reading.doubts, "which way up it stands"))
    if other.probability < 0.4 * reading.score or other.text == reading.characters:
        return reading
    pointed, other_pointed = "." in reading.characters, "." in other.text
    level = abs(reading.place.angle) <= _UPRIGHT
    if (pointed and (level or not other_pointed)) or (level and not other_pointed):
        return reading
    return replace(reading, doubts=(*reading.doubts, "which way up it stands"))


def _nothing_before(pixels: Pixels, reading: Reading) -> Reading:
    """Doubts a reading where a minus stands far off, or where it is not quite sure and a first
    digit may have been missed."""
    if reading.score < _SURE_ALONE and stroke_before(pixels, reading.place) >= _STROKE:
        doubts = (*reading.doubts, "whether a digit stands before these")
        reading = replace(reading, doubts=doubts)
    return _no_minus_before(pixels, reading)


def _of_one_colour(pixels: Pixels, reading: Reading) -> Reading:
    """Doubts a whole number whose last digits have a colour of their own: tenths of a counter."""
    if reading.doubts or not reading.characters.isdigit():
        return reading
    line = VIEWS[0].cut(pixels, reading.place)
    lines = read_lines([line])
    text, frames = greedy(lines.characters[0])
    if text != reading.characters:
        return reading
    to_px = line.shape[1] / lines.widths[0]
    edges = (np.median(lines.top[0, frames]), np.median(lines.bottom[0, frames]))
    rows = (round(float(edges[0]) * line.shape[0]), round(float(edges[1]) * line.shape[0]))
    whole = change_of_colour(line, [(f + 0.5) * FRAME * to_px for f in frames], rows)
    if whole is None:
        return reading
    pointed = (f"{text[:whole]}.{text[whole:]}", reading.score)
    return replace(
        reading,
        doubts=(*reading.doubts, "whether the last digits, of another colour, are decimals"),
        alternatives=(pointed, *reading.alternatives),
    )


def _no_minus_before(pixels: Pixels, reading: Reading) -> Reading:
    signed = reading.characters.startswith("-") or not digits_of(reading.characters).isdigit()
    if signed or not minus_before(pixels, reading.place):
        return reading
    negative = ("-" + reading.characters, reading.score)
    return replace(
        reading,
        doubts=(*reading.doubts, "the sign"),
        alternatives=(negative, *reading.alternatives),
    )


def _second_looks(pixels: Pixels, looks: list[_Look]) -> list[_Look]:
    """Looks again with more room at the sides: a digit that was cut off comes in."""
    again = _look_at(pixels, [look.place for look in looks], SECOND_MARGINS)
    better = []
    for before, after in zip(looks, again, strict=True):
        grown = before.text in after.text and after.probability > 0.2
        better.append(after if grown or after.probability > before.probability else before)
    return better


def _look_at(
    pixels: Pixels,
    places: list[Place],
    margins: tuple[float, float, float, float] = FIRST_MARGINS,
) -> list[_Look]:
    if not places:
        return []
    view = View(margins)
    wide = [place.widened(*margins) for place in places]
    lines = read_lines([view.cut(pixels, place) for place in places])
    looks = []
    for i, (place, margin) in enumerate(zip(places, wide, strict=True)):
        text, frames = greedy(lines.characters[i])
        if not text:
            looks.append(_Look(place, "", 0.0))
            continue
        chance = float(probabilities(lines.characters[i : i + 1], [text])[0, 0])
        looks.append(_Look(tightened(margin, lines, i, text, frames), text, chance))
    return looks


def tightened(place: Place, lines: Lines, i: int, text: str, frames: list[int]) -> Place:
    """The cut `place`, brought tight round the characters that line `i` shows in it."""
    used = lines.widths[i]
    xs = (np.array(frames) + 0.5) * FRAME / used
    digits = [k for k, c in enumerate(text) if c.isdigit()]
    if not digits:
        return place
    at = [frames[k] for k in digits]
    tops, bottoms = lines.top[i, at], lines.bottom[i, at]
    height = float(np.median(bottoms - tops))
    if not 0.25 < height < 1.6:
        return place
    slope = 0.0
    if len(digits) >= 3 and np.ptp(xs[digits]) > 0.2:
        slope = float(
            (np.polyfit(xs[digits], tops, 1)[0] + np.polyfit(xs[digits], bottoms, 1)[0]) / 2
        )
    middle = float(np.median((tops + bottoms) / 2 - slope * (xs[digits] - 0.5)))
    half = 0.36 * height * place.height / place.width
    left, right = float(xs[0] - half), float(xs[-1] + half)
    part = place.part(left, right)
    drop = (middle - 0.5 + slope * ((left + right) / 2 - 0.5)) * place.height
    turn = np.deg2rad(place.angle)
    return replace(
        part,
        x=part.x - float(np.sin(turn)) * drop,
        y=part.y + float(np.cos(turn)) * drop,
        height=height * place.height,
        angle=place.angle + degrees(atan(slope * place.height / place.width)),
    )


def _read(
    pixels: Pixels, place: Place, profile: DisplayProfile | None, views: Sequence[View]
) -> Reading | None:
    """Reads one tight place in several views, by every reader net, and weighs whole strings."""
    cuts = [view.cut(pixels, place) for view in views]
    return weighed([read_lines(cuts, net) for net in reader_nets()], place, profile)
