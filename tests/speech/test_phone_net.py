"""What a net tells the search: classes, silence, and rows of silence taken together."""

from __future__ import annotations

import numpy as np
import pytest

from fieldnote.speech.ctc_graph import spell_out
from fieldnote.speech.ctc_search import paths, search
from fieldnote.speech.phone_net import PHONES, Heard, Symbols
from fieldnote.speech.readings import NETS, ReadingsNet
from fieldnote.speech.word_graph import sentences_graph
from fieldnote.weights import weights

SOUNDS = {"ab": [(0, 1)], "ba": [(1, 0)], "a": [(0,)]}


def heard(frames: str) -> Heard:
    """Of symbols "." (blank), "a" and "b", one a frame, each at 0.98."""
    log_probs = np.full((len(frames), 3), np.log(0.01), np.float32)
    for frame, symbol in enumerate(frames):
        log_probs[frame, ".ab".index(symbol)] = np.log(0.98)
    return Symbols(0, (0,), ((1,), (2,))).heard(log_probs)


def sentences(of: Heard) -> dict[str, float]:
    graph, _ = sentences_graph([("ab",), ("ba",), ("a", "a"), ("a",)])
    spelled = spell_out(graph, SOUNDS, blank=2, cost=lambda word: 0.0)
    return {path.text: path.score for path in paths(search(spelled, of.by_class, of.gap), beam=99)}


def test_phones_are_counted_once_each() -> None:
    assert heard("..aa.a.bb..").phones == 3


def test_rows_of_silence_are_taken_together_and_the_sentences_stay() -> None:
    whole = heard("........a.......b..........")
    short = whole.condensed()
    assert len(short) < len(whole) / 2
    assert (short.begins[0], short.begins[-1]) == (0, len(whole))
    assert np.all(np.diff(short.begins) > 0)
    expected, found = sentences(whole), sentences(short)
    assert list(found) == list(expected)
    # What little a class has in a row that was taken into another counts as if it were best there.
    assert all(found[one] == pytest.approx(expected[one], abs=0.3) for one in expected)


def test_nothing_is_lost_where_nothing_is_silent() -> None:
    assert heard("abab").condensed().by_class.shape == (4, 3)


def test_no_sound_no_rows() -> None:
    assert len(heard("").condensed()) == 0


@pytest.mark.parametrize("name", NETS)
def test_our_nets_give_one_row_for_20_ms(name: str) -> None:
    noise = np.random.default_rng(1).standard_normal(16_000).astype(np.float32) * 0.1
    net = ReadingsNet(weights(NETS[name]))
    log_probs = net.log_probs(noise)
    assert log_probs.shape[1] == 1 + len(PHONES)
    assert abs(len(log_probs) - 50) <= 2
    assert np.exp(log_probs).sum(axis=1) == pytest.approx(1, abs=1e-3)
    # The level doesn't matter.
    assert np.exp(net.log_probs(noise / 8)) == pytest.approx(np.exp(log_probs), abs=0.02)
