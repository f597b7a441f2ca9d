"""How surely the engines stand behind the likeliest meaning: whether they agree, and on what."""

from __future__ import annotations

from collections.abc import Mapping

from fieldnote.language import Entry
from fieldnote.language.vocabulary import TEENS, TENS
from fieldnote.session.confirm import Support
from fieldnote.speech.fusion import FREE, Opinion
from fieldnote.speech.vosk import UNKNOWN

CLOSE = -0.5
"""Log-probability a word above which a phone net is content with a sentence. What came through
in 25 minutes of talk and was strange to vosk fitted both of our nets no better than -0.98."""

BARE_FIT = -1.5
"""The same, below which a number without a unit is not stored: talk is full of numbers ("no, they
close at fifteen"), and those who note one say nothing around it."""

TENS_OF: Mapping[str, str] = {
    teen: ten
    for teen, amount in TEENS.items()
    for ten, tens in TENS.items()
    if tens == 10 * (amount - 10)
}
"""thirteen → thirty: in noise a weak "n" at the end is what tells them apart."""

UNLIKELY = -8.0
"""Log odds below the likeliest candidate from which a teen counts no more."""


def support_of(entry: Entry, opinion: Opinion) -> Support:
    """How the engines stand to the likeliest meaning, which is entry."""
    engines = len(opinion.favourites)
    if any(strange(one.text) for one in opinion.hypotheses) and not fits_closely(opinion):
        return Support.STRANGE
    if entry.kind == "bare" and worst_fit(opinion) < BARE_FIT:
        return Support.STRANGE
    if engines < 2:
        return Support.ALONE
    if may_be_a_teen(opinion):
        return Support.TWIN
    if opinion.supporters == engines:
        return Support.AGREED
    return Support.MOST if opinion.supporters > engines / 2 else Support.DISPUTED


def strange(sentence: str) -> bool:
    """Whether an engine heard something in it that is no word of the vocabulary."""
    return UNKNOWN in sentence.split()


def fits_closely(opinion: Opinion) -> bool:
    """Whether two phone nets or more heard just what the likeliest candidate says.

    Then what is strange is only the ear of the engine that found it so. A single word is too short
    to tell.
    """
    best = opinion.candidates[0]
    nets = best.fits.keys() - FREE
    return len(nets) > 1 and worst_fit(opinion) > CLOSE and len(best.sentence.split()) > 1


def worst_fit(opinion: Opinion) -> float:
    """Of the likeliest candidate, the fit of the phone net that is least content; 0 without one."""
    fits = opinion.candidates[0].fits.items()
    return min((fit for name, fit in fits if name not in FREE), default=0.0)


def may_be_a_teen(opinion: Opinion) -> bool:
    """Whether the likeliest candidate has a ten where another one has its teen.

    In noise all nets alike lose the "n" at the end of some teens; they seldom make one up.
    """
    likely = (one.sentence.split() for one in opinion.candidates if one.odds > UNLIKELY)
    first, *others = likely
    return any(first == [TENS_OF.get(word, word) for word in other] != other for other in others)
