"""Every word that can be heard has a pronunciation, and it is the usual one."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pocketsphinx
import pytest

from fieldnote.language import Grammar
from fieldnote.speech.phoneme import SYMBOLS
from fieldnote.speech.pronunciations import pronunciation, pronunciations


def test_every_word_of_the_grammar_has_one() -> None:
    assert sorted(Grammar.build().words - set(pronunciations())) == []


def test_they_are_written_in_known_phonemes() -> None:
    used = {name for ways in pronunciations().values() for way in ways for name in way}
    assert used == set(SYMBOLS)


@pytest.mark.parametrize(
    ("word", "phonemes"),
    [("feeder", "F IY D ER"), ("kingston", "K IH NG S T AH N"), ("stringer", "S T R IH NG ER")],
)
def test_a_label_that_nobody_has_transcribed_is_guessed(word: str, phonemes: str) -> None:
    """As Merriam-Webster's respellings have them (from memory)."""
    assert word not in pronunciations()
    assert pronunciation(word) == (tuple(phonemes.split()),)


def test_they_agree_with_the_carnegie_mellon_dictionary() -> None:
    """As it comes with PocketSphinx 5.1.1; unstressed AH and IH count as one, as do AA and AO."""
    listed = defaultdict(set)
    path = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
    for line in path.read_text(encoding="utf-8").splitlines():
        word, *phonemes = line.split()
        listed[word.split("(")[0]].add(alike(phonemes))
    both = [word for word in pronunciations() if word in listed]
    differing = [
        word for word in both if not listed[word] & {alike(way) for way in pronunciations()[word]}
    ]
    assert len(both) > 1000
    assert len(differing) < 0.06 * len(both), differing


def alike(phonemes) -> str:
    same = {"IH": "AH", "AO": "AA"}
    return " ".join(same.get(name, name) for name in phonemes)
