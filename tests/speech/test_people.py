"""Real people's words from a folder into which packages were unpacked, and their digits."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.bench.speech_digits import strung, takes
from tests.bench.speech_people import SOURCES, ordinal

ROOT = Path(__file__).resolve().parents[2]
SHARE = Path("usr/share")
TONE = np.sin(np.arange(4_000) / 5).astype(np.float32) / 2


def written(path: Path, rate: int) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.suffix == ".au":
        soundfile.write(path, TONE, rate, format="RAW", subtype="ULAW")
    else:
        soundfile.write(path, TONE, rate)


@pytest.fixture
def gathered(tmp_path: Path) -> tuple[Path, str]:
    """The folder that the module wrote, and what it told of packages that are missing."""
    root, out = tmp_path / "root", tmp_path / "out"
    for number in range(10):
        written(root / SHARE / f"saytime/{number}.au", 8_000)
    written(root / SHARE / "saytime/the_time_is.au", 8_000)
    written(root / SHARE / "scid/sounds/x.wav", 7_418)
    written(root / SHARE / "scid/sounds/4.wav", 11_025)
    written(root / SHARE / "scid/sounds/alert.wav", 22_050)
    written(root / SHARE / "klettres/en/alpha/B.ogg", 44_100)
    written(root / SHARE / "ktuberling/sounds/en/egypt_sphynx.ogg", 44_100)
    allison = root / SHARE / "asterisk/sounds/en_US_f_Allison"
    for name in ("digits/h-20", "digits/day-0", "digits/mon-11", "letters/ascii37", "vm-and"):
        written(allison / f"{name}.wav", 8_000)
    command = [sys.executable, "-m", "tests.bench.speech_people", str(out), "--root", str(root)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return out, done.stderr


def test_the_words_are_those_that_the_names_tell(gathered: tuple[Path, str]) -> None:
    out, told = gathered
    rows = [row.split("\t") for row in (out / "list.tsv").read_text("utf-8").splitlines()]
    said = {(speaker, word) for _, speaker, word in rows if speaker != "saytime"}
    assert said == {
        *(("asterisk", word) for word in ("twentieth", "sunday", "december", "percent", "and")),
        *(("scid", "takes"), ("scid", "four"), ("klettres_en", "b"), ("ktuberling", "sphinx")),
    }
    assert told == "missing: apt install klettres-data tuxpaint-stamps-default\n"
    for file, speaker, _ in rows:
        info = soundfile.info(out / file)
        assert (info.samplerate, info.channels, info.subtype) == (16_000, 1, "PCM_16")
        if speaker == "saytime":
            assert info.frames == 2 * len(TONE)


def test_its_digits_are_strung(gathered: tuple[Path, str]) -> None:
    folder, _ = gathered
    found = takes(folder)
    assert {speaker: "".join(digits) for speaker, digits in found.items()} == {
        "saytime": "0123456789",
        "scid": "4",
    }
    first = next(strung(folder, ["saytime"], "clean"))
    assert len(first.words.split()) in (3, 4)
    assert len(first.samples) > 2 * len(TONE) * len(first.words.split())


def test_nothing_there_is_told_with_what_brings_it(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "tests.bench.speech_people", str(tmp_path / "out")]
    command += ["--root", str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert {source.package for source in SOURCES} - set(done.stderr.split()) == {
        "asterisk-core-sounds-en-wav"
    }


def test_g722_without_ffmpeg_is_told_with_its_mend(tmp_path: Path) -> None:
    allison = tmp_path / SHARE / "asterisk/sounds/en_US_f_Allison/digits"
    allison.mkdir(parents=True)
    (allison / "7.g722").write_bytes(bytes(800))
    command = [sys.executable, "-m", "tests.bench.speech_people", str(tmp_path / "out")]
    command += ["--root", str(tmp_path)]
    bare = {"PATH": str(tmp_path)}
    done = subprocess.run(command, cwd=ROOT, env=bare, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "apt install ffmpeg" in done.stderr


@pytest.mark.parametrize(
    ("word", "expected"),
    [("one", "first"), ("ninety", "ninetieth"), ("twelve", "twelfth"), ("hundred", "hundredth")],
)
def test_ordinals(word: str, expected: str) -> None:
    assert ordinal(word) == expected
