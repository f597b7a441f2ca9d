"""The recipe of our own acoustic models: labels, composed samples, the sound of the larger net."""

from __future__ import annotations

import random
import shutil
import subprocess

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldnote.speech.pronunciations import pronunciation
from models.spoken.ipa import arpabet
from models.spoken.phones import ARPABET

DIGITS = [
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
]


@pytest.mark.parametrize(
    ("ipa", "phones"),
    [
        # The International Phonetic Alphabet's values, checked by hand against ARPAbet's.
        ("θˈɜːti", "TH ER T IY"),
        ("pˈɔɪnt", "P OY N T"),
        ("dʒˈuːlz", "JH UW L Z"),
        ("bˈʌʔn̩", "B AH T AH N"),
        ("fˈɔː", "F AO"),  # without the r, as in London
        ("zˈiəɹəʊ", "Z IY R OW"),
        ("mˈiːɾɚz pɜːɹ ˈaʊɚ", "M IY T ER Z P ER AW ER"),
    ],
)
def test_ipa_is_read(ipa: str, phones: str) -> None:
    assert " ".join(arpabet(ipa)) == phones


def test_unknown_letter_is_told() -> None:
    with pytest.raises(ValueError, match="no phone for 'ɧ'"):
        arpabet("ɧɛl")


@pytest.mark.parametrize("word", DIGITS)
def test_labels_are_pronunciations_of_the_list(word: str) -> None:
    """What espeak-ng says of a number is one of the ways that our list knows."""
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    command = ["espeak-ng", "-q", "--ipa", "-v", "en-us", word]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert arpabet(said) in pronunciation(word)


@given(st.lists(st.sampled_from(ARPABET), min_size=1, max_size=8))
def test_kokoro_gets_a_symbol_for_each_phone(phones: list[str]) -> None:
    from models.spoken.voices import as_kokoro

    said = as_kokoro(tuple(phones)).replace("ˈ", "")
    assert len(said) == len(phones) + phones.count("ER")  # the one that takes two signs


def test_samples_hold_what_their_labels_say() -> None:
    torch = pytest.importorskip("torch", reason="the recipe needs PyTorch")
    from models.spoken.compose import Composer, play
    from models.spoken.corpus import Utterance

    rng = np.random.default_rng(1)
    sound = torch.from_numpy((rng.standard_normal(160000) * 8000).astype(np.int16))
    said = [Utterance(i * 16000, 12000, ("two",), "espeak/x", ("T", "UW")) for i in range(10)]
    batch = Composer({"espeak": said}, {"espeak": 1.0}, seconds=60).batch(random.Random(3))
    pieces = (batch.length > 0).sum(1)
    assert (batch.counts == 2 * pieces).all()
    assert len(batch.phones) == batch.counts.sum()
    played = play(batch, sound)
    assert played.shape == (len(pieces), batch.size)
    silent = np.array([not row.any() for row in played])
    assert (silent == (pieces == 0)).all()


def test_larger_net_does_not_mind_the_level() -> None:
    torch = pytest.importorskip("torch", reason="the recipe needs PyTorch")
    from models.spoken.conformer import Conformer, Size

    torch.manual_seed(1)
    net = Conformer(Size(bands=40, width=32, inner=64, blocks=2)).eval()
    sound = torch.from_numpy(np.random.default_rng(2).standard_normal((1, 24000))).float()
    loud, soft = net(sound), net(0.001 * sound)
    assert loud.shape == (1, 74, 40)  # one row in 20 ms
    assert torch.allclose(loud.exp().sum(-1), torch.ones(1, 74), atol=1e-4)
    assert torch.allclose(loud, soft, atol=1e-2)
