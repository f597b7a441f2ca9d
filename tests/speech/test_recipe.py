"""The recipe's labels and lessons: small parts that decide what a net learns.

What needs PyTorch skips where it is absent: it belongs to models/spoken/requirements.in.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from models.spoken.lexicon import distance, nearest

PHONES = st.lists(st.sampled_from(["AY", "OY", "F", "V", "N"]), max_size=6)


@given(PHONES, PHONES, PHONES)
def test_the_distance_is_one(a: list[str], b: list[str], c: list[str]) -> None:
    assert distance(a, a) == 0
    assert distance(a, b) == distance(b, a)
    assert distance(a, c) <= distance(a, b) + distance(b, c)
    assert abs(len(a) - len(b)) <= distance(a, b) <= max(len(a), len(b))


def test_an_accent_is_led_back_to_the_listed_pronunciation() -> None:
    listed = [("F", "AY", "V"), ("F", "AY", "F")]
    assert nearest(("F", "OY", "V"), listed) == ("F", "AY", "V")
    assert nearest(("F", "OY", "F"), listed) == ("F", "AY", "F")


def test_what_the_plain_accent_says_otherwise_stays() -> None:
    """A synthesiser that reads "kilohms" as "kyloams" says so in every accent of it."""
    pytest.importorskip("torch")
    if not shutil.which("espeak-ng"):
        pytest.skip("espeak-ng is not installed")
    from models.spoken.voices import meant

    assert meant("five", ("F", "OY", "V")) == ("F", "AY", "V")
    assert meant("nine", ("N", "AY", "N")) == ("N", "AY", "N")
    strange = ("K", "AY", "L", "OW", "M", "S", "T")
    assert meant("a-word-that-nobody-lists", strange) == strange


def test_drawn_voices_are_drawn_from_the_seed() -> None:
    pytest.importorskip("torch")
    from models.spoken.voices import draw_variant

    first, again, other = (draw_variant(random.Random(seed)) for seed in (1, 1, 2))
    assert first == again != other
    assert first.startswith("language variant\n")


def test_the_fitting_pronunciation_is_found() -> None:
    """Rows that spell TH ER T IY, then F AY F: of each word the pronunciation that they spell."""
    torch = pytest.importorskip("torch")
    from models.spoken.phones import INDEX, PHONES
    from models.spoken.relabel import fitting

    spelled = ["SIL", *["TH", "ER", "T", "IY"], "SIL", *["F", "AY", "F"], "SIL"]
    rows = torch.full((len(spelled), len(PHONES)), 0.01)
    for row, phone in enumerate(spelled):
        rows[row, INDEX[phone]] = 1.0
    rows = (rows / rows.sum(1, keepdim=True)).log()
    thirty = [("TH", "ER", "D", "IY"), ("TH", "ER", "T", "IY")]
    five = [("F", "AY", "V"), ("F", "AY", "F")]
    phones, misfit = fitting(rows, [thirty, five])
    assert " ".join(phones) == "TH ER T IY F AY F"
    _, worse = fitting(rows, [thirty[:1], five[:1]])
    assert misfit < worse


def test_single_words_of_people_become_shards(
    tmp_path: Path, spoken: Callable[..., NDArray[np.float32]]
) -> None:
    """Each with the listed pronunciation that is heard in it; who is not named stays out."""
    pytest.importorskip("torch")
    from models.spoken.__main__ import _parser
    from models.spoken.corpus import read_shard
    from models.spoken.lexicon import pronunciations

    heard, work = tmp_path / "heard", tmp_path / "work"
    heard.mkdir()
    rows = []
    for speaker, word in (("ann", "seven"), ("ann", "fifty"), ("ann", "zzgrk"), ("ben", "seven")):
        file = f"{speaker}-{word}.wav"
        soundfile.write(heard / file, spoken(word), 16_000)
        rows.append(f"{file}\t{speaker}\t{word}\n")
    (heard / "list.tsv").write_text("".join(rows))
    options = _parser().parse_args(["--work", str(work), "people", str(heard), "--only", "ann"])
    options.run(options)
    (index,) = work.rglob("*.jsonl")
    samples, utterances = read_shard(index)
    assert [said.words for said in utterances] == [("seven",), ("fifty",)]
    assert {said.voice for said in utterances} == {"real/ann"}
    assert all(said.phones in pronunciations(*said.words) for said in utterances)
    assert sum(said.length for said in utterances) == len(samples)
