"""How several engines' opinions become one, shown on weights given by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pytest

from fieldnote.session.interpret import Meanings
from fieldnote.speech.engine import Hypothesis, Word
from fieldnote.speech.fusion import Opinion, confidence
from fieldnote.speech.sound import Samples


@dataclass(frozen=True)
class Told:
    """An engine that was told what to hear, and how well each sentence fits."""

    name: str
    fits: dict[str, float]

    def hear(self, samples: Samples) -> Hypothesis:
        first, *others = (
            Hypothesis(self.name, tuple(Word(word, 0, 0, 1) for word in sentence.split()), 0.9)
            for sentence in self.fits
        )
        return Hypothesis(self.name, first.words, 0.9, tuple(others))

    def weigh(self, samples: Samples, sentences: Sequence[str]) -> list[float]:
        return [self.fits.get(sentence, -np.inf) for sentence in sentences]


def together(*engines: Told) -> Opinion:
    return Meanings().together(np.zeros(16_000, np.float32), engines)


@pytest.mark.parametrize("first", [1e-4, -1e-4])
def test_what_sounds_the_same_is_no_dispute(first: float) -> None:
    """“four” and “for” have the same phones: rounding must not choose between them."""
    fits = {"one five for": -1.0, "one five four": -1.0 + first, "one nine four": -9.0}
    opinion = together(Told("readings", fits), Told("witness", fits))
    assert opinion.candidates[0].sentence == "one five four"
    assert opinion.supporters == 2


def test_what_sounds_the_same_and_is_far_odder_takes_no_confidence() -> None:
    four = {"one five four": -1.0, "one five for": -1.0, "one nine four": -12.0}
    three = {"one five three": -1.0, "one nine three": -12.0}
    alike, plain = (
        together(*(Told(name, fits) for name in ("readings", "witness"))) for fits in (four, three)
    )
    assert alike.leads == pytest.approx(plain.leads)
    assert confidence(alike) > 0.95


def test_engines_that_hear_different_things_are_in_dispute() -> None:
    one = Told("readings", {"one five four": -1.0, "one nine four": -6.0})
    other = Told("witness", {"one five four": -4.0, "one nine four": -1.0})
    opinion = together(one, other)
    assert opinion.supporters == 1
