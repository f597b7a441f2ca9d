"""Weighs whole strings against what the reader nets saw in several views of one display."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from fieldnote.photo.doubts import doubts_of
from fieldnote.photo.geometry import Place
from fieldnote.photo.nets import Lines
from fieldnote.photo.profile import DisplayProfile
from fieldnote.photo.reading import Reading
from fieldnote.photo.strings import candidates, probabilities

_SHOWABLE = re.compile(
    r"-?[0-9]*\.?[0-9]+\.?|-{2,6}|-?0\.?L\.?|Err|Lo|Hi|[0-9]{1,2}:[0-9]{2}(:[0-9]{2})?"
)
"""What displays show: a number, dashes, over-limit, three words, a time of day."""


def weighed(seen: Sequence[Lines], place: Place, profile: DisplayProfile | None) -> Reading | None:
    """The likeliest string, with its rivals and doubts; None where nothing reads.

    seen: what each reader net says of the same views.
    """
    strings = candidates(np.concatenate([lines.characters for lines in seen]))
    strings = [s for s in strings if showable(s)]
    if profile is not None:
        strings = [s for s in strings if profile.allows(_shown(s))]
    if not strings:
        return None
    each = [_chances(lines, strings) for lines in seen]
    chances = np.mean(each, axis=0)
    order = np.argsort(chances)[::-1]
    best, chance = strings[order[0]], float(chances[order[0]])
    ranked = [(_shown(strings[k]), float(chances[k])) for k in order]
    others = dict(ranked[1:6])
    differ = []
    for of_one in each:
        favourite = _shown(strings[int(np.argmax(of_one))])
        if favourite != _shown(best):
            differ.append(f"two readers differ, {_shown(best)} or {favourite}")
            others = {favourite: dict(ranked)[favourite], **others}
    return Reading(
        characters=_shown(best),
        score=chance,
        place=place,
        alternatives=tuple(others.items()),
        doubts=(*doubts_of(seen, best, ranked), *differ),
        rank=place.score * place.height * (0.05 + chance) * worth(best),
    )


def showable(string: str) -> bool:
    """Whether a display shows such a thing."""
    return _SHOWABLE.fullmatch(string) is not None


def worth(text: str) -> float:
    """A lone digit is mostly a key, a mark or a part of something; three are a display."""
    count = len(text.replace(".", "").replace("-", ""))
    return float(min(1.0, (count / 3) ** 1.5)) if ":" not in text else 0.1


def _chances(lines: Lines, strings: Sequence[str]) -> npt.NDArray[np.float64]:
    """(strings,): how likely one reader net finds each, over its views."""
    chances = probabilities(lines.characters, strings).mean(axis=0)
    dashes = [k for k, string in enumerate(strings) if set(string) == {"-"}]
    if dashes:  # how many of them does not matter
        chances[max(dashes, key=lambda k: chances[k])] = chances[dashes].sum()
    return np.asarray(chances, np.float64)


def _shown(string: str) -> str:
    """ "0L" as nets spell it is the "OL" that people read."""
    return "OL" if string.replace(".", "").lstrip("-") == "0L" else string
